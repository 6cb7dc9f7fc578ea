#!/usr/bin/env bash
# Makes a Docker engine available to tests: the one that runs already, else one of our own (Debian: apt-get install
# docker.io iptables; needs root). Prints one line to be evaluated by the caller:
#   eval "$(test/harness/docker/start-dockerd.sh)"
# Safe to call again; stop-dockerd.sh ends the engine that this script started.
set -euo pipefail

place=${DUSKLINE_DOCKER_DIR:-${XDG_CACHE_HOME:-$HOME/.cache}/duskline-docker}
socket=unix://$place/docker.sock

answers() { DOCKER_HOST=$1 timeout 10 docker info >/dev/null 2>&1; }

if [ -n "${DOCKER_HOST:-}" ] && answers "$DOCKER_HOST"; then
  echo "export DOCKER_HOST=$DOCKER_HOST"
  exit 0
fi
for candidate in unix:///var/run/docker.sock "$socket"; do
  if answers "$candidate"; then
    echo "export DOCKER_HOST=$candidate"
    exit 0
  fi
done

command -v dockerd >/dev/null || { echo 'dockerd is not installed (Debian: docker.io, iptables).' >&2; exit 1; }
[ "$(id -u)" = 0 ] || { echo 'Starting a Docker engine needs root.' >&2; exit 1; }

mkdir -p "$place"
rm -f "$place/docker.pid"
# Published ports are for this machine only.
nohup dockerd --ip 127.0.0.1 --data-root "$place/data" --exec-root "$place/exec" --pidfile "$place/docker.pid" -H "$socket" \
  >"$place/dockerd.log" 2>&1 &
for _ in $(seq 300); do
  if answers "$socket"; then
    echo "export DOCKER_HOST=$socket"
    exit 0
  fi
  sleep 0.2
done
tail -5 "$place/dockerd.log" >&2
echo 'The Docker engine did not start.' >&2
exit 1
