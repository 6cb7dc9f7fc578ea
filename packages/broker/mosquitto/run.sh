#!/bin/sh
# Runs Mosquitto with its own copies of the password and access files, and has it read them again whenever the server
# has changed the passwords: a new node can connect, and a withdrawn secret loses its connection, within two seconds.
# For the busybox shell of the public image; started as root there, Mosquitto itself drops to its own user.
set -eu
umask 077

rules=${DUSKLINE_RULES:-/duskline}
passwords=${DUSKLINE_PASSWORDS:-/secrets/passwords}
private=${DUSKLINE_PRIVATE:-/mosquitto/private}

take() {
  cp "$1" "$private/$2.new"
  if [ "$(id -u)" = 0 ]; then chown mosquitto "$private/$2.new"; fi
  mv "$private/$2.new" "$private/$2"
}

mkdir -p "$private"
if [ "$(id -u)" = 0 ]; then chown mosquitto "$private"; fi

until [ -f "$passwords" ]; do
  echo "waiting for the server to write $passwords"
  sleep 1
done
take "$rules/acl" acl
take "$passwords" passwords

mosquitto -c "$rules/mosquitto.conf" &
broker=$!
trap 'kill -TERM "$broker" 2>/dev/null || true' TERM INT

while kill -0 "$broker" 2>/dev/null; do
  if [ -f "$passwords" ] && ! cmp -s "$passwords" "$private/passwords"; then
    take "$passwords" passwords
    kill -HUP "$broker"
  fi
  sleep 1 &
  wait $! || true
done
wait "$broker"
