#!/bin/sh
# Every row of tests/data/reading/rows.txt names a test that is there and is run.
# shellcheck source=tests/cases.inc
. "${HALFSPLIT_ROOT:-.}/tests/cases.inc"

while read -r row file test source; do
	case $row in '#'*) continue ;; esac
	holds "row $row ($source)" grep -q "cmocka_unit_test($test)" "$root/tests/$file"
done <"$root/tests/data/reading/rows.txt"
finish
