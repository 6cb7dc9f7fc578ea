#!/usr/bin/env bash
# Makes the images that tests and the compose file need, without any image registry: a Debian tree by debootstrap, and
# on it the stand-ins for the public images of Postgres, Mosquitto and Node. Needs a Docker engine (start-dockerd.sh),
# debootstrap and root. Images whose recipe did not change are left alone. Prints lines to be evaluated by the caller.
#
# The stand-ins differ from the public images in these: Debian's Postgres 15 (the oldest we support) instead of 17, with
# an entrypoint of ours; Debian's Mosquitto 2.0.11 instead of 2.0.22, on glibc instead of musl; the Node of this machine.
set -euo pipefail
cd "$(dirname "$0")"

suite=bookworm
base=duskline-test/debian:$suite
postgres=duskline-test/postgres:15
mosquitto=duskline-test/mosquitto:2.0.11
node=duskline-test/node:20

say() { echo "make-images: $*" >&2; }

has_label() { [ "$(docker image inspect -f '{{index .Config.Labels "recipe"}}' "$1" 2>/dev/null)" = "$2" ]; }

make_base() {
  docker image inspect "$base" >/dev/null 2>&1 && return
  command -v debootstrap >/dev/null || { say 'debootstrap is not installed.'; exit 1; }
  local mirror tree
  # The mirror this machine gets its own packages from.
  mirror=$(apt-get indextargets --format '$(SITE) $(CODENAME)' 'Created-By: Packages' |
    awk -v suite=$suite '$2 == suite { print $1; exit }')
  [ -n "$mirror" ] || { say "no package source for $suite on this machine."; exit 1; }
  tree=$(mktemp -d)
  say "debootstrap $suite"
  debootstrap --variant=minbase "$suite" "$tree/rootfs" "$mirror" >"$tree/log" 2>&1 || { tail -5 "$tree/log" >&2; exit 1; }
  rm -rf "$tree"/rootfs/var/cache/apt/archives/*.deb
  # Packages must not start their services while they are installed.
  printf '#!/bin/sh\nexit 101\n' >"$tree/rootfs/usr/sbin/policy-rc.d"
  chmod +x "$tree/rootfs/usr/sbin/policy-rc.d"
  tar -C "$tree/rootfs" -c . | docker import - "$base" >/dev/null
  rm -rf "$tree"
}

make() { # image, folder
  local recipe
  recipe=$(cat "$2"/* | sha256sum | cut -c1-16)
  has_label "$1" "$recipe" && return
  say "build $1"
  docker build -q --label "recipe=$recipe" --build-arg "BASE=$base" -t "$1" "$2" >/dev/null
}

make_node() {
  local context version
  version=$(node --version)-$(cat "${NODE_EXTRA_CA_CERTS:-/dev/null}" node/Dockerfile | sha256sum | cut -c1-12)
  has_label "$node" "$version" && return
  say "build $node from this machine's Node"
  context=$(mktemp -d)
  cp node/Dockerfile "$context/"
  cp "$(readlink -f "$(command -v node)")" "$context/node"
  cp -r "$(npm root -g)/npm" "$context/npm"
  # Where this machine reaches its package registry through a certificate of its own, so must the image.
  if [ -n "${NODE_EXTRA_CA_CERTS:-}" ]; then cp "$NODE_EXTRA_CA_CERTS" "$context/extra-ca.pem"; else : >"$context/extra-ca.pem"; fi
  docker build -q --label "recipe=$version" --build-arg "BASE=$base" -t "$node" "$context" >/dev/null
  rm -rf "$context"
}

make_base
make "$postgres" postgres
make "$mosquitto" mosquitto
make_node

echo "export DUSKLINE_TEST_POSTGRES_IMAGE=$postgres DUSKLINE_POSTGRES_IMAGE=$postgres"
echo "export DUSKLINE_TEST_MOSQUITTO_IMAGE=$mosquitto DUSKLINE_MOSQUITTO_IMAGE=$mosquitto"
echo "export DUSKLINE_NODE_IMAGE=$node"
