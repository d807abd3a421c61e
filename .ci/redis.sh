#!/usr/bin/env bash
# redis.sh start|stop|status   a private Redis for tests; state in REDIS_STATE.
# noeviction: a Redis that evicts loses queued work.
set -euo pipefail
STATE=${REDIS_STATE:-/tmp/tarnhouse-redis-$(id -u)} PORT=${REDIS_PORT:-63799}
SERVER=${REDIS_BIN:-$(command -v redis-server || true)}
[ -n "$SERVER" ] || { echo "missing: apt-get install -y --no-install-recommends redis-server" >&2; exit 3; }
CLI=$(dirname "$SERVER")/redis-cli
up() { "$CLI" -h 127.0.0.1 -p "$PORT" ping 2>/dev/null | grep -q PONG; }

case ${1:-start} in
  start)
    mkdir -p "$STATE"; chmod 700 "$STATE"
    up || "$SERVER" --bind 127.0.0.1 --port "$PORT" --dir "$STATE" --daemonize yes --pidfile "$STATE/pid" \
      --logfile "$STATE/log" --save '' --appendonly yes --appendfsync everysec --maxmemory 256mb \
      --maxmemory-policy noeviction >/dev/null
    for _ in $(seq 100); do if up; then exit 0; fi; sleep 0.05; done
    tail "$STATE/log" >&2; exit 1
    ;;
  stop) if up; then "$CLI" -h 127.0.0.1 -p "$PORT" shutdown nosave >/dev/null 2>&1 || true; fi ;;
  status) if up; then echo up; else echo down; exit 1; fi ;;
  *) echo "redis.sh: '$1' is not start, stop or status" >&2; exit 2 ;;
esac
