#!/usr/bin/env bash
# Times decode, blur, three-scale Laplacian of Gaussian and tile statistics of a
# 24-megapixel photograph against OpenCV and libvips in the same run, one thread
# each, as processor time, and prints the ratios; with a number as argument also
# the whole command on so many frames.
#
#   bench/photo/run.sh [FRAMES]
#
# Needs Debian's python3-opencv and libvips-tools; installs them when it may.
set -euo pipefail
cd "$(dirname "$0")/../.."
export CGO_ENABLED=0 GOFLAGS="-buildvcs=false -trimpath -tags=nodynamic"
py=/usr/bin/python3
if ! $py -c 'import cv2, numpy' 2>/dev/null || ! command -v vips >/dev/null; then
  apt-get install -y --no-install-recommends python3-opencv libvips-tools libturbojpeg0 >/dev/null
fi
tmp=$(mktemp -d)
trap 'rm -rf "$tmp" /dev/shm/holdfast-bench.v*' EXIT
go build -o "$tmp/steps" ./bench/photo/steps
"$tmp/steps" -make "$tmp/frame.jpg"
rounds=5
"$tmp/steps" -rounds $rounds "$tmp/frame.jpg" >"$tmp/ours.json"
$py bench/photo/steps/opencv.py "$tmp/frame.jpg" $rounds >"$tmp/theirs.json"
$py - "$tmp" <<'PY'
import json, os, sys
tmp = sys.argv[1]
ours = json.load(open(tmp + '/ours.json'))
both = json.load(open(tmp + '/theirs.json'))
cv, vips = both['opencv'], both['libvips']
print('6000 x 4000, %.1f MB, OpenCV %s, load %.1f' % (os.path.getsize(tmp + '/frame.jpg') / 1e6, both['versions'], os.getloadavg()[0]))
print('%-32s %8s %8s %8s %7s' % ('processor ms, best of 5', 'ours', 'OpenCV', 'libvips', 'ratio'))
steps = ['decode to a quarter', 'to grey', 'blur 2.5 px', 'blobs at three scales', 'tile statistics']
library = 'decode to a quarter' in ours
def row(name, a, b, c=None):
    print('%-32s %8.1f %8s %8s %7s' % (name, a, '%.1f' % b if b else '-', '%.1f' % c if c is not None else '-', '%.2f' % (a / b) if b else '-'))
for s in steps:
    if s in ours:
        row(s, ours[s], cv[s], vips.get(s))
row('decode, built-in decoder', ours['decode to a quarter, built-in'], cv['decode to a quarter'])
rest = steps[1:]
theirs = sum(cv[s] for s in steps)
if library:
    row('in all', sum(ours[s] for s in steps), theirs)
row('in all, built-in decoder', ours['decode to a quarter, built-in'] + sum(ours[s] for s in rest), theirs)
row('the whole photograph, marks too', ours['all that a photograph takes'], None)
PY
frames=${1:-0}
if [ "$frames" -gt 0 ]; then
  go build -o "$tmp/holdfast" ./cmd/holdfast
  mkdir "$tmp/card"
  for n in 0 1 2 3; do "$tmp/steps" -make "$tmp/card/f$n.jpg" -number $n; done
  for ((i = 4; i < frames; i++)); do ln "$tmp/card/f$((i % 4)).jpg" "$tmp/card/g$i.jpg"; done
  for flag in "" --go-jpeg; do
    echo "holdfast photos, $frames frames $flag, load before $(cut -d' ' -f1 /proc/loadavg):"
    $py - "$tmp/holdfast" photos "$tmp/card" --px-per-mm 224 --json $flag <<'PY'
import resource, subprocess, sys, time
start = time.time()
subprocess.run(sys.argv[1:], stdout=subprocess.DEVNULL, check=True)
r = resource.getrusage(resource.RUSAGE_CHILDREN)
print('  %.1f s, %.1f s of processor, %d MB at most' % (time.time() - start, r.ru_utime + r.ru_stime, r.ru_maxrss // 1024))
PY
  done
fi
