#!/usr/bin/env bash
# pg.sh start|stop|status|destroy   a private PostgreSQL for tests, as root or not; state in PG_STATE.
# It trusts every local connection and does not sync to disk: for tests only.
set -euo pipefail
STATE=${PG_STATE:-/tmp/tarnhouse-pg-$(id -u)} PORT=${PG_PORT:-54329}
DATA=$STATE/data SOCK=$STATE/sock
BIN=${PG_BIN:-$(ls -d /usr/lib/postgresql/*/bin 2>/dev/null | sort -V | tail -1)}
[ -x "$BIN/initdb" ] || { echo "missing: apt-get install -y --no-install-recommends postgresql" >&2; exit 3; }
# The server refuses to run as root.
if [ "$(id -u)" = 0 ]; then OWNER=postgres; as() { runuser -u postgres -- "$@"; }
else OWNER=$(id -un); as() { "$@"; }; fi
up() { "$BIN/pg_isready" -q -h "$SOCK" -p "$PORT"; }

start() {
  mkdir -p "$DATA" "$SOCK"
  chown "$OWNER" "$STATE" "$DATA" "$SOCK"
  chmod 700 "$DATA"; chmod 711 "$STATE" "$SOCK"
  cd "$STATE"
  if [ ! -f "$DATA/PG_VERSION" ]; then
    as "$BIN/initdb" -D "$DATA" -U postgres -A trust -E UTF8 --locale=C.UTF-8 --no-sync >"$STATE/initdb.log" 2>&1 \
      || { cat "$STATE/initdb.log" >&2; exit 1; }
    printf '%s\n' "listen_addresses='127.0.0.1'" "port=$PORT" "unix_socket_directories='$SOCK'" fsync=off \
      synchronous_commit=off full_page_writes=off shared_buffers=128MB max_connections=60 >>"$DATA/postgresql.conf"
  fi
  if up; then return; fi
  drop_dead_lock
  as "$BIN/pg_ctl" -D "$DATA" -w -t 30 -l "$STATE/log" start >/dev/null || { tail -20 "$STATE/log" >&2; exit 1; }
}

# After a kill -9 the lock files name a process that is gone or a zombie; the server would refuse to start.
drop_dead_lock() {
  [ -f "$DATA/postmaster.pid" ] || return 0
  local pid state
  pid=$(head -1 "$DATA/postmaster.pid")
  state=$(awk '{print $3}' "/proc/$pid/stat" 2>/dev/null || true)
  if [ -z "$state" ] || [ "$state" = Z ]; then
    rm -f "$DATA/postmaster.pid" "$SOCK/.s.PGSQL.$PORT" "$SOCK/.s.PGSQL.$PORT.lock"; sleep 0.3
  fi
}

case ${1:-start} in
  start) start ;;
  stop) cd /; if as "$BIN/pg_ctl" -D "$DATA" -m fast -w stop >/dev/null 2>&1; then echo stopped; else echo "not running"; fi ;;
  status) if up; then echo up; else echo down; exit 1; fi ;;
  destroy) "$0" stop; rm -rf "$STATE" ;;
  *) echo "pg.sh: '$1' is not start, stop, status or destroy" >&2; exit 2 ;;
esac
