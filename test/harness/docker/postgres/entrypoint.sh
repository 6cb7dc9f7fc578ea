#!/bin/sh
# POSTGRES_PASSWORD is needed; POSTGRES_USER (postgres) and POSTGRES_DB (that user's name) as the public image has them.
set -eu

if [ "$(id -u)" = 0 ]; then
  chown postgres "$PGDATA"
  exec setpriv --reuid=postgres --regid=postgres --init-groups "$0" "$@"
fi

user=${POSTGRES_USER:-postgres}
database=${POSTGRES_DB:-$user}

if [ ! -s "$PGDATA/PG_VERSION" ]; then
  printf '%s' "${POSTGRES_PASSWORD:?set it}" >"/tmp/password"
  initdb --username="$user" --pwfile=/tmp/password --auth-local=trust --auth-host=scram-sha-256 --encoding=UTF8 >/dev/null
  rm /tmp/password
  echo 'host all all all scram-sha-256' >>"$PGDATA/pg_hba.conf"
  if [ "$database" != postgres ]; then
    # Nobody else may see the server before its database is there.
    echo "create database \"$database\";" | postgres --single -D "$PGDATA" postgres >/dev/null
  fi
fi
exec "$@" -c listen_addresses='*'
