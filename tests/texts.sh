#!/bin/sh
# What the texts say of the trees and of each other is so.
# shellcheck source=tests/cases.inc
. "${HALFSPLIT_ROOT:-.}/tests/cases.inc"
cd "$root" || exit 1

# docs/cautions.md has every hold with its title and signal word, and no other.
sed -n 's/.*<hold id="\([^"]*\)" title="\([^"]*\)" signal="\([A-Z]*\)".*/\2 (\1) \3/p' \
	trees/shared/holds.xml | sort >"$own/holds"
same "every hold is read" "$(grep -c '<hold ' trees/shared/holds.xml)" "$(grep -c . "$own/holds")"
# shellcheck disable=SC2016 # the backquotes are in the text
sed -n 's/^| \([A-Z][a-z ]*\) (`\([a-z-]*\)`) | \([A-Z]*\) |.*/\1 (\2) \3/p' docs/cautions.md |
	sort >"$own/told"
holds "cautions.md has the holds of the trees" diff -u "$own/holds" "$own/told"

# The glossary has each word once, in order.
sed -n '/^: /{x;p;x;};h' docs/glossary.md >"$own/words"
holds "the glossary has words" test "$(grep -c . "$own/words")" -gt 40
holds "each once and in order" env LC_ALL=C sort -cu "$own/words"

# docs/reading.md: each reading in its table is typed and is understood as it says.
program=${HALFSPLIT_PROGRAM:-$root/build/halfsplit}
sed -n '/^| Check |/,/^$/s/^| \([a-z@0-9-]*[a-z0-9]\) | \(.*\) | \(.*\) |$/\1=\2|\3/p' \
	docs/reading.md >"$own/readings"
holds "reading.md has readings" test "$(grep -c . "$own/readings")" -gt 9
XDG_STATE_HOME=$own/state
XDG_DATA_HOME=$own/data
export XDG_STATE_HOME XDG_DATA_HOME
while IFS='|' read -r told meant; do
	printf '%s\n' will-not-idle all none none "tell $told" stop |
		COLUMNS=80 "$program" --trees trees --machine four --job-dir "$own/jobs" >"$own/said" 2>&1
	same "$told" "Understood: read as $meant." "$(grep '^Understood' "$own/said")"
done <"$own/readings"

# Files that the texts and the sources name are there.
grep -rhoE 'docs/[a-z-]+\.(md|xsd|bash)' README.md DEVELOPERS.md docs engine include Makefile .ci |
	sort -u >"$own/files"
while read -r file; do
	holds "$file is there" test -e "$file"
done <"$own/files"
for text in docs/*.md DEVELOPERS.md; do
	folder=$(dirname "$text")
	grep -oE '\]\([A-Za-z./-]+\)' "$text" | sed 's/^](//; s/)$//' | sort -u >"$own/links"
	while read -r link; do
		holds "$text: $link is there" test -e "$folder/$link"
	done <"$own/links"
done

# Rooms: DEVELOPERS.md has the list of engine/LAYERS in its order.
sed -n '/^| Room /,/^$/s/^| \([a-z]*\) |.*/\1/p' DEVELOPERS.md >"$own/rooms"
holds "DEVELOPERS.md has the rooms in order" diff -u engine/LAYERS "$own/rooms"
finish
