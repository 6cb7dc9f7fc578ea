#!/usr/bin/env bash
# Ends the Docker engine that start-dockerd.sh started, and no other.
set -euo pipefail
place=${DUSKLINE_DOCKER_DIR:-${XDG_CACHE_HOME:-$HOME/.cache}/duskline-docker}
[ -f "$place/docker.pid" ] || exit 0
pid=$(cat "$place/docker.pid")
grep -qz dockerd "/proc/$pid/cmdline" 2>/dev/null || exit 0
kill -TERM "$pid"
for _ in $(seq 150); do
  [ -d "/proc/$pid" ] || exit 0
  sleep 0.2
done
echo "The Docker engine (process $pid) does not end." >&2
exit 1
