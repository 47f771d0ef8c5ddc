#!/bin/sh
# docs/trees-howto.md followed to the letter: the files are made of its text, its commands are typed in
# its order, and at the end there is a symptom that works.
# shellcheck source=tests/cases.inc
. "${HALFSPLIT_ROOT:-.}/tests/cases.inc"

program=${HALFSPLIT_PROGRAM:-$root/build/halfsplit}
HOME=$own/home
unset XDG_DATA_HOME XDG_STATE_HOME HALFSPLIT_TREES
mkdir -p "$own/bin" "$own/here" "$HOME"
ln -s "$program" "$own/bin/halfsplit"
PATH=$own/bin:$PATH
export HOME PATH
cp -r "$root/trees" "$own/here/trees"
cd "$own/here" || exit 1

# Indented lines are what is typed or written: an XML file from <?xml to </knowledge>, else commands.
sed -n 's/^    //p' "$root/docs/trees-howto.md" |
	awk '/^<\?xml/ { file = "file" ++n } file { print > file } !file { print > "commands" }
		/^<\/knowledge>/ { file = "" }'
same "the guide shows two files" "file1 file2" "$(echo file?)"
mv file1 own-bike.xml
mv file2 kicks-back.xml
for file in own-bike.xml kicks-back.xml; do
	holds "$file is the one the other tests load" diff -wB $file "$root/tests/data/good-trees/own-bike/$file"
done

# `machine new` asks; tests/machine.sh answers it.
grep -v '^halfsplit machine new' commands >typed
holds "there are commands" test "$(grep -c . typed)" -ge 8
while IFS= read -r command; do
	case $command in
	export*)
		eval "$command" ;;
	*)
		holds "typed: $command" sh -c "$command"
		case $command in
		*"list machines"*) cp "$own/out" machines ;;
		*advance-by-hand=*) cp "$own/out" after ;;
		*"--complaint kicks-back"*) cp "$own/out" before ;;
		esac ;;
	esac
done <typed

# What the guide says of these commands.
holds "the machines are the copied ones" grep -q '^four ' machines
holds "the new cause is near the top" sh -c "head -n 8 before | grep -q 'advance weights'"
same "and the first after its check, with more than half" "yes" \
	"$(sed -n 's/^ *\([0-9][0-9]*\)\.* *%.*advance weights.*/\1/p; s/.*advance weights[^0-9]*\([0-9]*\) %.*/\1/p' after |
		head -n 1 | awk '{ print ($1 > 50 ? "yes" : "no " $1) }')"
halfsplit rank --machine my-single --complaint kicks-back --answer advance-by-hand=snaps-back >sunk
holds "and sinks with the other answer" sh -c "! head -n 4 sunk | grep -q 'advance weights'"
printf 'all\nnone\nnone\ndo advance-by-hand\nstays\nrank\nstop\n' >job
holds "the symptom works in a job" sh -c "printf 'my-single\nkicks-back\n' | cat - job |
	halfsplit --job-dir jobs"
holds "which names its cause" grep -q "advance weights" "$own/out"
holds "show draws it" halfsplit show kicks-back --machine my-single
holds "lint has nothing to mend on either" halfsplit lint "$HOME/my-trees"
finish
