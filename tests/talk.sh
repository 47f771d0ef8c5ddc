#!/bin/sh
# Whole jobs through the real program: complaint, checks, repair, proof, job sheet.
#
# Every tests/data/scripts/*.script is a job. Its comments say what must come out:
#     #: ends STATUS          the exit status (0)
#     #: says TEXT            a line that the conversation contains
#     #: sheet TEXT           a line that the job sheet contains
# The answers are read from a file and again through a pipe; both must say the same (their folders
# are of one length, so that lines with a path in them break at the same place).
# (the pipe is tried on the twin only: it is the same road for both, and takes time).
# shellcheck source=tests/cases.inc
. "${HALFSPLIT_ROOT:-.}/tests/cases.inc"

program=${HALFSPLIT_PROGRAM:-$root/build/halfsplit}
trees=$root/trees
HALFSPLIT_TREES=$trees
XDG_STATE_HOME=$own/state
XDG_DATA_HOME=$own/data
export HALFSPLIT_TREES XDG_STATE_HOME XDG_DATA_HOME
COLUMNS=80
export COLUMNS

# The words behind "#: NAME " in the script, one a line.
wanted() {
	sed -n "s/^#: $2 //p" "$1"
}

# Every wanted line is in the file $3; the first missing one is printed.
has_all() {
	wanted "$1" "$2" | while IFS= read -r text; do
		tr -s ' \n' '  ' <"$3" | grep -qF -- "$text" || {
			echo "missing: $text"
			return 1
		}
	done
}

# Times, job names and folders differ from run to run.
plain() {
	sed 's/[a-z-]*-[0-9-]*-[0-9]*\b/JOB/g; s|/[^ ]*||g; s/[0-9][0-9]:[0-9][0-9]//g' "$1"
}

play() {
	script=$1
	name=$(basename "$script" .script)
	status=$(wanted "$script" ends)
	rm -rf "$own/state"
	"$program" --job-dir "$own/$name-file" --script "$script" >"$own/$name.out" 2>"$own/$name.err"
	found=$?
	if [ "$found" = "${status:-0}" ]; then
		passed "$name ends with status ${status:-0}"
	else
		failed "$name ends with status $found instead of ${status:-0}"
		tail -n 25 "$own/$name.out" "$own/$name.err" | sed 's/^/# /'
	fi
	holds "$name says what it must" has_all "$script" says "$own/$name.out"
	sheet=$(ls "$own/$name-file/"*.txt 2>/dev/null)
	if [ -n "$(wanted "$script" sheet)" ]; then
		holds "$name leaves a job sheet" test -s "$sheet"
		holds "$name has it in the job sheet" has_all "$script" sheet "$sheet"
	fi
	# What was typed stands behind its prompt and may be longer; a path is never broken.
	grep -v -e '? = help): ' -e '^Job sheet: /' -e '^The same to print or send: /' "$own/$name.out" >"$own/a"
	fails "$name stays within 80 columns" grep -nE '^.{81}' "$own/a"
	fails "$name moves no cursor" grep -q "$(printf '\033')" "$own/$name.out"
	case $name in four-*) return ;; esac
	rm -rf "$own/state"
	"$program" --job-dir "$own/$name-pipe" <"$script" >"$own/$name.pipe" 2>/dev/null
	plain "$own/$name.out" >"$own/a"
	plain "$own/$name.pipe" >"$own/b"
	holds "$name is the same through a pipe" cmp "$own/a" "$own/b"
}

for script in "$root"/tests/data/scripts/*.script; do
	[ -e "$script" ] || continue
	play "$script"
done

# ---- what a script can do wrong --------------------------------------------------------------------

job=$own/wrong
status_of() {
	printf "$1" | "$program" --job-dir "$job" --machine four >"$own/out" 2>"$own/err"
	echo $?
}
same "an answer that is none ends with status 2" 2 "$(status_of 'flooding\n# why not\n\nplumbing\n')"
holds "and names the line" grep -q 'line 4, "plumbing"' "$own/err"
holds "and what is allowed" grep -q 'Allowed: ' "$own/err"
same "an input that runs out ends with status 1" 1 "$(status_of 'flooding\n')"
holds "and names the open question" grep -q 'question open: Which tools' "$own/err"
holds "and the job is kept" sh -c '"$1" --job-dir "$2" jobs | grep -q flooding' - "$program" "$job"
same "no input at all ends with status 1" 1 "$(status_of '')"
printf 'four\nflooding\nall but clamp-meter\nstop\n' | "$program" --job-dir "$own/tools" >/dev/null 2>&1
printf 'four\nflooding\ngo\nstop\n' | "$program" --job-dir "$own/tools" >"$own/tools.out" 2>&1
holds "the tools of last time are offered" grep -q 'Tools last time: all but clamp meter' "$own/tools.out"
fails "without their whole list" grep -q '^ *1  multimeter$' "$own/tools.out"
same "stop leaves with status 0" 0 "$(status_of 'flooding\nstop\n')"
printf 'twin\npoor-charging\nall\nnone\nnone\ndo charge-battery\n\047no codes\047\ncan\047t\nstop\n' |
	"$program" --job-dir "$own/cannot" >"$own/cannot.out" 2>&1
holds "a repair that cannot be done is told" grep -q 'Then something else' "$own/cannot.out"
holds "and kept" sh -c '"$1" --job-dir "$2" report | grep -q "renew it if it fails: cannot be done here"' - \
	"$program" "$own/cannot"
printf 'plan\nback\nstop\n' | "$program" --job-dir "$own/cannot" resume >"$own/cannot.out" 2>&1
fails "and not advised when the job goes on" sh -c 'sed "/Taken back/,\$d" "$1" | grep -q "^ *[1-3]  .*charge-battery"' - \
	"$own/cannot.out"
holds "and taken back like an answer" grep -q '^Taken back: cannot be done: Charge' "$own/cannot.out"
printf 'single\nhard-cold-start\nnone\nnone\nnone\ndo bowl-deposits\nvarnish\ndo bowl-gasket-look\nstop\n' |
	"$program" --job-dir "$own/opening" >"$own/opening.out" 2>&1
holds "what opening lets out is cautioned before it is opened" sh -c \
	'sed -n "/: Deposits in the bowls/,/To be opened/p" "$1" | grep -q "DANGER: Tap shut, engine cold. Drain"' - "$own/opening.out"
same "and not again while it is open" 1 "$(grep -c 'DANGER: Tap shut, engine cold. Drain' "$own/opening.out")"
printf 'single\nflooding\nnone\nnone\nnone\ndo renew-float-needle\noverflow-pipe\n' |
	"$program" --job-dir "$own/nofigure" >"$own/nofigure.out" 2>&1
holds "a setting with a unit is noted as a figure" grep -q 'A figure in mm, or "don' "$own/nofigure.out"
printf 'four\nhanging-idle\nall\nnone\nnone\ndo float-weight\nstop\n' |
	"$program" --job-dir "$own/deep" 2>&1 | sed -n '/: Float: weight/,/To be opened/p' >"$own/deep.out"
same "a warning does not stand in for a danger, nor is one said twice" "WARNING 1 DANGER 1" \
	"WARNING $(grep -c 'WARNING: Let any petrol in it drain' "$own/deep.out") DANGER $(
		grep -c 'DANGER: Tap shut, engine cold. Drain' "$own/deep.out")"
printf '%s\n' four will-not-idle 'all but lens' none 'it-runs, battery-charged' opened 'opened bowls-off' \
	'tell bowl-deposits=varnish' 'tell seat-hold@2=0.5' 'tell float-drop=dk' opened 'opened side-panels-off' \
	'closed bowls-off' opened stop |
	"$program" --job-dir "$own/batch" >"$own/batch.out" 2>&1
listed() {
	sed -n '/^Cheap with/,/^Disturbed/p' "$own/batch.out" |
		sed -n "s/^  \([a-z][a-z ]*[a-z]\)  *[A-Z].*\[$1\].*/\1/p"
}
holds "nothing open is said so" grep -q '^Nothing is open' "$own/batch.out"
same "what was answered is done" "done" "$(listed bowl-deposits)"
same "what tells of the suspects is worth it" "worth it" "$(listed passage-spray)"
same "what does not is only cheap" cheap "$(listed bowl-gasket-look)"
same "what was not known is left out" "left out" "$(listed float-drop)"
same "what wants a tool says so" "no tool" "$(listed needle-tip)"
holds "places that are done are named" grep -q '\[seat-hold\]: 2: 0.5; the others not yet' "$own/batch.out"
holds "settings not yet noted are named" grep -q 'before a check of these disturbs it: Float height; Jet' \
	"$own/batch.out"
holds "and those that opening has disturbed" grep -q '^Disturbed by opening, and not noted: Hoses; Balance' \
	"$own/batch.out"
holds "states around it have a line each" grep -q '^  carburettors on the bench: 0 of 10 done' "$own/batch.out"
holds "one of them is listed when it is named" grep -q '^  cheap  *Air filter against the light' "$own/batch.out"
holds "what needs the engine waits until it is closed" grep -q '^  later  *Charging voltage at 5000' \
	"$own/batch.out"
same "what is closed is listed no more" 1 "$(grep -c '^ .*\[bowl-gasket-look\]' "$own/batch.out")"
fails "within 80 columns" sh -c 'grep -v "? = help" "$1" | grep -E "^.{81}"' - "$own/batch.out"
same "an unknown machine ends with status 2" 2 \
	"$("$program" --machine zeppelin </dev/null >/dev/null 2>&1; echo $?)"
same "trees that are not there end with status 3" 3 \
	"$("$program" --trees "$own/nowhere" </dev/null >/dev/null 2>&1; echo $?)"
same "a script that is not there ends with status 5" 5 \
	"$("$program" --script "$own/nowhere" </dev/null >/dev/null 2>&1; echo $?)"
same "a job that is not there ends with status 4" 4 \
	"$("$program" --job-dir "$job" resume nowhere </dev/null >/dev/null 2>&1; echo $?)"
same "an unknown option ends with status 2" 2 "$("$program" --zeppelin </dev/null >/dev/null 2>&1; echo $?)"
for words in "rank --due" "--due" "resume --complaint flooding" "list machines --depth 3" "jobs --rates home" "work --json"; do
	# shellcheck disable=SC2086 # the words of a command line
	"$program" $words </dev/null >"$own/passed.out" 2>&1
	same "$words is refused: it would be passed over" "2 1" "$? $(grep -c 'says nothing to' "$own/passed.out")"
done
holds "a command that does not exist is named before its options" sh -c \
	'"$1" zeppelin --due 2>&1 | grep -q "no such command: zeppelin"' - "$program"
printf 'none\nnone\nnone\nplan\n' | "$program" --rates counter --job-dir "$own/ways" -m twin -c hard-cold-start \
	>"$own/ways.out" 2>&1
holds "the ways are counted: so few jobs say no percentage" grep -q '^    In 24 of 24: 4 checks, then it is handed over' \
	"$own/ways.out"
printf '?\nrank\nstop\n' | "$program" machine new >"$own/jobless.out" 2>&1
holds "where there is no job, only words that work there are named" \
	grep -q "^At every question: back, don't know, can't, go, stop\." "$own/jobless.out"
holds "and one that needs a job says so" grep -q '^That works in a job, and none is under way' "$own/jobless.out"
"$program" --job-dir "$own/told" -m twin -c flooding -c oil-level-rising </dev/null >"$own/told.out" 2>&1
same "complaints told at the start are taken, each with its cautions" 2 "$(grep -c '^Complaint: ' "$own/told.out")"
fails "and not asked for" grep -q 'What does it do wrong' "$own/told.out"
holds "the tools come next" grep -q 'with a question open: Which tools' "$own/told.out"
holds "taken back, they are asked for" sh -c 'printf "back\nback\n" |
	"$1" --job-dir "$2" resume 2>/dev/null | grep -q "What does it do wrong"' - "$program" "$own/told"
printf 'none\nnone\nnone\ndo renew-float-needle\n' |
	"$program" --job-dir "$own/bare" -m twin -c flooding >"$own/bare.out" 2>&1
holds "a tool for a repair that is not there is to be borrowed" \
	grep -q '^  Tools: vernier calliper (to be borrowed)' "$own/bare.out"
printf 'none\nnone\nnone\n1\n3\n7\n4\n' | "$program" --rates counter --job-dir "$own/over" -m single -c hard-cold-start |
	sed -n '/worth more than handing it over/,$p' >"$own/over.out"
same "where it is handed over, what was just said is not said again" "1 0" \
	"$(grep -c 'worth more than' "$own/over.out") $(grep -c '^Now: ' "$own/over.out")"
"$program" --job-dir "$own/told2" -m single -c floding </dev/null >"$own/told.out" 2>&1
same "one that does not exist ends with status 2 and leaves no job" "2 0" \
	"$? $(find "$own/told2" -name '*.job' 2>/dev/null | wc -l)"
holds "and the nearest is named" grep -q 'There is no symptom "floding" on single.*mean flooding?' "$own/told.out"
holds "help" "$program" --help
fails "help stays within 80 columns" sh -c '"$1" --help | grep -E "^.{81}"' - "$program"
holds "version" "$program" --version
if [ -e /dev/full ]; then
	same "a full disk under the output ends with status 5" 5 \
		"$("$program" --help >/dev/full 2>/dev/null; echo $?)"
fi
finish
