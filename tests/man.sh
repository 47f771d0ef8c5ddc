#!/bin/sh
# docs/halfsplit.1 names every word of the conversation (engine/talk/words.c), every option
# (engine/main.c) and every variable the program asks for, and none that there is not; its examples
# run; mandoc has nothing to say against it.
# shellcheck source=tests/cases.inc
. "${HALFSPLIT_ROOT:-.}/tests/cases.inc"

program=${HALFSPLIT_PROGRAM:-$root/build/halfsplit}
page=$root/docs/halfsplit.1

# The names in the table of words, and those that head an entry of the page.
sed -n 's/^	\[WORD_[A-Z_]*\] = {"\([^"]*\)", {\([^}]*\)}.*/\1, \2/p' "$root/engine/talk/words.c" |
	tr ',' '\n' | sed 's/^ *//; s/"//g; /^NULL$/d; /^$/d' | sort >"$own/words"
sed -n 's/^\.It Ic //p' "$page" | sed 's/ Op .*//; s/ Ar .*//; s/\\&//g; s/ , /,/g' | tr ',' '\n' | sort >"$own/named"
holds "the table of words is read" test "$(grep -c . "$own/words")" -ge 20
holds "the page has exactly the words of the conversation" diff -u "$own/words" "$own/named"

sed -n '/long_options\[\] = {/,/^};/s/^	{"\([^"]*\)".*/\1/p' "$root/engine/main.c" | sort >"$own/options"
sed -n '/^\.It Fl /s/.*Fl -\([a-z-]*\).*/\1/p' "$page" | sort >"$own/explained"
holds "the table of options is read" test "$(grep -c . "$own/options")" -ge 10
holds "the page has exactly the long options" diff -u "$own/options" "$own/explained"

grep -rhoE 'getenv\("[A-Z_]+"' "$root"/engine | sed 's/.*"\([A-Z_]*\)"/\1/' | sort -u >"$own/asked"
holds "the program asks for variables" test -s "$own/asked"
while read -r variable; do
	holds "the page names $variable" grep -q "Ev $variable" "$page"
done <"$own/asked"

sed -n '/^enum talk_exit/,/^};/s/.* = \([0-9]*\).*/.It \1/p' "$root/engine/talk/talk.h" >"$own/statuses"
sed -n '/^\.Sh EXIT STATUS/,/^\.Sh EXAMPLES/p' "$page" | grep '^\.It' >"$own/listed"
holds "the page has exactly the exit statuses" diff -u "$own/statuses" "$own/listed"

# Each line behind "$ " in its examples, in order, in a folder with a script named `answers`.
HALFSPLIT_TREES=$root/trees
XDG_STATE_HOME=$own/state
XDG_DATA_HOME=$own/data
export HALFSPLIT_TREES XDG_STATE_HOME XDG_DATA_HOME
mkdir "$own/bin" "$own/here"
ln -s "$program" "$own/bin/halfsplit"
PATH=$own/bin:$PATH
cp "$root/tests/data/readme/tank-vent.script" "$own/here/answers"
cd "$own/here" || exit 1
sed -n 's/^\$ //p' "$page" >"$own/examples"
holds "there are examples" test -s "$own/examples"
while IFS= read -r example; do
	holds "runs: $example" sh -c "$example"
	holds "prints something: $example" test -s "$own/out"
done <"$own/examples"

if command -v mandoc >/dev/null; then
	mandoc -Tlint -W style "$page" >"$own/lint" 2>&1
	same "mandoc has nothing to say" "" "$(cat "$own/lint")"
else
	skip "mandoc has nothing to say" "mandoc is not installed"
fi
finish
