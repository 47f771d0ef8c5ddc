#!/bin/sh
# docs/halfsplit.xsd accepts every tree there is, and refuses broken ones; an independent reading
# (libxml2's schema engine, by xmllint) of what the program's own rules say.
. "${HALFSPLIT_ROOT:-.}/tests/cases.inc"
cd "$root" || exit 1

schema=docs/halfsplit.xsd
if ! command -v xmllint >/dev/null; then
	skip "the schema" "xmllint is not installed"
	finish
fi

find trees tests/data/good-trees -name '*.xml' ! -name '.*' | LC_ALL=C sort >"$own/files"
holds "there are trees" test -s "$own/files"
while read -r f; do
	holds "accepts $f" xmllint --noout --nonet --schema $schema "$f"
done <"$own/files"

# What a schema can see of one file by itself; names, sums and circles are the program's.
for what in unknown-entity never-closed attribute-twice namespace colon-in-name wrong-root \
	wrong-version no-version near-miss-element element-in-wrong-place element-inside-plain \
	near-miss-attribute missing-attribute stray-text empty-text empty-gate id-with-capitals \
	probability-above-one probability-in-percent decimal-comma hexadecimal not-a-number \
	negative-weight negative-minutes unknown-derive unknown-side unknown-signal yes-or-no \
	site-out-of-range mode-without-part model-with-two-roots; do
	set -- tests/data/bad-trees/*-"$what"/x.xml
	fails "refuses $what" xmllint --noout --nonet --schema $schema "$1"
	[ -e "$1" ] || failed "$what is there"
done
finish
