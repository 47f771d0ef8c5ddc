#!/bin/sh
# docs/halfsplit.bash offers what there is: commands, options of engine/main.c, names from the trees.
# shellcheck source=tests/cases.inc
. "${HALFSPLIT_ROOT:-.}/tests/cases.inc"

program=${HALFSPLIT_PROGRAM:-$root/build/halfsplit}
HALFSPLIT_TREES=$root/trees
XDG_STATE_HOME=$own/state
XDG_DATA_HOME=$own/data
export HALFSPLIT_TREES XDG_STATE_HOME XDG_DATA_HOME
if ! command -v bash >/dev/null; then
	skip "completion" "bash is not installed"
	finish
fi

mkdir "$own/bin"
ln -s "$program" "$own/bin/halfsplit"
PATH=$own/bin:$PATH

# What is offered for the last of these words, sorted, on one line.
offered() {
	# shellcheck disable=SC2016 # bash expands it
	bash -c '. "$1"; shift; COMP_WORDS=("$@"); COMP_CWORD=$(($# - 1)); _halfsplit
		printf "%s\n" "${COMPREPLY[@]}"' - "$root/docs/halfsplit.bash" halfsplit "$@" 2>&1 |
		LC_ALL=C sort | tr '\n' ' ' | sed 's/ $//'
}

holds "bash reads it" bash -n "$root/docs/halfsplit.bash"
same "commands" "chart jobs learn lint list machine rank report resume show work" "$(offered '')"
same "a beginning" "rank report resume" "$(offered r)"
sed -n '/long_options\[\] = {/,/^};/s/^	{"\([^"]*\)".*/--\1/p' "$root/engine/main.c" |
	LC_ALL=C sort | tr '\n' ' ' | sed 's/ $//' >"$own/options"
same "every option of the program, no other" "$(cat "$own/options")" "$(offered --)"
same "what of a machine" "new" "$(offered machine '')"
same "kinds of lists" "checks machines suspects symptoms" "$(offered list '')"
same "machines" "four generic-twin single twin" "$(offered --machine '')"
same "machines behind =" "twin" "$(offered --machine = t)"
same "complaints" "hanging-idle hard-cold-start hard-hot-start" \
	"$(offered rank --machine four --complaint ha)"
same "checks, with the = that follows" "lamp-code= lamp-with-revs= lamps-at-cut=" \
	"$(offered rank -m twin --answer lamp)"
same "no command after a command" "" "$(offered rank '')"
printf 'twin\nfault-blink\nstop\n' | halfsplit --job-dir "$own/jobs" >/dev/null 2>&1
same "jobs" "$(basename "$own"/jobs/*.job .job)" "$(offered --job-dir "$own/jobs" resume '')"
finish
