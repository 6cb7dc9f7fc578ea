#!/usr/bin/env bash
# The store and intake tests once more on containers (testcontainers), then the compose file for real: images made on the
# spot where no public one can be had. Skips with a printed reason where there is no Docker and none can be started.
set -euo pipefail
cd "$(dirname "$0")/.."
started=$(date +%s)
say() { printf 'containers: %s (%s s)\n' "$*" "$(($(date +%s) - started))"; }

if ! command -v dockerd >/dev/null || ! command -v debootstrap >/dev/null || ! command -v docker-compose >/dev/null; then
  if [ "${CI:-}" = true ] && [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null; then
    say 'installing an engine'
    apt-get update -qq
    DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends docker.io docker-compose debootstrap iptables >/dev/null
  fi
fi
if ! engine=$(bash test/harness/docker/start-dockerd.sh); then
  say 'SKIPPED: no Docker engine, and none can be started here'
  exit 0
fi
eval "$engine"
finish() {
  docker-compose -p duskline-test down -v --remove-orphans >/dev/null 2>&1 || true
  bash test/harness/docker/stop-dockerd.sh >/dev/null 2>&1 || true
}
trap finish EXIT
say 'engine is up'
eval "$(bash test/harness/docker/make-images.sh)"
say 'images are made'

# But for the tests of the embedded Postgres itself.
DUSKLINE_TEST_BACKEND=containers npx vitest run --config packages/tooling/vitest.config.ts --project database --exclude '**/embedded/**' packages/store packages/intake
say 'store and intake tests are done'

# The compose file with made-up secrets on ports of its own. The image is built with the machine's own network, since that
# is where its package registry can be reached.
export DUSKLINE_POSTGRES_PASSWORD=only-in-tests DUSKLINE_BROKER_PASSWORD=only-in-tests DUSKLINE_BUILD_NETWORK=host
export DUSKLINE_HTTP_PORT=18080 DUSKLINE_MQTT_PORT=11883
docker-compose -p duskline-test up -d --build
for attempt in $(seq 60); do
  if curl -fsS "http://127.0.0.1:$DUSKLINE_HTTP_PORT/readyz"; then
    echo
    curl -fsS "http://127.0.0.1:$DUSKLINE_HTTP_PORT/" | grep -q '<title>\|sveltekit\|/_app/' || { say 'the page is not served'; exit 1; }
    say "the compose file is up after $attempt looks"
    account=$(docker-compose -p duskline-test logs --no-color server | sed -n 's/.*account: //p' | tail -1)
    node test/compose-story.mjs "http://127.0.0.1:$DUSKLINE_HTTP_PORT" "mqtt://127.0.0.1:$DUSKLINE_MQTT_PORT" "$account"
    exit 0
  fi
  sleep 2
done
docker-compose -p duskline-test logs --tail 40
say 'the compose file did not get ready'
exit 1
