#!/bin/sh
# The same job has the same advice whatever compiled the program: gcc and clang, -O0 and -O2, and under
# valgrind where that is there. Compares job scripts with `plan` in them byte for byte.
root=${HALFSPLIT_ROOT:-.}
own=$(mktemp -d) || exit 1
trap 'rm -rf "$own"' EXIT
cd "$root" || exit 1
failed=0 builds=0 first='' under=''

printf '%s\n' four drip-at-rest all refitted none plan 'do where-wet' 'bowl-joint 2' plan stop >"$own/job"

# say HOW PROGRAM...: what the program says, under a name of its own
say() {
	how=$1
	shift
	rm -rf "$own/jobs"
	env HALFSPLIT_TREES=trees XDG_DATA_HOME="$own/data" XDG_STATE_HOME="$own/state.$how" \
		"$@" --job-dir "$own/jobs" --script "$own/job" >"$own/$how.said" 2>&1
	builds=$((builds + 1))
	if [ -z "$first" ]; then
		first=$how
		grep -q 'How it may go' "$own/$how.said" || { echo "$how: no plan was said" >&2; failed=1; }
	elif ! cmp -s "$own/$first.said" "$own/$how.said"; then
		echo "$how: other advice than $first" >&2
		failed=1
	fi
}

for cc in ${ADVICE_COMPILERS:-gcc clang}; do
	command -v "$cc" >/dev/null || continue
	for level in -O0 -O2; do
		env -u MAKEFLAGS -u MAKELEVEL make -s CC="$cc" CFLAGS=$level BUILD="$own/$cc$level" all \
			>/dev/null 2>&1 || { echo "$cc $level: does not build" >&2; failed=1; continue; }
		say "$cc$level" "$own/$cc$level/halfsplit"
		[ "$cc$level" = gcc-O2 ] && under=$own/$cc$level/halfsplit
	done
done
# gcc's: valgrind of Debian 12 cannot read what clang writes for debuggers, and ends.
[ -z "$under" ] || ! command -v valgrind >/dev/null || say valgrind valgrind --log-file="$own/valgrind.log" "$under"
echo "plan.same_advice_builds = $builds builds"
echo "plan.same_advice_failures = $failed failures"
exit $failed
