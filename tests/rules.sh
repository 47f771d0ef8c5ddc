#!/bin/sh
# Every arithmetic rule and fact of the trade through the prompt: `halfsplit work` on a pipe, and the
# prompt of a job where the rule lives in a check.  Rules 1 to 34 by their numbers; none may be missing.
# Worked numbers are common practice, no source; the air is ISO 2533, copper IEC 60028.
# shellcheck source=tests/cases.inc
. "${HALFSPLIT_ROOT:-.}/tests/cases.inc"

program=${HALFSPLIT_PROGRAM:-$root/build/halfsplit}
HALFSPLIT_TREES=$root/trees
COLUMNS=2000
XDG_STATE_HOME=$own/state
export HALFSPLIT_TREES COLUMNS XDG_STATE_HOME

# ---- sums: RULE | typed | what comes back ------------------------------------------------------------

cat >"$own/sums" <<'END'
1|leads 3.1 0.3|2.8 ohm
1|leads 0.2 0.3|halfsplit: These figures cannot be: leads SHOWN PROBES (what is left without the leads).
2|copper 3.36 72|2.79 ohm
3|copper 552 80|446.7 ohm
4|parallel 12 12|6 ohm
4|parallel 12 12 12 12|3 ohm
4|parallel 12 12 12 OL|4 ohm
4|branches 12 6.0|2 good: that many show 6.00 ohm
4|branches 12 12|1 good: that many show 12.00 ohm
4|leads 6.2 0.2|6 ohm
5|current 12 4 11.4|3.8 A
5|current 12 3 11.4|2.85 A
6|cold 23 20|cold: what it reads counts
6|cold 40 20|20 K warmer than the air: repeat cold
6|cold 40 20 90|cold: what it reads counts
7|secondary 24.8 5.1 5.0|14.7 kohm
8|ratio 1.30 5.02 0.12|0.2408
9|volts 0.235 4.94 0.01|1.169 V
10|sweep 1.18 2.52 4.00|worst -2.5 % off the line at point 2; never backward
10|sweep 1.18 2.0 1.9 3 4.00|worst -24.5 % off the line at point 3; goes backward 1 times, first at point 3
11|float 13.2 13.8|height 13.50 mm, twist 0.60 mm: more than 0.5 mm, straighten it
12|level 7 5|-2.222 mm
13|sea-level 860 1500|1031 kPa
14|balance 1010 1150|0.8783
15|wet-gain 700 860|22.9 %
16|leak-down 700 595|15.0 %
17|spread 205 210 198 207|12 mmHg
17|convert 1 kPa mmHg|7.500616 mmHg
17|convert 1 inHg mmHg|25.4 mmHg
18|sync 200 215 220 215|next: the screw between 1 and 2
18|sync 200 202 200 220|next: the screw between 3 and 4
18|sync 200 200 240 240|next: the middle screw, pair to pair
18|sync 200 202 201 203|next: nothing: it is balanced
19|drops 12.6 12.1 0.2 0.3|0.50 V in all, worst number 2; nothing missed
19|drops 12.6 12.1 0.2 0.1|0.30 V in all, worst number 1; 0.20 V missed: a stretch was left out
19|drop 0.42 3.5|0.12 ohm
20|drop 0.42 0.3|halfsplit: These figures cannot be: drop VOLT AMPERE (ohm of a joint from its drop under load).
21|parasitic 10 15|13.89 day
21|parasitic 10 2|104.2 day
22|sealed 12.65|75.0 %
22|sealed 12.35|50.0 %
22|sealed 12.0|25.0 %
23|cranking 20|9.6 V
23|cranking 10|9.4 V
23|cranking 0|9.2 V
23|cranking -7|8.9 V
23|cranking 2 9.3|inside: at least 9.24 V at 2 degC
23|cranking 20 9.3|outside: at least 9.60 V at 20 degC
24|charging 13.2 14.3|1.1 V lost on the way: the path, not the regulator
24|charging 13.0 13.1|low at the regulator too: alternator or regulator
25|star 0.62 0.61 0.63 0.2|a 0.220 ohm, b 0.200 ohm, c 0.210 ohm
25|star 0.62 OL OL 0.2|a not to be told, b not to be told, c open
26|alternator 44 3600 5000|61.11 V
27|turns 1 7/8 1/2|2 3/8 turns
27|turns 2 1/4 1/8|2 3/8 turns
28|seat 2 1/4 2 3/8|agree
28|seat 2 1/4 2 1/2|more than 1/8 apart: one was seated hard, count again
29|flow 200 30|400 mL/min
29|burnt 45|344.6 mL/min
29|dry 200 345 120|53.33 s
30|mixture 1000|5.0 %
30|mixture 1500|7.6 %
30|mixture 2000|10.3 %
30|mixture 2500|13.1 %
30|mixture 3000|16.1 %
30|jet 120 2000|114.2
31|ethanol 10|4.3 %
32|header 61 98 18|0.5375
33|economy 20 14|42.9 %
34|pickup 0.1|invalid tool: a plain meter averages short pulses away, whatever it shows; take a peak adaptor, and put its limit behind
34|pickup 0.9 0.8|0.9 V peak, enough
fact heaters|parallel 8 8|4 ohm
fact heaters|leads 12 4|8 ohm
fact heaters|branches 8 8|1 good: that many show 8.00 ohm
fact heaters|leads 8 4|4 ohm
fact heaters|branches 8 4|2 good: that many show 4.00 ohm
fact heaters|parallel 8 OL|8 ohm
fact solenoid|leads 16 4|12 ohm
fact solenoid|band 12 13 12|inside
fact solenoid|band 12 13 16|outside
fact sensor|band 4k 6k 5k25|inside
fact sensor|band 4k 6k 4.6k|inside
fact sensor|band 4k 6k 7k|outside
fact sensor|closed 650 750 730|inside
fact sensor|closed 650 750 940|190 ohm too high: move it first
fact sensor|closed 650 750 840|90 ohm too high: move it first
fact sensor|closed 650 750 830|80 ohm too high: move it first
fact sensor|closed 650 750 4k|3250 ohm too high: move it first
fact sensor|closed 650 750 2M|open: renew the sensor
fact sensor|closed 650 750 OL|open: renew the sensor
fact sensor|adjust 650 750 940 840 830|830: 80.0 too high. The last move took off 10.0. Next: about 4.0 times the last move, the same way.
fact sensor|adjust 650 750 940 840 830 730|730 is inside. The last move took off 100. Tighten it and read once more: tightening shifts it.
fact sensor|adjust 650 750 940 840 830 730 735 tight|735 is inside. Tight, and still inside: done.
fact sensor|track 4k 6k 0 1.25k 2.5k 3.75k 5k|0.00 kohm to 5.00 kohm, inside; worst 0.0 % off the line at point 1; never backward
fact sensor|track 4k 6k 0.73k 1.7k 2.67k 3.63k 4.6k|0.73 kohm to 4.60 kohm, inside; worst 0.1 % off the line at point 3; never backward
fact sensor|track 4k 6k 0.73k 1.7k 1.4k 3.6k 7k|0.73 kohm to 7.00 kohm, outside; worst -39.3 % off the line at point 3; goes backward 1 times, first at point 3
fact sensor|track 4k 6k 0.73k 1.7k OL 3.6k 4.6k|open at point 3: renew the sensor
fact screw|turns just under 2 1/2|2 1/2 turns
fact screw|seat just under 2 1/2 just under 2 1/2|agree
fact screw|seat just under 2 1/2 2 3/4|more than 1/8 apart: one was seated hard, count again
fact repeats|repeats 8.1 8.0 8.2|mean 8.1, u 0.058; +/- 0.25 in 95 of 100
fact bath|convert 60 C F|140 degF
END

cut -d'|' -f2 "$own/sums" | "$program" work >"$own/answers" 2>&1
same "one line out for each line in" "$(wc -l <"$own/sums")" "$(wc -l <"$own/answers")"
line=0
while IFS='|' read -r rule typed wanted; do
	line=$((line + 1))
	same "rule $rule: $typed" "$wanted" "$(sed -n "${line}p" "$own/answers")"
done <"$own/sums"
same "all 34 rules are there" "$(seq 34 | tr '\n' ' ')" \
	"$(cut -d'|' -f1 "$own/sums" | grep -v fact | sort -nu | tr '\n' ' ')"

# ---- checks in a job: RULE | typed | what it answers ---------------------------------------------------

cat >"$own/checks" <<'END'
13|tell altitude=1500|
13|tell compression=860 870 880 865|1: shown 860 kPa, taken as 1031 kPa
17|tell vacuum-spread=205 210 198 207|12 mmHg
32|tell air=18|
32|tell header-temperature=98 95 61 97|3: shown 61.00 degC, taken as 0.54 (
1|tell meter-leads=0.3|0.30 ohm
1|tell coil-primary@1+4=3.1|leads 0.30 ohm subtracted
4|tell heater-pair=6.3 12.3|b: shown 12.3 ohm, taken as 12.0 ohm (+/- 0.44): outside
3|tell pickup-resistance=OL|open: outside
8|tell sensor-closed-ratio=1.18/4.90|0.241
23|tell battery-cranking=10.2|inside
23|tell air=2|
23|tell battery-cranking=9.3|carried from 2 degC to 20 degC: 0.36 V added
23|tell air=20|
23|tell battery-cranking=9.3|(+/- 0.3): outside (at least 9.6 V)
fact screw|do open-mixture-screw@2|Note before the work: Mixture screw, carburettor 2
fact screw|just under 2 1/2|Note before the work: Idle stop
fact screw|settings|just under 2 1/2
fact bath|do clean-all-pilot-jets|Never petrol or another flammable liquid in a heated or ultrasonic
fact bath|can't|Note before the work: Order of small parts
fact bath|can't|Ultrasonic tank: litres of water in it
fact bath|3|90 mL of concentrate
fact bath|timer 20 bath|cycles of 20 minutes near 60 degC do for most; take them out and look
milli or mega|tell coil-primary@2+3=300 mohm|may be thousandths or millions of an ohm
END
{
	printf '%s\n' four will-not-idle all none "it-runs, rideable, engine-hot, battery-charged"
	cut -d'|' -f2 "$own/checks"
} >"$own/script"
"$program" --job-dir "$own/jobs" --script "$own/script" >"$own/said" 2>&1
while IFS='|' read -r rule typed wanted; do
	holds "in a job, rule $rule: $typed" grep -qF -- "$wanted" "$own/said"
done <"$own/checks"
finish
