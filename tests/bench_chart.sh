#!/bin/sh
# How far from the best the charts under docs/charts/ can be at worst: (expected - bound) / bound.
set -u
for path in "$HALFSPLIT_ROOT"/docs/charts/*.txt; do
	symptom=$(basename "$path" .txt)
	tr '\n' ' ' <"$path" |
		sed 's/.*needs \([0-9]*\) h \([0-9]*\) min.*less than \([0-9]*\) h \([0-9]*\) min.*/\1 \2 \3 \4/' |
		awk -v s=$symptom '{ e = $1 * 60 + $2; b = $3 * 60 + $4
			printf "chart.gap_pct.%s = %.0f %%\n", s, 100 * (e - b) / b }'
done
