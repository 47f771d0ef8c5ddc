#!/bin/sh
# The job that `make demo` plays: to its end, over a second fault, and nothing left behind.
. "${HALFSPLIT_ROOT:-.}/tests/cases.inc"

program=${HALFSPLIT_PROGRAM:-$root/build/halfsplit}
HALFSPLIT_TREES=$root/trees
COLUMNS=80
TMPDIR=$own/tmp
export HALFSPLIT_TREES COLUMNS TMPDIR
mkdir "$TMPDIR"
said=$own/said

cd / || exit 1
"$root/.ci/demo" "$program" >"$said" 2>"$own/errors" </dev/null
same "the demonstration ends well" 0 "$?"
same "and silently on standard error" "" "$(cat "$own/errors")"
same "and leaves nothing behind" "" "$(ls -A "$TMPDIR")"

# shellcheck disable=SC2317 # called by holds and fails
# Line ends count as blanks; each text stands behind the one before.
in_order() {
	tr -s ' \n' '  ' <"$said" | awk -v wanted="$1" '{
		n = split(wanted, text, "[|]")
		for (i = 1; i <= n; i++) {
			at = index($0, text[i])
			if (at == 0) {
				print "missing behind what stands above it: " text[i]
				exit 1
			}
			$0 = substr($0, at + length(text[i]))
		}
	}'
}
holds "answers are shown as typed" in_order '): flooding |): why |): overflow-pipe 3 |> 5.0 5,2 1.4 4.9 '
holds "from the complaint over a second fault to the proof" in_order "$(printf '%s|' \
	'Complaint: Fuel overflows (flooding).' \
	'DANGER: Loose fuel.' \
	'Taken back: "wet"' \
	'3: 1.4 mm (+/- 1): outside' \
	'Now: float needle worn (ring on its cone), carburettor 3' \
	'Noted as done.' \
	'6.0 kPa (+/- 0.99): outside' \
	'not as it should be after the work' \
	'Now: O-ring of the needle seat hard or cut (fuel passes round a good needle), carburettor 3' \
	'Noted as done.' \
	'0.40 kPa (+/- 0.6): inside')Closed: proven"
holds "and then the job sheet" in_order "$(printf '%s|' \
	'Closed: proven' \
	'JOB SHEET four-' \
	'State: closed: proven' \
	'DONE: Renew float needle and seat as a pair, carburettor 3.' \
	'DONE: Renew the O-ring of the needle seat, carburettor 3.')Complaint repeated: yes, and it is gone."
fails "texts in the wrong order would be seen" in_order 'Closed: proven|Complaint: Fuel overflows'

# A program that ends badly must not look like a demonstration.
printf '#!/bin/sh\nexit 3\n' >"$own/broken"
chmod +x "$own/broken"
same "a failing program fails the demonstration" 3 \
	"$("$root/.ci/demo" "$own/broken" >/dev/null 2>&1; echo $?)"
finish
