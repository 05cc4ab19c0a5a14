#!/usr/bin/env bash
# Times the sampling questions here and in a general reference library, one
# after the other on the same machine, and prints the ratio. Installs the
# library (Debian's r-cran-epir) when it is missing; needs root for that.
set -euo pipefail
cd "$(dirname "$0")"
if ! Rscript -e 'suppressMessages(library(epiR))' >/dev/null 2>&1; then
	apt-get update -qq && apt-get install -y -qq --no-install-recommends r-base-core r-cran-epir
fi
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
go build -o "$work/freedom" .
"$work/freedom" >"$work/ours"
TZ=UTC Rscript reference.R >"$work/theirs" 2>/dev/null
Rscript -e 'cat(R.version.string, "\n"); cat("epiR", as.character(packageVersion("epiR")), "\n")' 2>/dev/null
go version
awk -F'\t' '
	NR == FNR { us[$1] = $2; answer[$1] = $3; next }
	FNR == 1 { printf "%-20s %12s %12s %10s  %-8s %s\n", "question", "ours, us", "theirs, us", "times", "theirs", "answers" }
	$2 == "none" { printf "%-20s %12.1f %12s %10s\n", $1, us[$1], "-", "-"; next }
	{
		d = answer[$1] - $4; if (d < 0) d = -d
		same = d <= 1e-6 * ($4 < 0 ? -$4 : $4) ? "agree" : answer[$1] " and " $4
		printf "%-20s %12.1f %12.1f %10.0f  %-8s %s\n", $1, us[$1], $3, $3 / us[$1], $2, same
	}' "$work/ours" "$work/theirs"
