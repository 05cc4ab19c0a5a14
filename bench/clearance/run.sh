#!/usr/bin/env bash
# Times science/clearance, and the same model as a plain vectorised numpy program
# on the same machine in the same run, and prints the ratio. Installs numpy
# (Debian's python3-numpy) when it is missing; needs root for that.
set -euo pipefail
cd "$(dirname "$0")"
python=/usr/bin/python3
if ! "$python" -c 'import numpy' >/dev/null 2>&1; then
	apt-get update -qq && apt-get install -y -qq --no-install-recommends python3-numpy
fi
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
go build -o "$work/speed" ./speed
"$work/speed" >"$work/ours"
"$python" vectorised.py "${1:-1000}" >"$work/theirs"
go version
"$python" -c 'import sys, numpy; print("Python", sys.version.split()[0], "numpy", numpy.__version__)'
echo "processors: $(nproc), load: $(cut -d' ' -f1 /proc/loadavg)"
awk -F'\t' '
	BEGIN { printf "%-24s %10s %10s %16s %8s  %s\n", "question", "processor", "clock, s", "ns/animal-day", "peak MB", "answer" }
	{ printf "%-24s %10s %10s %16s %8s  %s\n", $1, $2, $3, $4, $5, $6 }
	$1 == "runs" { ours = $4; free = $6 }
	END {
		getline line < "'"$work"'/theirs"
		split(line, t, " ")
		printf "\nnumpy: %s ns of processor time per animal-day, free %s (ours %s; its steps flatter)\n", t[2], t[3], free
		printf "ratio: %.0f\n", t[2] / ours
	}' "$work/ours"
