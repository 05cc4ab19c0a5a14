#!/usr/bin/env bash
# Passes all tests on a machine with Go and apt. Installs what it uses if it
# is missing, and fails when a test was skipped that should have run.
set -euo pipefail
cd "$(dirname "$0")"
missing=()
command -v chromium >/dev/null || missing+=(chromium)
command -v pdftotext >/dev/null || missing+=(poppler-utils)
ldconfig -p | grep libturbojpeg.so.0 >/dev/null || missing+=(libturbojpeg0)
if [ ${#missing[@]} -gt 0 ]; then
  echo "Installing what the tests use: ${missing[*]}"
  sudo=$([ "$(id -u)" = 0 ] || echo sudo)
  $sudo apt-get update -q
  DEBIAN_FRONTEND=noninteractive $sudo apt-get install -y -q "${missing[@]}"
fi
export CGO_ENABLED=0 GOFLAGS="${GOFLAGS:-} -tags=nodynamic"
unformatted=$(gofmt -l $(git ls-files '*.go' 2>/dev/null || find . -name '*.go'))
if [ -n "$unformatted" ]; then
  echo "not formatted: $unformatted"
  exit 1
fi
go vet ./...
log=$(mktemp)
trap 'rm -f "$log"' EXIT
if ! go test -v -timeout 40m -p 2 ./... >"$log" 2>&1; then
  grep -E -A5 '_test\.go:[0-9]+: |^panic:' "$log" | cut -c1-1000 | tail -n 300
  grep -E '^ *--- FAIL|^FAIL' "$log"
  exit 1
fi
grep -E '^(ok|\?)' "$log" || true
passed=$(grep -cE '^--- PASS' "$log" || true)
# One test only writes a file for later versions to be tested on, when asked to.
skipped=$(grep -E '^ *--- SKIP' "$log" | grep -vc 'TestWriteOldFile' || true)
if [ "$skipped" -gt 0 ]; then
  grep -E -A2 '^ *--- SKIP' "$log"
  echo "$skipped tests were skipped; all of them should run here"
  exit 1
fi
echo "$passed passed, 0 failed"
