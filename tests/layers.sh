#!/bin/sh
# check-layers accepts this tree, and refuses each bad include planted in a copy of it.
. "${HALFSPLIT_ROOT:-.}/tests/cases.inc"

check=$root/.ci/check-layers
holds "the tree keeps the order of the rooms" "$check" "$root"

house=$own/house
mkdir -p "$house/engine/base" "$house/engine/knowledge" "$house/engine/plan" \
	"$house/engine/report" "$house/engine/talk" "$house/include"
cp "$root/engine/LAYERS" "$house/engine/"

# plant FILE LINE: the file has this line alone.
plant() {
	rm -rf "$house"/engine/*/* "$house"/engine/*.c "$house"/include/*
	mkdir -p "$house/$(dirname "$1")"
	printf '%s\n' "$2" >"$house/$1"
}
allowed() {
	plant "$2" "$3"
	holds "$1" "$check" "$house"
}
refused() {
	plant "$2" "$3"
	fails "$1" "$check" "$house"
	grep -q "^$2:1: " "$own/out" || failed "$1: file and line are named"
}

allowed "own room" engine/plan/a.c '#include "plan/plan.h"'
allowed "lower room" engine/plan/a.c '#include "base/mem.h"'
allowed "C library" engine/plan/a.c '#include <stdio.h>'
allowed "libxml2 in knowledge" engine/knowledge/a.c '#include <libxml/parser.h>'
allowed "libxml2 in the HTML writer" engine/report/html.c '#include <libxml/xmlwriter.h>'
allowed "readline in talk" engine/talk/a.c '#include <readline/readline.h>'
allowed "any room in the program" engine/main.c '#include "talk/talk.h"'
allowed "public header in talk" engine/talk/a.c '#include "halfsplit.h"'
allowed "C library in a public header" include/halfsplit.h '#include <stddef.h>'
allowed "a word that only looks like an include" engine/base/a.c 'int include = 1; /* talk/ */'

refused "upward include" engine/base/a.c '#include "plan/plan.h"'
refused "upward include in a header" engine/base/a.h '#include "reading/model.h"'
refused "upward include with odd spacing" engine/base/a.c ' #	include/**/"talk/talk.h"'
refused "upward include in angle brackets" engine/base/a.c '#include <talk/talk.h>'
refused "upward include behind a comment" engine/base/a.c '/* x */ #include "talk/talk.h"'
refused "include through the parent folder" engine/base/a.c '#include "../talk/talk.h"'
refused "include through a room's parent" engine/plan/a.c '#include "base/../talk/talk.h"'
refused "include without a room" engine/plan/a.c '#include "plan.h"'
refused "include by macro" engine/plan/a.c '#include HEADER'
refused "unknown room" engine/plan/a.c '#include "cellar/wine.h"'
refused "public header below talk" engine/plan/a.c '#include "halfsplit.h"'
refused "libxml2 in plan" engine/plan/a.c '#include <libxml/tree.h>'
refused "libxml2 in report outside the HTML writer" engine/report/json.c '#include <libxml/tree.h>'
refused "libxml2 in the program" engine/main.c '#include <libxml/tree.h>'
refused "readline in report" engine/report/a.c '#include <readline/history.h>'
refused "room that is not on the list" engine/cellar/a.c '#include <stdio.h>'
refused "room in a public header" include/halfsplit.h '#include "base/err.h"'
refused "libxml2 in a public header" include/halfsplit.h '#include <libxml/tree.h>'

plant engine/base/a.c '#include <stdio.h>'
: >"$house/engine/LAYERS"
fails "an empty list of rooms" "$check" "$house"
finish
