#!/usr/bin/env bash
# Measures how long the invented shop takes to be made, and from the start of
# the built program to the first whole page with that shop loaded, five times.
# The aims are 20 s and 300 ms.
set -euo pipefail
cd "$(dirname "$0")/../.."
dir=$(mktemp -d)
pid=
trap '[ -z "$pid" ] || kill "$pid" 2>/dev/null; rm -rf "$dir"' EXIT
CGO_ENABLED=0 go build -o "$dir/holdfast" ./cmd/holdfast
port=${PORT:-8499}
address=http://127.0.0.1:$port
begin() { "$dir/holdfast" "$@" --data "$dir/shop" --listen "127.0.0.1:$port" --quiet >"$dir/log" 2>&1 & pid=$!; }
end() { kill -TERM "$pid"; wait "$pid" || true; pid=; }
now() { date +%s%N; }
t0=$(now)
begin demo
until curl -fs -o /dev/null "$address/healthz"; do sleep 0.2; done
echo "demo made and healthy after $((($(now) - t0) / 1000000)) ms"
end
for _ in 1 2 3 4 5; do
  t0=$(now)
  begin serve
  until curl -fs -o "$dir/page" "$address/round"; do sleep 0.005; done
  t1=$(now)
  [ -s "$dir/page" ]
  echo "start to first page: $(((t1 - t0) / 1000000)) ms"
  end
done
