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
}

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
	fixture_near(rd_copper_rise(1, 20, 1.25, 25), 58.625, 1e-9); /* UL clause; by 235, IEC 60034-1: 58.75 */
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

/* Orifice equation: fuel over air goes with 1 / sqrt(density). The
 * jet for 1500 m has 0.929370 of the area (computed). */
static void test_mixture_by_the_orifice_equation(void **state)
{
	double high = 3000; /* nearest whole: 0.742140 */

	(void)state;
	fixture_near(rd_air_richer_percent(high), 100 * (1 / .861476 - 1), 1e-3);
	fixture_near(pow(rd_air_jet(100, 1500) / 100, 2), .929370, 1e-6);
	fixture_near(rd_air_jet(100, 1500), 96.4, .05);
}

/* A manual of injector application: 14.7 of petrol without, 13.9 to 14.13 with 10 % ethanol. */
static void test_stoichiometric_ratio_of_blends(void **state)
{
	(void)state;
	assert_true(rd_air_stoichiometric(0) > 14.2 && rd_air_stoichiometric(0) < 14.8);
	assert_true(rd_air_stoichiometric(10) > 13.9 && rd_air_stoichiometric(10) <= 14.13);
	fixture_near(rd_air_stoichiometric(100), 9.0, .1);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_half_widths_agree_with_jcgm100),
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
