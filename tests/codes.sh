#!/bin/sh
# Lamp codes in the talk: a reading counts from the second that agrees, several in one read, stored
# against active.
# shellcheck source=tests/cases.inc
. "${HALFSPLIT_ROOT:-.}/tests/cases.inc"

program=${HALFSPLIT_PROGRAM:-$root/build/halfsplit}
HALFSPLIT_TREES=$root/trees
COLUMNS=80
XDG_STATE_HOME=$own/state
export HALFSPLIT_TREES COLUMNS XDG_STATE_HOME

# shellcheck disable=SC2317
says() {
	tr -s ' \n' '  ' <"$own/said" | grep -qF -- "$1"
}

# Lines behind the beginning of a job with a blinking lamp.
# shellcheck disable=SC2317
blinks() {
	rm -rf "$own/jobs"
	printf '%s\n' four fault-blink all none none "do lamp-code" "$@" |
		"$program" --job-dir "$own/jobs" --script - >"$own/said" 2>&1
}

holds "two readings that agree" blinks "LLSSS" "2 long 3 short" active stop
holds "are understood as one code" says "Understood: 23: Heater circuit, active, read twice alike."
holds "Enter is the same again" blinks 23 go stored stop
holds "and a stored code is said to be stored" says "23: Heater circuit, stored, read twice alike."
fails "two readings that differ" blinks 23 24
holds "are read again" says "The readings differ: 23 and 24. Read the lamp again until two agree."
holds "several codes in one read" blinks "13 41" "13 41" active rank stop
holds "mean supply or ground first" says \
	"2 codes together: battery volts, supply and ground come before any sensor."
holds "and the shared ground leads" says "1 77 % ground of the throttle sensor high resistance"
holds "all at once is not asked again" blinks "13 stored 41 active / 13 41" stop
holds "each with its own state" says "13: Throttle sensor high, stored; 41: Temperature sender, active"
holds "what is not known" blinks 23 "don't know" go stop
holds "leaves the code as read once" says "Understood: 23: Heater circuit."
finish
