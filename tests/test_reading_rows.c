/* The rows of published tables and standards that no other test has: half-widths, copper, atmosphere,
 * mixture.  "computed" where the number follows from the law named and was worked out apart. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>

#include "reading/air.h"
#include "reading/circuit.h"
#include "reading/normal.h"
#include "reading/propagate.h"
#include "reading/reading.h"
#include "reading/temperature.h"
#include "reading/work.h"
#include "fixture.h"

#define COUNT(a) (sizeof(a) / sizeof *(a))

static void gives(const char *line, const char *want)
{
	struct text t = { 0 };

	assert_int_equal(rd_work(line, &t, NULL), 0);
	assert_string_equal(text_str(&t), want);
	text_free(&t);
}

/* JCGM 100 4.3.7: a rectangle of half-width a has a / sqrt 3; one digit of resolution, half of it each way. */
static void test_half_widths_agree_with_jcgm100(void **state)
{
	const struct rd_instrument wide = { "w", "w", 0, 1, 1 };
	const struct rd_instrument ten = { "t", "t", 10, 0, 1e-9 };

	(void)state;
	fixture_near(rd_instrument_u(&ten, 10, 1e-9, 0), .577350269, 1e-9);
	fixture_near(rd_instrument_u(&wide, 5, 1, 0), .577350269, 1e-9);
	fixture_near(rd_instrument_u(rd_instrument_by_id("rule"), 5, 1, 0), .288675135, 1e-9); /* 1 / sqrt 12 */
}

static double difference(const double *x, int n) { return n == 2 ? x[0] - x[1] : NAN; }

/* JCGM 100 4.3.9, F.2.2.1: the difference of two figures with rectangles is a triangle of half-width a when
 * they are alike (a / sqrt 6), else a trapezoid: of 3 to 1, top half as wide as the foot, .456435465 a. */
static void test_differences_make_triangle_and_trapezoid(void **state)
{
	const double third = 1 / sqrt(3);
	const struct rd_amount alike[] = { { 5, .5 * third }, { 2, .5 * third } },
			       unlike[] = { { 5, .75 * third }, { 2, .25 * third } };

	(void)state;
	fixture_near(rd_propagate(difference, alike, 2, NULL).u, .408248290, 1e-9);
	fixture_near(rd_propagate(difference, unlike, 2, NULL).u, .456435465, 1e-9);
}

/* NIST TN 1297 4.4: limits that hold half of the values are 1 / 1.48 of a standard uncertainty away. */
static void test_even_odds_agree_with_tn1297(void **state)
{
	(void)state;
	fixture_near(1 / normal_quantile(.75), 1.48, .005);
	fixture_near(normal_between(-1 / 1.48, 1 / 1.48), .5, .002);
}

/* ---- units ------------------------------------------------------------------------------------------ */

/* NIST SP 811 App. B to its seven digits; kgf m and in lbf as GNU units 2.22 prints them. */
static void test_gauges_and_torque_agree_with_sp811(void **state)
{
	(void)state;
	gives("convert 1 kg/cm2 kPa", "98.0665 kPa");
	gives("convert 1000 ft-lbf Nm", "1355.818 Nm");
	gives("convert 1000 in-lb Nm", "112.9848 Nm");
	gives("convert 1 kgf-m Nm", "9.80665 Nm");
	gives("convert 1000 inH2O kPa", "249.0889 kPa");
	gives("convert 1000mmH2O kPa", "9.80665 kPa");
	fixture_near(rd_unit_convert(1, RD_FOOT_POUND, RD_NEWTON_METRE), 1.35581794833, 1e-11);
	fixture_near(rd_unit_convert(1, RD_INCH_POUND, RD_NEWTON_METRE), .112984829028, 1e-12);
	fixture_near(rd_unit_convert(1, RD_INH2O, RD_KPA), .24908891, 1e-12);
	assert_false(rd_unit_convertible(RD_NEWTON_METRE, RD_KGF_PER_CM2));
}

/* Inches of mercury are the conventional ones, not those at 32 or 60 degF (3386.38 and 3376.85 Pa); a torr is
 * not a mmHg in the seventh digit and is refused rather than taken for one. */
static void test_units_that_look_alike_are_kept_apart(void **state)
{
	double pascal = 1000 * rd_unit_convert(1, RD_INHG, RD_KPA);
	struct text t = { 0 };
	struct hs_err err = { 0 };

	(void)state;
	assert_true(fabs(pascal - 3386.38) > .005 && fabs(pascal - 3376.85) > 9);
	fixture_near(1000 * rd_unit_convert(1, RD_MMHG, RD_KPA), 133.322387, 1e-6);
	assert_true(1000 * rd_unit_convert(1, RD_MMHG, RD_KPA) - 133.322368421 > 1e-5); /* the torr */
	assert_int_equal(rd_work("convert 1 torr kPa", &t, &err), -1);
	assert_int_equal(rd_work("convert 1 gal mL", &t, &err), -1); /* US or imperial: nobody knows */
	text_free(&t);
}

/* ---- resistances, air ------------------------------------------------------------------------------- */

/* EURAMET/EA-4/02 S9 (from memory, recomputed): half-widths 0.05 and 0.011 V at 100 V have u 0.030 V. */
static void test_handheld_budget_agrees_with_ea402(void **state)
{
	const struct rd_instrument m = { "m", "m", 0, 1, .05 };
	double source = .011 / sqrt(3);

	(void)state;
	fixture_near(rd_instrument_u(&m, 100, .05, source), .02956, .00001);
}

/* JCGM 100 4.2: s of 1203 1198 1201 1205 1200 is 2.7019, s / sqrt 5 is 1.2083 (computed). */
static void test_repeats_are_summed_up_by_the_prompt(void **state)
{
	(void)state;
	gives("repeats 1203 1198 1201 1205 1200", "mean 1201.4, u 1.2; +/- 3.4 in 95 of 100");
}

/* A textbook exercise: (4 +/- 0.8) beside (4 +/- 0.4) is 2, ends 1.694117647 and 2.295652174; root sum of
 * squares of the two shares 0.2236. */
static void test_worst_ends_of_a_pair(void **state)
{
	const struct rd_amount low[] = { { 3.2, 0 }, { 3.6, 0 } }, high[] = { { 4.8, 0 }, { 4.4, 0 } },
			       middle[] = { { 4, .8 }, { 4, .4 } };

	(void)state;
	fixture_near(rd_parallel(low, 2).value, 1.694117647, 1e-9);
	fixture_near(rd_parallel(high, 2).value, 2.295652174, 1e-9);
	fixture_near(rd_parallel(middle, 2).value, 2, 1e-12);
	fixture_near(rd_parallel(middle, 2).u, .223606798, 1e-9);
}

/* IEC 60028 as worked on a page of cable engineering: 0.1 ohm at 20 degC is 0.11179 at 50 by 0.00393; by
 * 234.5 + t 0.111788. */
static void test_copper_agrees_with_iec60028(void **state)
{
	(void)state;
	gives("copper 0.1 20 50", "0.1118 ohm");
	fixture_near(rd_copper_rise(1, 20, 1.25, 25), 58.625, 1e-9); /* UL clause */
	assert_true(fabs(rd_copper_rise(1, 20, 1.25, 25) / 58.75 - 1) < .0022); /* by 235, IEC 60034-1 from memory */
	gives("copper 1 25 200", "1.674 ohm"); /* the last row of a published table of factors */
}

/* ISO 2533 beside a printed table of the US standard atmosphere: 5000 ft 12.228 psia, 1000 ft 14.175. */
static void test_air_agrees_with_printed_feet(void **state)
{
	static const double table[][2] = { { 1000, 14.175 }, { 5000, 12.228 } };

	(void)state;
	for (size_t i = 0; i < COUNT(table); i++)
		fixture_near(rd_unit_convert(rd_air_pressure(table[i][0] * .3048), RD_KPA, RD_PSI), table[i][1], .003);
	fixture_near(rd_air_density(5000 * .3048), 20.48e-4 * 515.378818, 1e-3); /* slug/ft3 */
}

/* Polytropic compression p (CR^n - 1): the gauge goes with the air; CR 9, n 1.3 (computed). */
static void test_cranking_pressure_goes_with_the_air(void **state)
{
	static const double table[][2] = { { 0, 1661.59 }, { 1000, 1473.82 }, { 2000, 1303.61 }, { 3000, 1149.68 } };

	(void)state;
	for (size_t i = 0; i < COUNT(table); i++) {
		fixture_near(rd_air_pressure(table[i][0]) * (pow(9, 1.3) - 1), table[i][1], .01);
		fixture_near(rd_air_compression_at_sea_level(table[i][1], table[i][0]), 1661.59, .02);
	}
}

/* Orifice equation: fuel over air goes with 1 / sqrt(density). The jet for 1500 m has 0.929370 of the area
 * (computed). Air of 0.75 of its density, as in a derivation on a public page: fuel 0.8660, 15.470 % richer. */
static void test_mixture_by_the_orifice_equation(void **state)
{
	double high = 3000; /* nearest whole: 0.742140 */
	double three_quarters = 2897.5637891374; /* metre, by ISO 2533, worked out apart */

	(void)state;
	fixture_near(rd_air_richer_percent(high), 100 * (1 / .861476 - 1), 1e-3);
	fixture_near(rd_air_density_ratio(three_quarters), .75, 1e-9);
	fixture_near(rd_air_richer_percent(three_quarters), 15.470, .0005);
	fixture_near(pow(rd_air_jet(100, three_quarters) / 100, 2), .8660, .00005);
	fixture_near(pow(rd_air_jet(100, 1500) / 100, 2), .929370, 1e-6);
	fixture_near(rd_air_jet(100, 1500), 96.4, .05);
}

/* A manual of injector application: 14.7 of petrol without, 13.9 to 14.13 with 10 % ethanol. */
static void test_stoichiometric_ratio_of_blends(void **state)
{
	(void)state;
	assert_true(rd_air_stoichiometric(0) > 14.2 && rd_air_stoichiometric(0) < 14.8);
	assert_true(rd_air_stoichiometric(10) > 13.9 && rd_air_stoichiometric(10) <= 14.13);
	fixture_near(rd_air_stoichiometric(100), 9.005, .02);
}

/* Air for fuel by counting atoms, carbon 12.011, hydrogen 1.008, oxygen 15.999, air 28.9647 with 20.946 % of
 * oxygen: petrol CH1.87 takes 14.604 and CH1.75 14.431, iso-octane 15.132, ethanol 9.005 (Heywood's equation,
 * from memory, recomputed). Blends mix by mass; 0.745 and 0.789 kg/L. */
static void test_blends_agree_with_the_atoms(void **state)
{
	static const struct { double ethanol, needs, leaner; } blend[] = {
		{ 0, 14.604, 0 },       { 5, 14.308, 2.066 },   { 10, 14.015, 4.206 }, { 20, 13.432, 8.726 },
		{ 50, 11.724, 24.563 }, { 85, 9.805, 48.949 },  { 100, 9.005, 62.177 },
	};

	(void)state;
	assert_true(rd_air_stoichiometric(0) > 14.431 && rd_air_stoichiometric(0) < 15.132);
	for (size_t i = 0; i < COUNT(blend); i++) {
		fixture_near(rd_air_stoichiometric(blend[i].ethanol) / blend[i].needs, 1, .007);
		fixture_near((1 + rd_air_leaner_percent(blend[i].ethanol) / 100) / (1 + blend[i].leaner / 100), 1, .008);
	}
}

/* The air ratio by its definition, 14.7 for petrol without ethanol. */
static void test_air_ratio_is_over_one_when_lean(void **state)
{
	(void)state;
	fixture_near(rd_air_ratio(13.2, 0), .897959, 1e-6);
	fixture_near(rd_air_ratio(16.17, 0), 1.1, 1e-9);
	gives("air-ratio 16.17", "1.1");
	gives("air-ratio 13.2", "0.898");
	gives("air-ratio 14.1 10", "1");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_half_widths_agree_with_jcgm100),
		cmocka_unit_test(test_differences_make_triangle_and_trapezoid),
		cmocka_unit_test(test_even_odds_agree_with_tn1297),
		cmocka_unit_test(test_gauges_and_torque_agree_with_sp811),
		cmocka_unit_test(test_units_that_look_alike_are_kept_apart),
		cmocka_unit_test(test_blends_agree_with_the_atoms),
		cmocka_unit_test(test_air_ratio_is_over_one_when_lean),
		cmocka_unit_test(test_handheld_budget_agrees_with_ea402),
		cmocka_unit_test(test_repeats_are_summed_up_by_the_prompt),
		cmocka_unit_test(test_worst_ends_of_a_pair),
		cmocka_unit_test(test_copper_agrees_with_iec60028),
		cmocka_unit_test(test_air_agrees_with_printed_feet),
		cmocka_unit_test(test_cranking_pressure_goes_with_the_air),
		cmocka_unit_test(test_mixture_by_the_orifice_equation),
		cmocka_unit_test(test_stoichiometric_ratio_of_blends),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
