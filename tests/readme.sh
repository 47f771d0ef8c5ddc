#!/bin/sh
# README.md says what the program does: its conversation and its examples are run and compared.
#
#   ```text      the conversation: what tests/data/readme/tank-vent.script gives from "Step 1" on
#   ```console   commands behind "$ ", each followed by what it prints
#   ```sh        make targets: only looked up, for `make test` cannot run inside itself
#
# Dates and times of day are made alike on both sides (job names carry a date); every other byte
# counts.  `sh tests/readme.sh update` writes what the program prints now into README.md.
# shellcheck source=tests/cases.inc
. "${HALFSPLIT_ROOT:-.}/tests/cases.inc"

program=${HALFSPLIT_PROGRAM:-$root/build/halfsplit}
readme=$root/README.md
[ -x "$program" ] || {
	echo "not ok 1 - $program is there"
	exit 1
}
HALFSPLIT_TREES=$root/trees
HOME=$own/home
COLUMNS=80
export HALFSPLIT_TREES HOME COLUMNS
unset XDG_DATA_HOME XDG_STATE_HOME
mkdir "$own/bin" "$own/home" "$own/here"
ln -s "$program" "$own/bin/halfsplit"
PATH=$own/bin:$PATH
cp "$root"/tests/data/readme/*.script "$own/here/"
cd "$own/here" || exit 1

dateless() {
	sed 's/[0-9]\{4\}-[0-9][0-9]-[0-9][0-9]/DATE/g; s/[0-9][0-9]:[0-9][0-9]/TIME/g' "$1"
}

# README.md with what the commands print now in place of what it shows.  A command may go on in the
# next line after a backslash.  Their statuses go to the file `statuses`, blank for the conversation's.
renewed() {
	rm -rf jobs statuses
	language='' command='' fence='```'
	while IFS= read -r line; do
		case $language:$line in
		*:"$fence"?*)
			language=${line#"$fence"}
			printf '%s\n' "$line"
			if [ "$language" = text ]; then
				halfsplit --job-dir jobs --script tank-vent.script >all 2>&1 </dev/null
				echo "$? the conversation" >>statuses
				sed -n '/^Step 1:/,$p' all
				rm -rf jobs
			fi ;;
		*:"$fence")
			language=
			printf '%s\n' "$line" ;;
		text:*) ;;
		console:'$ '* | console:' '*)
			[ "$language:$line" = "console:${line#'$ '}" ] && [ -z "$command" ] && continue
			printf '%s\n' "$line"
			command=$command${line#'$ '}
			case $command in
			*\\) command=${command%\\} ;;
			*)
				sh -c "$command" 2>&1 </dev/null
				echo "$? $command" >>statuses
				command= ;;
			esac ;;
		console:*) ;;
		*) printf '%s\n' "$line" ;;
		esac
	done <"$readme"
}

renewed >new
if [ "${1:-}" = update ]; then
	cat new >"$readme"
	grep -v '^0 ' statuses
	exit 0
fi

dateless "$readme" >shown
dateless new >printed
holds "README.md shows what the program prints" diff -u shown printed
# shellcheck disable=SC2016 # the dollar is in the text
same "the conversation and every example is run" "$(($(grep -c '^\$ ' "$readme") + 1))" \
	"$(grep -c . statuses)"
holds "there are examples" test "$(grep -c . statuses)" -gt 5
fails "none of them ends with an error" grep -v '^0 ' statuses
holds "the conversation ends with a job closed" grep -q '^Closed: proven' new

# shellcheck disable=SC2016 # the backquotes are in the text
sed -n '/^```sh/,/^```/p' "$readme" | sed -n 's/^make //p' >targets
same "two make commands are shown" 2 "$(grep -c . targets)"
while read -r target; do
	holds "make $target is there" grep -q "^$target:" "$root/Makefile"
done <targets

# Links to files of the project.
grep -o '](\([^)]*\))' "$readme" | sed 's/^](//; s/)$//' | sort -u >links
while read -r link; do
	holds "$link is there" test -e "$root/$link"
done <links
finish
