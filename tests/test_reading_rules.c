/* The arithmetic of the workshop, rule by rule: each worked by hand with the figures of the trade
 * (common practice, no source) unless a standard is named beside it. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "reading/air.h"
#include "reading/battery.h"
#include "reading/circuit.h"
#include "reading/engine.h"
#include "reading/fuel.h"
#include "reading/reading.h"
#include "reading/sensor.h"
#include "reading/turns.h"
#include "fixture.h"

static struct rd_setup banded(enum rd_unit unit, double low, double high)
{
	struct rd_setup s;

	rd_setup_init(&s);
	s.unit = unit;
	s.low = low;
	s.high = high;
	return s;
}

static struct rd_result good(const struct rd_setup *s, const char *text)
{
	struct rd_result r;
	struct hs_err err = { 0 };

	if (rd_read(s, text, &r, &err) != RD_OK)
		fail_msg("\"%s\": %s", text, err.text);
	return r;
}

static struct rd_setup four(struct rd_setup s, enum rd_derive derive)
{
	static const char *const name[] = { "1", "2", "3", "4" };

	s.derive = derive;
	for (s.nplaces = 0; s.nplaces < 4; s.nplaces++)
		s.places[s.nplaces] = name[s.nplaces];
	return s;
}

/* ---- resistance ------------------------------------------------------------------------------ */

static void test_01_leads_are_subtracted_once(void **state)
{
	struct rd_setup s = banded(RD_OHM, 2.5, 3.1);
	struct rd_result r;
	struct hs_err err = { 0 };

	(void)state;
	s.through_leads = true;
	s.leads = .3;
	r = good(&s, "3.1");
	fixture_near(r.value, 2.8, 1e-12);
	assert_int_equal(r.verdict, RD_INSIDE);
	fixture_near(good(&s, "3.1-0.3").value, 2.8, 1e-12); /* never twice */
	assert_int_equal(rd_read(&s, "0.1", &r, &err), RD_REFUSED); /* less than the leads alone */
}

/* IEC 60028: R20 = RT / (1 + 0.00393 (T - 20)). */
static void test_02_copper_is_carried_to_20_degrees(void **state)
{
	struct rd_setup s = banded(RD_OHM, 2.5, 3.1);
	struct rd_result r;

	(void)state;
	assert_int_equal(good(&s, "3.36").verdict, RD_OUTSIDE);
	s.part_degC = 72;
	s.reference_degC = 20;
	r = good(&s, "3.36");
	fixture_near(r.value, 3.36 / 1.2044, 5e-4);
	assert_int_equal(r.verdict, RD_INSIDE);
}

static void test_03_hot_pickup_is_judged_cold_but_open_stays_open(void **state)
{
	struct rd_setup s = banded(RD_OHM, 380, 500);
	struct rd_result r;

	(void)state;
	s.part_degC = 80;
	s.reference_degC = 20;
	r = good(&s, "552");
	fixture_near(r.value, 447, .5);
	assert_int_equal(r.verdict, RD_INSIDE);
	assert_int_equal(good(&s, "OL").verdict, RD_OUTSIDE);
}

static void test_04_heaters_in_parallel_are_counted(void **state)
{
	static const double all[] = { INFINITY, 12, 6, 4, 3 };
	struct rd_amount two[] = { { 100, 1 }, { 150, 2 } };
	double top = 0;

	(void)state;
	for (int n = 4; n > 0; n--) {
		fixture_near(rd_branches(12, n), all[n], 1e-12);
		assert_int_equal(rd_branches_good(12, all[n]), n);
		assert_true(all[n] * .875 > top); /* bands of 12.5 % do not touch */
		top = all[n] * 1.125;
	}
	assert_int_equal(rd_branches_good(12, 6.2 - .2), 2);
	assert_int_equal(rd_branches_good(12, 12), 1); /* through a shared pin: one of two is open */
	assert_int_equal(rd_branches_good(12, INFINITY), 0);
	/* JCGM 100 5.1.2; python3-uncertainties and OpenTURNS: 60, u 0.481663783 */
	fixture_near(rd_parallel(two, 2).value, 60, 1e-12);
	fixture_near(rd_parallel(two, 2).u, .481663783, 1e-9);
}

static void test_04_a_third_branch_and_an_open_one(void **state)
{
	struct rd_amount three[] = { { 100, 1 }, { 150, 2 }, { 330, 5 } };
	struct rd_amount one[] = { { INFINITY, 0 }, { 12, .5 } };

	(void)state;
	fixture_near(rd_parallel(three, 3).value, 50.769230769, 1e-9); /* python3-uncertainties */
	fixture_near(rd_parallel(three, 3).u, .364600385, 1e-9);
	fixture_near(rd_parallel(one, 2).value, 12, 1e-12);
	fixture_near(rd_parallel(one, 2).u, .5, 1e-12);
	assert_true(isinf(rd_parallel(one, 1).value));
}

static void test_04_a_masked_branch_is_brought_out(void **state)
{
	struct rd_amount r = rd_unmask((struct rd_amount){ 60, .3 }, (struct rd_amount){ 150, 1.5 });

	(void)state;
	fixture_near(r.value, 100, 1e-12); /* python3-uncertainties and OpenTURNS: u 1.067187373 */
	fixture_near(r.u, 1.067187373, 1e-9);
	assert_true(isinf(rd_unmask((struct rd_amount){ 12, 0 }, (struct rd_amount){ 12, 0 }).value));
}

static void test_05_heater_current_goes_with_the_volts(void **state)
{
	(void)state;
	fixture_near(rd_branches_current(12, 4, 11.4), 3.8, 1e-12);
	fixture_near(rd_branches_current(12, 3, 11.4), 2.85, 1e-12);
}

static void test_06_an_element_counts_only_cold(void **state)
{
	(void)state;
	assert_true(rd_reads_cold(23, 20));
	assert_false(rd_reads_cold(24, 20));
	assert_true(rd_cold_by_time(60));
	assert_false(rd_cold_by_time(59));
}

static void test_07_secondary_is_found_behind_its_caps(void **state)
{
	struct rd_amount r = rd_without_caps((struct rd_amount){ 24.8, .2 }, (struct rd_amount){ 5.1, .1 },
					     (struct rd_amount){ 5.0, .1 });

	(void)state;
	fixture_near(r.value, 14.7, 1e-12);
	fixture_near(r.u, sqrt(.04 + .01 + .01), 1e-12);
}

/* ---- sensor ---------------------------------------------------------------------------------- */

static struct rd_amount exact(double v) { return (struct rd_amount){ v, 0 }; }

static void test_08_sensor_is_judged_against_its_own_supply_and_ground(void **state)
{
	struct rd_amount r, more;
	struct hs_err err = { 0 };

	(void)state;
	assert_int_equal(rd_sensor_ratio(exact(1.30), exact(5.02), exact(.12), &r, &err), 0);
	fixture_near(r.value, 1.18 / 4.90, 1e-12);
	assert_true(r.value > .22 && r.value < .25);   /* passes */
	assert_true(1.30 / 5.02 > .25);                /* raw it would have failed */
	/* a gain 1 % high in all three changes nothing */
	assert_int_equal(rd_sensor_ratio(exact(1.313), exact(5.0702), exact(.1212), &more, &err), 0);
	fixture_near(more.value, r.value, 1e-12);
	assert_int_equal(rd_sensor_ratio(exact(1), exact(.1), exact(.1), &r, &err), -1);
	assert_non_null(strstr(err.text, "not above the ground"));
}

/* By differences: the first-order u agrees with moving each input by its u (JCGM 100 5.1.4). */
static void test_08_ratio_carries_its_uncertainty(void **state)
{
	struct rd_amount r, moved[3];
	double d = .01;

	(void)state;
	rd_sensor_ratio((struct rd_amount){ 1.3, d }, (struct rd_amount){ 5.02, d },
			(struct rd_amount){ .12, d }, &r, NULL);
	rd_sensor_ratio(exact(1.3 + d), exact(5.02), exact(.12), &moved[0], NULL);
	rd_sensor_ratio(exact(1.3), exact(5.02 + d), exact(.12), &moved[1], NULL);
	rd_sensor_ratio(exact(1.3), exact(5.02), exact(.12 + d), &moved[2], NULL);
	fixture_near(r.u, hypot(hypot(moved[0].value - r.value, moved[1].value - r.value),
			   moved[2].value - r.value), 1e-5);
}

static void test_09_closed_setting_in_volts(void **state)
{
	(void)state;
	fixture_near(rd_sensor_volts(.235, 4.94, .01), 1.169, 5e-4);
}

static void test_10_sweep_is_compared_with_a_line(void **state)
{
	const double even[] = { 1.18, 2.52, 4.00 }, back[] = { 1.0, 2.0, 1.9, 3.0 }, at[] = { 0, 10, 15, 40 };
	struct rd_sweep sw;
	struct hs_err err = { 0 };

	(void)state;
	assert_int_equal(rd_sweep(even, NULL, 3, &sw, &err), 0);
	fixture_near(sw.worst_percent, -2.5, .05);
	assert_int_equal(sw.worst, 1);
	assert_int_equal(sw.reversals, 0);
	assert_int_equal(rd_sweep(back, at, 4, &sw, &err), 0);
	assert_int_equal(sw.reversals, 1);
	assert_int_equal(sw.first_reversal, 2);
	fixture_near(sw.worst_percent, 25, 1e-9); /* 2.0 where the line has 1.5, of 2.0 */
	assert_int_equal(rd_sweep(even, NULL, 2, &sw, &err), -1);
}

static void test_10_a_falling_sweep_reverses_upward(void **state)
{
	const double falling[] = { 4.0, 3.0, 3.1, 1.0 };
	struct rd_sweep sw;

	(void)state;
	assert_int_equal(rd_sweep(falling, NULL, 4, &sw, NULL), 0);
	assert_int_equal(sw.reversals, 1);
	assert_int_equal(sw.first_reversal, 2);
}

/* ---- float and fuel -------------------------------------------------------------------------- */

static void test_11_both_lobes_of_a_float_count(void **state)
{
	struct rd_float f = rd_float(13.2, 13.8, 13.0, 14.0);

	(void)state;
	fixture_near(f.height, 13.5, 1e-12);
	fixture_near(f.twist, .6, 1e-12);
	assert_true(f.height_good);
	assert_false(f.twist_good);
	assert_true(rd_float(13.2, 13.7, 13, 14).twist_good);
}

static void test_12_a_low_level_wants_less_height(void **state)
{
	(void)state;
	fixture_near(rd_float_height_change(7.0, 5.0), -2.2, .03);
	assert_true(rd_float_height_change(3.0, 5.0) > 0); /* fuel too high: set the float higher */
}

/* ---- compression ----------------------------------------------------------------------------- */

/* ISO 2533: factor 0.835 at 1 500 m. */
static void test_13_compression_is_carried_to_sea_level(void **state)
{
	struct rd_setup s = banded(RD_KPA, 950, INFINITY);

	(void)state;
	assert_int_equal(good(&s, "860").verdict, RD_OUTSIDE);
	s.altitude_m = 1500;
	fixture_near(good(&s, "860").value, 1030, 1);
	fixture_near(rd_air_compression_at_sea_level(860, 1500), good(&s, "860").value, .01);
	assert_int_equal(good(&s, "860").verdict, RD_INSIDE);
}

/* ISO 2533: pressure in kPa, density in kg/m3. */
static void test_13_atmosphere_agrees_with_iso2533(void **state)
{
	static const struct { double metre, kpa, delta, rho, sigma; } table[] = {
		{ 0, 101.325, 1, 1.225, 1 },
		{ 500, 95.4608, .942125, 1.167269, .952873 },
		{ 1000, 89.8746, .886993, 1.111643, .907463 },
		{ 1500, 84.5560, .834503, 1.058067, .863728 },
		{ 2000, 79.4952, .784557, 1.006490, .821625 },
		{ 2500, 74.6825, .737059, .956859, .781109 },
		{ 3000, 70.1085, .691917, .909122, .742140 },
	};

	(void)state;
	for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
		fixture_near(rd_air_pressure(table[i].metre), table[i].kpa, 1e-4);
		fixture_near(rd_air_pressure_ratio(table[i].metre), table[i].delta, 1e-6);
		fixture_near(rd_air_density(table[i].metre), table[i].rho, 1.5e-6);
		fixture_near(rd_air_density_ratio(table[i].metre), table[i].sigma, 1e-6);
	}
}

static void test_14_balance_is_least_over_most(void **state)
{
	const double kpa[] = { 1010, 1150, 1100, 1120 };
	struct rd_setup s = four(banded(RD_KPA, .85, INFINITY), RD_LEAST_OVER_MOST);

	(void)state;
	fixture_near(rd_balance_ratio(kpa, 4), 1010.0 / 1150, 1e-12);
	fixture_near(rd_balance_ratio(kpa, 4), .878, 5e-4);
	assert_int_equal(good(&s, "1010 1150 1100 1120").verdict, RD_INSIDE);
	assert_false(rd_compression_counts(249, true));
	assert_false(rd_compression_counts(300, false));
	assert_true(rd_compression_counts(250, true));
}

static void test_15_wet_gain(void **state)
{
	(void)state;
	fixture_near(rd_wet_gain_percent(700, 860), 23, .2);
}

/* FAA AC 43.13-1B 8-14: 80 psi in, 60 held is 25 %; 72 is 10 %. */
static void test_16_leak_down(void **state)
{
	(void)state;
	fixture_near(rd_leakdown_percent(700, 595), 15, 1e-9);
	fixture_near(rd_leakdown_percent(80, 60), 25, 1e-9);
	fixture_near(rd_leakdown_percent(80, 72), 10, 1e-9);
	fixture_near(rd_leakdown_percent(100, 91), 9, 1e-9);
}

/* ---- balance of carburettors ----------------------------------------------------------------- */

/* NIST SP 811 for the units. */
static void test_17_vacuum_spread_is_most_less_least(void **state)
{
	const double mmhg[] = { 205, 210, 198, 207 };
	struct rd_setup s = four(banded(RD_MMHG, -INFINITY, 15), RD_SPREAD);

	(void)state;
	fixture_near(rd_spread(mmhg, 4), 12, 1e-12);
	assert_int_equal(good(&s, "205 210 198 207").verdict, RD_INSIDE);
	fixture_near(rd_unit_convert(1, RD_KPA, RD_MMHG), 7.50, 5e-3);
	fixture_near(rd_unit_convert(1, RD_INHG, RD_MMHG), 25.4, 1e-4);
}

static void test_18_pairs_are_balanced_before_the_middle(void **state)
{
	(void)state;
	assert_int_equal(rd_sync_next((double[]){ 200, 230, 200, 230 }, 15), RD_SYNC_12);
	assert_int_equal(rd_sync_next((double[]){ 200, 210, 200, 230 }, 15), RD_SYNC_34);
	assert_int_equal(rd_sync_next((double[]){ 200, 210, 225, 230 }, 15), RD_SYNC_MIDDLE);
	assert_int_equal(rd_sync_next((double[]){ 205, 210, 198, 207 }, 15), RD_SYNC_DONE);
	assert_true(rd_sync_stuck(30, 28, 3));  /* turned, and nothing moved: stop */
	assert_false(rd_sync_stuck(30, 12, 3));
}

/* ---- electrics ------------------------------------------------------------------------------- */

static void test_19_drops_add_up_or_one_was_missed(void **state)
{
	const double v[] = { .12, .42, .06 };
	struct rd_drops d = rd_drops(v, 3, 12.40, 11.80);
	double ohm;

	(void)state;
	fixture_near(d.sum, .6, 1e-12);
	assert_true(d.complete);
	assert_int_equal(d.worst, 1);
	assert_false(rd_drops(v, 3, 12.40, 11.74).complete);
	fixture_near(rd_drops(v, 3, 12.40, 11.74).missed, .06, 1e-12);
	assert_int_equal(rd_drop_ohm(.42, 3.5, &ohm, NULL), 0);
	fixture_near(ohm, .12, 1e-12);
}

static void test_20_a_drop_without_load_says_nothing(void **state)
{
	struct hs_err err = { 0 };
	double ohm = -1;

	(void)state;
	assert_int_equal(rd_drop_ohm(0, .4, &ohm, &err), -1);
	assert_non_null(strstr(err.text, "load"));
	assert_int_equal(rd_drop_ohm(.1, .5, &ohm, NULL), 0);
}

static void test_21_days_to_half_charge(void **state)
{
	(void)state;
	fixture_near(rd_parasitic_days(10, 15), 13.9, .05);
	fixture_near(rd_parasitic_days(10, 2), 104, .5);
	assert_true(isinf(rd_parasitic_days(10, 0)));
}

static void test_22_rest_volts_tell_the_charge(void **state)
{
	static const double table[][2] = { { 12.85, 1 }, { 12.65, .75 }, { 12.35, .5 }, { 12.0, .25 } };

	(void)state;
	for (int i = 0; i < 4; i++) {
		fixture_near(rd_battery_charge(table[i][0], RD_BATTERY_SEALED), table[i][1], 1e-9);
		fixture_near(rd_battery_charge(table[i][0] - .175, RD_BATTERY_FLOODED), table[i][1], 1e-9);
	}
	fixture_near(rd_battery_charge(14, RD_BATTERY_SEALED), 1, 0);
	fixture_near(rd_battery_charge(9, RD_BATTERY_SEALED), 0, 0);
	fixture_near(rd_battery_charge_u(12.75, .02, RD_BATTERY_SEALED), .025, 1e-9);
	assert_true(rd_battery_rested(2, false));
	assert_true(rd_battery_rested(.2, true));
	assert_false(rd_battery_rested(1.9, false));
}

static void test_23_cranking_limit_falls_in_the_cold(void **state)
{
	(void)state;
	fixture_near(rd_cranking_limit(20), 9.6, 1e-9);
	fixture_near(rd_cranking_limit(10), 9.4, 1e-9);
	fixture_near(rd_cranking_limit(0), 9.2, 1e-9);
	fixture_near(rd_cranking_limit(-7), 8.9, 1e-9);
	assert_true(9.3 >= rd_cranking_limit(2));  /* passes */
	assert_false(9.3 >= rd_cranking_limit(20)); /* fails */
}

static void test_24_charging_lost_on_the_way_is_the_paths(void **state)
{
	double lost = 0;

	(void)state;
	assert_int_equal(rd_charging(13.2, 14.3, 13.8, 14.8, &lost), RD_CHARGING_PATH);
	fixture_near(lost, 1.1, 1e-9);
	assert_int_equal(rd_charging(13.2, 13.3, 13.8, 14.8, NULL), RD_CHARGING_SOURCE);
	assert_int_equal(rd_charging(14.2, 14.3, 13.8, 14.8, NULL), RD_CHARGING_GOOD);
	assert_int_equal(rd_charging(15.2, 15.3, 13.8, 14.8, NULL), RD_CHARGING_HIGH);
}

static void test_25_star_gives_up_its_phases(void **state)
{
	const double pairs[] = { .62, .61, .63 };
	struct rd_star star;

	(void)state;
	assert_int_equal(rd_star(pairs, .2, .01, 0, &star, NULL), 0);
	fixture_near(star.pair[0], .42, 1e-12);
	fixture_near(star.pair[1], .41, 1e-12);
	fixture_near(star.pair[2], .43, 1e-12);
	assert_int_equal(star.open, RD_STAR_WHOLE);
	fixture_near(star.phase[0], .22, 1e-12); /* (ab + ca - bc) / 2 */
	fixture_near(star.phase[0] + star.phase[1], .42, 1e-12);
	fixture_near(star.phase[1] + star.phase[2], .41, 1e-12);
	fixture_near(star.phase[2] + star.phase[0], .43, 1e-12);
	fixture_near(star.u_phase, sqrt(3) * .01 / 2, 1e-12);
}

static void test_25_an_open_phase_opens_two_pairs(void **state)
{
	static const double open[3][3] = { { INFINITY, .6, INFINITY }, { INFINITY, INFINITY, .6 },
					   { .6, INFINITY, INFINITY } };
	const double alone[] = { INFINITY, .6, .6 }, none[] = { INFINITY, INFINITY, INFINITY };
	const double absurd[] = { .4, 2.0, .4 };
	struct rd_star star;
	struct hs_err err = { 0 };

	(void)state;
	for (int phase = 0; phase < 3; phase++) {
		assert_int_equal(rd_star(open[phase], .2, .01, 0, &star, NULL), 0);
		assert_int_equal(star.open, phase);
		assert_true(isnan(star.phase[phase]));
	}
	assert_int_equal(rd_star(none, .2, .01, 0, &star, NULL), 0);
	assert_int_equal(star.open, RD_STAR_SEVERAL);
	assert_int_equal(rd_star(alone, .2, .01, 0, &star, &err), -1);
	assert_non_null(strstr(err.text, "One pair of three"));
	assert_int_equal(rd_star(absurd, .2, .01, 0, &star, NULL), -1);
}

static void test_26_alternator_volts_go_with_speed(void **state)
{
	(void)state;
	fixture_near(rd_alternator_at(44, 3600, 5000), 61, .2);
}

/* ---- screws ---------------------------------------------------------------------------------- */

static void test_27_turns_are_kept_in_eighths(void **state)
{
	static const struct { int eighths; const char *shown; } as[] = {
		{ 19, "2 3/8" }, { 18, "2 1/4" }, { 1, "1/8" }, { -1, "-1/8" }, { 20, "2 1/2" }, { 0, "0" },
		{ 16, "2" }, { -12, "-1 1/2" },
	};
	struct rd_setup s = banded(RD_TURN, -INFINITY, INFINITY);

	(void)state;
	assert_int_equal(rd_eighths(good(&s, "2 3/8").value), 19);
	assert_int_equal(rd_eighths(good(&s, "2 3/8").value) - rd_eighths(good(&s, "2 1/4").value), 1);
	assert_int_equal(rd_eighths(good(&s, "1 7/8").value) + 4, 19); /* trimmed half a turn out */
	for (size_t i = 0; i < sizeof as / sizeof *as; i++) {
		struct text t = { 0 };

		rd_eighths_format(&t, as[i].eighths);
		assert_string_equal(text_str(&t), as[i].shown);
		text_free(&t);
	}
	assert_int_equal(rd_screw_richer(RD_SCREW_FUEL, 2), 1);
	assert_int_equal(rd_screw_richer(RD_SCREW_AIR, 2), -1);
	assert_int_equal(rd_screw_richer(RD_SCREW_AIR, -2), 1);
	assert_int_equal(rd_screw_richer(RD_SCREW_AIR, 0), 0);
}

static void test_28_counts_to_lightly_seated_agree(void **state)
{
	(void)state;
	assert_true(rd_seat_counts_agree(18, 19));
	assert_false(rd_seat_counts_agree(18, 20));
}

/* ---- flow, mixture, consumption -------------------------------------------------------------- */

static void test_29_flow_against_what_is_burnt(void **state)
{
	(void)state;
	fixture_near(rd_flow_per_minute(200, 30), 400, 1e-9);
	fixture_near(rd_flow_needed(45), 345, .5);
	fixture_near(rd_bowls_dry_s(200, 345, 120), 53, .5);
	assert_true(isinf(rd_bowls_dry_s(200, 345, 400)));
}

/* ISO 2533 densities, mixture by the orifice equation. */
static void test_30_mixture_gets_richer_with_height(void **state)
{
	static const double table[][2] = { { 1000, 5.0 }, { 1500, 7.6 }, { 2000, 10.3 }, { 2500, 13.1 },
					   { 3000, 16.1 } };

	(void)state;
	for (int i = 0; i < 5; i++)
		fixture_near(rd_air_richer_percent(table[i][0]), table[i][1], .06);
	fixture_near(rd_air_jet(120, 2000), 114, .3);
	fixture_near(rd_air_jet(100, 1500), 96.4, .05);
}

/* E10: 10 % by volume is the most EN 228 allows; ethanol 9.0, E10 14.0 to 14.1 in handbooks. */
static void test_31_ethanol_makes_leaner(void **state)
{
	(void)state;
	fixture_near(rd_air_stoichiometric(0), 14.7, 1e-9);
	fixture_near(rd_air_stoichiometric(10), 14.1, .05);
	fixture_near(rd_air_stoichiometric(100), 9.0, 1e-9);
	fixture_near(rd_air_leaner_percent(10), 4, .5);
}

static void test_32_headers_are_compared_above_ambient(void **state)
{
	struct rd_setup s = four(banded(RD_DEGC, .75, INFINITY), RD_EACH_OVER_HIGHEST);
	struct rd_result r;

	(void)state;
	fixture_near(rd_header_ratio(61, 98, 18), .54, 5e-3);
	s.ambient = 18;
	r = good(&s, "98 61 97 95");
	fixture_near(r.at[1].value, 43.0 / 80, 1e-12);
	assert_int_equal(r.at[1].verdict, RD_OUTSIDE);
	assert_int_equal(r.at[0].verdict, RD_INSIDE);
}

static void test_33_economy_is_compared_in_litres(void **state)
{
	(void)state;
	fixture_near(rd_economy_litres(20), 5.0, 1e-9);
	fixture_near(rd_economy_litres(14), 7.14, 5e-3);
	fixture_near(rd_economy_change_percent(20, 14), 43, .2);
}

static void test_34_a_plain_meter_does_not_condemn_a_pickup(void **state)
{
	(void)state;
	assert_false(rd_sees_pulses(rd_instrument_by_id("good-meter")));
	assert_false(rd_sees_pulses(NULL));
	assert_true(rd_sees_pulses(rd_instrument_by_id("peak-adaptor")));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_01_leads_are_subtracted_once),
		cmocka_unit_test(test_02_copper_is_carried_to_20_degrees),
		cmocka_unit_test(test_03_hot_pickup_is_judged_cold_but_open_stays_open),
		cmocka_unit_test(test_04_heaters_in_parallel_are_counted),
		cmocka_unit_test(test_04_a_third_branch_and_an_open_one),
		cmocka_unit_test(test_04_a_masked_branch_is_brought_out),
		cmocka_unit_test(test_05_heater_current_goes_with_the_volts),
		cmocka_unit_test(test_06_an_element_counts_only_cold),
		cmocka_unit_test(test_07_secondary_is_found_behind_its_caps),
		cmocka_unit_test(test_08_sensor_is_judged_against_its_own_supply_and_ground),
		cmocka_unit_test(test_08_ratio_carries_its_uncertainty),
		cmocka_unit_test(test_09_closed_setting_in_volts),
		cmocka_unit_test(test_10_sweep_is_compared_with_a_line),
		cmocka_unit_test(test_10_a_falling_sweep_reverses_upward),
		cmocka_unit_test(test_11_both_lobes_of_a_float_count),
		cmocka_unit_test(test_12_a_low_level_wants_less_height),
		cmocka_unit_test(test_13_compression_is_carried_to_sea_level),
		cmocka_unit_test(test_13_atmosphere_agrees_with_iso2533),
		cmocka_unit_test(test_14_balance_is_least_over_most),
		cmocka_unit_test(test_15_wet_gain),
		cmocka_unit_test(test_16_leak_down),
		cmocka_unit_test(test_17_vacuum_spread_is_most_less_least),
		cmocka_unit_test(test_18_pairs_are_balanced_before_the_middle),
		cmocka_unit_test(test_19_drops_add_up_or_one_was_missed),
		cmocka_unit_test(test_20_a_drop_without_load_says_nothing),
		cmocka_unit_test(test_21_days_to_half_charge),
		cmocka_unit_test(test_22_rest_volts_tell_the_charge),
		cmocka_unit_test(test_23_cranking_limit_falls_in_the_cold),
		cmocka_unit_test(test_24_charging_lost_on_the_way_is_the_paths),
		cmocka_unit_test(test_25_star_gives_up_its_phases),
		cmocka_unit_test(test_25_an_open_phase_opens_two_pairs),
		cmocka_unit_test(test_26_alternator_volts_go_with_speed),
		cmocka_unit_test(test_27_turns_are_kept_in_eighths),
		cmocka_unit_test(test_28_counts_to_lightly_seated_agree),
		cmocka_unit_test(test_29_flow_against_what_is_burnt),
		cmocka_unit_test(test_30_mixture_gets_richer_with_height),
		cmocka_unit_test(test_31_ethanol_makes_leaner),
		cmocka_unit_test(test_32_headers_are_compared_above_ambient),
		cmocka_unit_test(test_33_economy_is_compared_in_litres),
		cmocka_unit_test(test_34_a_plain_meter_does_not_condemn_a_pickup),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
