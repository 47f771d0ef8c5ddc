/* Published tables: senders, platinum, copper, the air, timing, and the risks of a decision.  The
 * source stands beside each; "from memory" where it was not at hand. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>

#include "reading/air.h"
#include "reading/engine.h"
#include "reading/fuel.h"
#include "reading/normal.h"
#include "reading/propagate.h"
#include "reading/reading.h"
#include "reading/temperature.h"
#include "reading/timing.h"
#include "reading/work.h"
#include "fixture.h"

#define COUNT(a) (sizeof(a) / sizeof *(a))

/* ---- temperature ----------------------------------------------------------------------------- */

/* IEC 60539-1, the definition of B; 10 kohm, B 3950. */
static void test_sender_by_its_b_value(void **state)
{
	static const double table[][2] = { { 0, 33620.604 }, { 50, 3588.183 }, { 85, 1086.671 } };

	(void)state;
	for (size_t i = 0; i < COUNT(table); i++) {
		fixture_near(rd_ntc_ohm(10e3, 3950, table[i][0]), table[i][1], 1e-3);
		fixture_near(rd_ntc_degC(table[i][1], 10e3, 3950), table[i][0], 1e-5);
	}
	fixture_near(rd_ntc_b(10e3, 25, 1070, 85), 3977.5143, 1e-3);
}

/* A maker's published table of a 10 kohm sender; fitted at -30, 0 and 25 degC it gives the others. */
static void test_sender_fitted_at_three_points(void **state)
{
	const double ohm[] = { 144790, 30029, 10000 }, degC[] = { -30, 0, 25 };
	static const double others[][2] = { { -20, 82923 }, { -10, 49204 }, { 10, 18959 }, { 20, 12280 } };
	struct rd_steinhart s;

	(void)state;
	assert_int_equal(rd_steinhart_fit(ohm, degC, &s, NULL), 0);
	fixture_near(s.a / 9.58453332e-4, 1, 1e-7);
	fixture_near(s.b / 2.52052149e-4, 1, 1e-7);
	fixture_near(s.c / 9.48105083e-8, 1, 1e-6);
	for (size_t i = 0; i < COUNT(others); i++)
		fixture_near(rd_steinhart_degC(&s, others[i][1]), others[i][0], .07);
	assert_int_equal(rd_steinhart_fit((double[]){ 1e3, 1e3, 2e3 }, degC, &s, NULL), -1);
}

/* The widely used coefficients of a 10 kohm curve (from memory). */
static void test_sender_by_known_coefficients(void **state)
{
	const struct rd_steinhart s = { 1.129148e-3, 2.34125e-4, 8.76741e-8 };
	static const double table[][2] = { { 32650, .0002 }, { 19900, 10.0030 }, { 10000, 24.9997 },
					   { 3603, 49.9857 }, { 1752, 69.9930 } };

	(void)state;
	for (size_t i = 0; i < COUNT(table); i++)
		fixture_near(rd_steinhart_degC(&s, table[i][0]), table[i][1], 1e-3);
}

/* IEC 60751 (coefficients from memory). */
static void test_platinum(void **state)
{
	static const double table[][2] = { { -50, 80.3063 }, { 0, 100 }, { 50, 119.3971 }, { 100, 138.5055 },
					   { 200, 175.8560 } };

	(void)state;
	for (size_t i = 0; i < COUNT(table); i++)
		fixture_near(rd_platinum_ohm(table[i][0]), table[i][1], 1e-4);
}

/* Temperature rise by resistance, as test clauses for windings have it (234.5 for copper). */
static void test_copper_rise(void **state)
{
	(void)state;
	fixture_near(rd_copper_rise(1, 20, 1.25, 25), 58.625, 1e-9);
}

/* ---- air, engine ----------------------------------------------------------------------------- */

/* ISO 2533 and NIST SP 811: 20.00 inHg at sea level. */
static void test_vacuum_gauge_shows_less_high_up(void **state)
{
	static const double table[][2] = { { 500, 18.2683 }, { 1000, 16.6187 }, { 1500, 15.0481 },
					   { 2000, 13.5537 } };

	(void)state;
	for (size_t i = 0; i < COUNT(table); i++) {
		double kpa = rd_air_vacuum(rd_unit_convert(20, RD_INHG, RD_KPA), table[i][0]);

		fixture_near(rd_unit_convert(kpa, RD_KPA, RD_INHG), table[i][1], 1e-3);
	}
	/* the aviator's rule of 1 inHg for 1000 ft is within 0.11 of it at 3000 ft */
	fixture_near(rd_unit_convert(rd_air_pressure(3000 * .3048), RD_KPA, RD_INHG), 26.92, .11);
}

/* Definitions. */
static void test_timing_in_degrees_and_milliseconds(void **state)
{
	(void)state;
	fixture_near(rd_degrees_per_ms(1000), 6, 1e-9);
	fixture_near(rd_degrees_per_ms(5000), 30, 1e-9);
	fixture_near(27 / rd_degrees_per_ms(4500), 1, 1e-9);
	fixture_near(10 / rd_degrees_per_ms(1500), 1.111111, 1e-6);
}

/* Slider and crank, stroke 54, rod 105 (computed apart). */
static void test_piston_below_top(void **state)
{
	static const double table[][2] = { { 10, .51492 }, { 15, 1.15280 }, { 20, 2.03517 }, { 25, 3.15155 } };

	(void)state;
	for (size_t i = 0; i < COUNT(table); i++)
		fixture_near(rd_piston_below_top(54, 105, table[i][0]), table[i][1], 1e-5);
	fixture_near(rd_piston_below_top(54, 105, 180), 54, 1e-9);
}

/* Area by the square of the diameter; head by rho g h. */
static void test_jets_heads_and_shims(void **state)
{
	(void)state;
	fixture_near(rd_jet_area_percent(100, 105), 10.25, 1e-9);
	fixture_near(rd_jet_area_percent(110, 105), -8.884297521, 1e-9);
	fixture_near(rd_fuel_head(1, 740), 7.256921, 1e-6);
	fixture_near(rd_fuel_head(10, 740), 72.56921, 1e-5);
	fixture_near(rd_shim(2.45, .10, .15), 2.40, 1e-12);
}

/* ---- decisions ------------------------------------------------------------------------------- */

/* JCGM 106 clause 9: resistors N(1500, 0.12), measured with u 0.04, tolerance +/- 0.20.  Risks of a
 * wrong yes and a wrong no, by summing what rd_judge would say of each true value. */
static void risks(double accept, double *consumer, double *producer)
{
	const double u0 = .12, um = .04, tolerance = .20;
	const int steps = 40000;

	*consumer = *producer = 0;
	for (int i = 0; i < steps; i++) {
		double x = -1 + 2.0 * (i + .5) / steps, weight = normal_density(x / u0) / u0 * 2 / steps, p;

		rd_judge(-accept, accept, RD_NUMBER, x, um, &p); /* of a reading inside, given x */
		if (fabs(x) > tolerance)
			*consumer += weight * p;
		else
			*producer += weight * (1 - p);
	}
}

static void test_risks_agree_with_jcgm106(void **state)
{
	double consumer, producer;

	(void)state;
	fixture_near(normal_between(-.20 / .12, .20 / .12), .904419295, 1e-8);
	risks(.18, &consumer, &producer);
	fixture_near(consumer, .009878292, 2e-7);
	fixture_near(producer, .069026510, 2e-7);
	risks(.20, &consumer, &producer);
	fixture_near(consumer, .018942207, 2e-7);
	fixture_near(producer, .037207800, 2e-7);
}

/* ILAC-G8:09/2019: simple acceptance is wrong in at most half of the cases at the limit, a guard
 * band of U in at most 2.5 %; the others from a table of the normal distribution. */
static void test_guard_bands_agree_with_ilac_g8(void **state)
{
	static const double table[][2] = { { 0, .5 }, { 1, .158655254 }, { 1.645, .049985 }, { 1.96, .024998 },
					   { 2, .022750132 }, { 3, .001349898 } };

	(void)state;
	for (size_t i = 0; i < COUNT(table); i++) {
		double p;

		rd_judge(-INFINITY, 0, RD_NUMBER, -table[i][0], 1, &p);
		fixture_near(1 - p, table[i][1], 1e-6);
	}
}

/* JCGM 100 Table G.2 (from memory), full digits by scipy 1.10.1. */
static void test_student_agrees_with_jcgm100_g2(void **state)
{
	static const struct { int freedom; double t; } table[] = {
		{ 2, 4.302652730 }, { 4, 2.776445105 }, { 9, 2.262157163 }, { 16, 2.119905299 },
	};

	(void)state;
	for (size_t i = 0; i < COUNT(table); i++) {
		fixture_near(student_quantile(.95, table[i].freedom), table[i].t, 1e-9);
		fixture_near(student_within(table[i].t, table[i].freedom), .95, 1e-9);
	}
	fixture_near(student_quantile(.5, 1), 1, 1e-12); /* Cauchy: a quarter beyond 1 */
	fixture_near(student_quantile(.95, 100000), normal_quantile(.975), 1e-4);
}

/* JCGM 100 H.1.6 (from memory, recomputed): parts 25, 9.7, 2.9, 16.6 nm with 18, 25.6, 50 and 2 degrees of
 * freedom have 16 together, t of 99 % is 2.92, and 32 nm becomes 93 nm. */
static void test_freedom_agrees_with_jcgm100_h1(void **state)
{
	static const double u[] = { 25, 9.7, 2.9, 16.6 }, freedom[] = { 18, 25.6, 50, 2 };
	double together = rd_effective_freedom(u, freedom, 4);

	(void)state;
	fixture_near(together, 16.76, .005);
	fixture_near(student_quantile(.99, (int)together), 2.9208, .00005);
	fixture_near(32 * student_quantile(.99, (int)together), 93, .5);
	assert_true(isinf(rd_effective_freedom(u, (double[]){ INFINITY, INFINITY }, 2)));
}

/* IEC 60063: every E24 value is its own nearest, and 10^(i/24) rounded is not. */
static void test_preferred_values_agree_with_iec60063(void **state)
{
	static const int e24[] = { 10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68,
				   75, 82, 91 };

	(void)state;
	for (size_t i = 0; i < COUNT(e24); i++) {
		struct text t = { 0 };
		char line[40], want[40];

		snprintf(line, sizeof line, "preferred %d", e24[i]);
		snprintf(want, sizeof want, "%d ohm", e24[i]);
		assert_int_equal(rd_work(line, &t, NULL), 0);
		assert_string_equal(text_str(&t), want);
		text_free(&t);
	}
	assert_int_not_equal((int)lround(10 * pow(10, 10 / 24.)), 27); /* the series is no formula: 26.1 */
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_student_agrees_with_jcgm100_g2),
		cmocka_unit_test(test_freedom_agrees_with_jcgm100_h1),
		cmocka_unit_test(test_preferred_values_agree_with_iec60063),
		cmocka_unit_test(test_sender_by_its_b_value),
		cmocka_unit_test(test_sender_fitted_at_three_points),
		cmocka_unit_test(test_sender_by_known_coefficients),
		cmocka_unit_test(test_platinum),
		cmocka_unit_test(test_copper_rise),
		cmocka_unit_test(test_vacuum_gauge_shows_less_high_up),
		cmocka_unit_test(test_timing_in_degrees_and_milliseconds),
		cmocka_unit_test(test_piston_below_top),
		cmocka_unit_test(test_jets_heads_and_shims),
		cmocka_unit_test(test_risks_agree_with_jcgm106),
		cmocka_unit_test(test_guard_bands_agree_with_ilac_g8),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
