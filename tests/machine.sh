#!/bin/sh
# `halfsplit machine new` from a pipe: what is asked, what is written, where it is found afterwards.
# shellcheck source=tests/cases.inc
. "${HALFSPLIT_ROOT:-.}/tests/cases.inc"

program=${HALFSPLIT_PROGRAM:-$root/build/halfsplit}
HALFSPLIT_TREES=$root/trees
XDG_STATE_HOME=$own/state
XDG_DATA_HOME=$own/data
COLUMNS=80
export HALFSPLIT_TREES XDG_STATE_HOME XDG_DATA_HOME COLUMNS
mine=$XDG_DATA_HOME/halfsplit/machines

# The functions below are handed to holds and fails.
# shellcheck disable=SC2317
describe() {
	printf '%s\n' "$@" | "$program" machine new
}

# The answers to everything before the figures: a four with two coils and little fitted.
until_figures() {
	printf '%s\n' "Dad's old <four> & co" generic 4 go 2 "1 14 15 16 17" "$@"
}

# shellcheck disable=SC2317
is_status() {
	want=$1
	shift
	"$@"
	[ $? -eq "$want" ]
}

# shellcheck disable=SC2317
says() {
	tr -s ' \n' '  ' <"$own/out" | grep -qF -- "$1"
}

until_figures "1100 to 1300" go "at least 8 bar" back "at least 9 bar" "5 +- 1" "can't" >"$own/answers"
holds "a bike is described" "$program" machine new --script "$own/answers"
cp "$own/out" "$own/said"
for what in "Understood: at least 900 kPa." "Hot idle: 1100 to 1300 rpm (was 1000 to 1400 rpm)" \
	"Checks that do not:" "halfsplit --machine dad-s-old-four-co"; do
	cp "$own/said" "$own/out"
	holds "says \"$what\"" says "$what"
done
file=$mine/dad-s-old-four-co.xml
holds "one file is there, nothing else" test "$(ls "$mine")" = dad-s-old-four-co.xml
holds "it holds to the schema" xmllint --noout --nonet --schema "$root/docs/halfsplit.xsd" "$file"
same "what is known is his" '<value id="compression" title="Compression, sea level" unit="kPa" low="900"/>' \
	"$(sed -n 's/^[[:space:]]*\(<value id="compression".*\)/\1/p' "$file")"
holds "what is not known stays generic" grep -q 'id="coil-primary".* generic="yes"' "$file"
fails "a figure of another bike is not taken" grep -q 'id="float-height"' "$file"
same "coils with two leads" "1 4,2 3" \
	"$(sed -n '/kind="coil"/,/<.positions/s/.*sites="\(.*\)".*/\1/p' "$file" | paste -sd,)"
holds "it is in the list of machines" sh -c "'$program' list machines | grep -q '^dad-s-old-four-co '"
holds "it ranks" "$program" rank --machine dad-s-old-four-co --complaint will-not-idle \
	--answer hot-idle=900
holds "its band is the manual's" sh -c "'$program' list checks --machine dad-s-old-four-co --json |
	grep -q compression"
holds "it begins a job" sh -c "printf 'will-not-idle\nstop\n' |
	'$program' --machine dad-s-old-four-co --job-dir '$own/jobs'"
holds "the trees with it lint clean" "$program" lint

until_figures "can't" no stop >"$own/answers"
holds "a second of the same name is asked about" "$program" machine new --script "$own/answers"
holds "and the first one is kept" grep -q 'id="compression".* low="900"' "$file"
until_figures "can't" yes >"$own/answers"
holds "unless the answer is yes" "$program" machine new --script "$own/answers"
holds "says that no figure was given" says "No figure was given"
fails "and then it is written over" grep -q 'id="compression".* low="900"/' "$file"

cat >"$own/stays" <<'END'
four
END
holds "the name of a machine of the trees is refused" is_status 2 "$program" machine new \
	--script "$own/stays"
holds "with the reason" says "The trees have a machine of that name"
until_figures "1300 to 1100" >"$own/answers"
holds "a band upside down is refused" is_status 2 "$program" machine new --script "$own/answers"
until_figures go go go go go go go go go "at least 2" >"$own/answers"
holds "a figure its check cannot use is refused" is_status 2 "$program" machine new --script "$own/answers"
holds "with the reason from the trees" says "a part cannot take its value"
until_figures go go "900 bar" no "9 bar" stop >"$own/answers"
holds "an odd size is asked about" "$program" machine new --script "$own/answers"
holds "in these words" says "is far from what is usual"
holds "the answers running out is status 1" is_status 1 describe "My four"
printf '%s\n' "Kick" single back single 1 1 1 go "can't" >"$own/answers"
holds "a single like the single" "$program" machine new --script "$own/answers"
holds "is there as well" "$program" rank --machine kick --complaint hard-cold-start
for n in 1 2 3 6; do
	printf '%s\n' "Bike of $n" twin "$n" go go all "can't" >"$own/answers"
	holds "$n cylinders with everything fitted" "$program" machine new --script "$own/answers"
done
holds "all of them lint" "$program" lint
HOME=/dev/null
export HOME
unset XDG_DATA_HOME
until_figures "can't" >"$own/answers"
holds "no folder to be had is status 5" is_status 5 "$program" machine new --script "$own/answers"
holds "no trees is status 3" is_status 3 "$program" --trees "$own/none" list machines
holds "an unknown command is status 2" is_status 2 "$program" --trees "$own/none" nothing
fails "another word than new is refused" "$program" machine old
finish
