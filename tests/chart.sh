#!/bin/sh
# `halfsplit chart`, and the charts under docs/charts/: well-formed, without scripts, within 80 columns.
# That they are what the program makes now, test_chart says; `sh tests/chart.sh update` writes them anew.
# shellcheck source=tests/cases.inc
. "${HALFSPLIT_ROOT:-.}/tests/cases.inc"

program=${HALFSPLIT_PROGRAM:-$root/build/halfsplit}
HALFSPLIT_TREES=$root/trees
XDG_DATA_HOME=$own/data
export HALFSPLIT_TREES XDG_DATA_HOME
charts=$(cd "$root/docs/charts" && ls ./*.txt | sed 's/^\.\///; s/\.txt$//')

[ "${1:-}" != update ] || {
	for symptom in $charts; do
		"$program" chart $symptom --machine twin >"$root/docs/charts/$symptom.txt"
		"$program" chart $symptom --machine twin --html >"$root/docs/charts/$symptom.html"
	done
	exit 0
}

for symptom in $charts; do
	text=$root/docs/charts/$symptom.txt page=$root/docs/charts/$symptom.html
	fails "$symptom: no scripts, nothing fetched" grep -iE '<script|javascript:|<link|src=|url\(|@import' "$page"
	fails "$symptom: 80 columns" grep -E '^.{81}' "$text"
	holds "$symptom: says what no plan can do without" grep -q "no$\|no plan can\|plan can need" "$text"
	if command -v xmllint >/dev/null; then
		holds "$symptom: well-formed" xmllint --noout --nonet "$page"
	else
		skip "$symptom: well-formed" "xmllint is not installed"
	fi
done
holds "a page" "$program" chart flooding --machine twin --depth 1 --least 20 --html
holds "is one" grep -q '<svg' "$own/out"
holds "a short chart" "$program" chart flooding --machine twin --depth 1 --least 20
holds "has few steps" [ "$(grep -c '^ *[0-9]* \(CHECK\|REPAIR\|END\): ' "$own/out")" -lt 15 ]
fails "a depth that is none" "$program" chart flooding --machine twin --depth x
fails "a share that is none" "$program" chart flooding --machine twin --least 80
fails "no such symptom" "$program" chart nonsense --machine twin
holds "it says how to find one" grep -q 'halfsplit list symptoms' "$own/out"
fails "no symptom" "$program" chart
finish
