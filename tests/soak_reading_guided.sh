#!/bin/sh
# The grammar of readings under clang's coverage-guided fuzzer with the address and undefined-
# behaviour sanitizers, from the kept answers on, for HALFSPLIT_SOAK_SECONDS of processor time (60).
# An hour is HALFSPLIT_SOAK_SECONDS=3600.  A finding stops it and stays in the folder named.
# HALFSPLIT_SOAK_KEEP=FILE writes the fewest answers that reach all that was reached, in the form of
# tests/data/reading/kept.hex.
set -u
root=${HALFSPLIT_ROOT:-.}
build=${HALFSPLIT_BUILD:-build}/guided
seconds=${HALFSPLIT_SOAK_SECONDS:-60}
clang=${CLANG:-clang}

if ! echo 'int LLVMFuzzerTestOneInput(const char *d, long n) { return d && n > 1 ? 0 : 0; }' |
	"$clang" -fsanitize=fuzzer -x c - -o /dev/null 2>/dev/null; then
	echo "reading.guided_answers = not measured: $clang has no -fsanitize=fuzzer"
	exit 0
fi
rm -rf "$build"
mkdir -p "$build/kept" "$build/least" || exit 1

"$clang" -std=c11 -D_GNU_SOURCE -g -O1 -fno-omit-frame-pointer -ffp-contract=off \
	-fsanitize=fuzzer,address,undefined -fno-sanitize-recover=undefined \
	-I"$root/engine" -I"$root/include" -I"$root/tests" \
	"$root"/engine/base/*.c "$root"/engine/reading/*.c "$root/tests/reading_fuzz.c" \
	-lm -o "$build/fuzz" || exit 1

"$HALFSPLIT_BUILD/tests/soak_reading" files "$build/kept" || exit 1

# Pieces that people type, so that the fuzzer need not spell them letter by letter.
for piece in ohm kohm volt mV amp mm inch kPa bar psi mmHg inHg rpm mL 'fl oz' degC degF degrees turns \
	OL open short infinite about 'just under' 'just over' 3/8 5k25 4R7 1M5 ' long ' ' short ' LLSSS \
	again 'then' '1:' '2:' '12.4-0.3' '8.1 8.0' ' and ' ' plus ' +- convert parallel leak-down compression \
	ratio sweep turns-diff drop stator heaters star balance
do
	printf '"%s"\n' "$piece"
done >"$build/words"

# Sets `used`: user and system seconds of what has run so far (a subshell would count its own).
spent() {
	times >"$build/times"
	used=$(sed -n '2s/[^0-9.]/ /gp' "$build/times" | awk '{ printf "%d\n", $1 * 60 + $2 + $3 * 60 + $4 }')
}

# libFuzzer counts seconds by the clock, the aim is processor seconds: in rounds, until they are used.
spent
begun=$used round=0 answers=0 found=0
while [ $((used - begun)) -lt "$seconds" ] && [ $found = 0 ]; do
	left=$((seconds - used + begun))
	"$build/fuzz" -seed=$((20261125 + round)) -max_len=256 -timeout=10 -print_final_stats=1 \
		-dict="$build/words" -artifact_prefix="$build/finding-" \
		-max_total_time=$((left < 120 ? left : 120)) "$build/kept" >"$build/log" 2>&1 || found=1
	answers=$((answers + $(sed -n 's/^stat::number_of_executed_units: *//p' "$build/log" | grep . || echo 0)))
	round=$((round + 1))
	spent
	echo "$round: $answers answers in $((used - begun)) s" >>"$build/rounds"
done
echo "reading.guided_answers = $answers answers"
echo "reading.guided_seconds = $((used - begun)) s of processor time"
echo "reading.guided_findings = $found findings"
if [ $found = 1 ]; then
	tail -40 "$build/log" >&2
	echo "what was typed: $build/finding-*" >&2
	exit 1
fi
if [ -n "${HALFSPLIT_SOAK_KEEP:-}" ]; then
	"$build/fuzz" -merge=1 "$build/least" "$build/kept" >/dev/null 2>&1
	"$HALFSPLIT_BUILD/tests/soak_reading" hex "$build/least"/* | sort >"$HALFSPLIT_SOAK_KEEP"
fi
