/* Figures of manuals, as they are typed. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <cmocka.h>

#include "reading/figure.h"

static struct rd_figure good(enum rd_unit unit, const char *typed)
{
	struct hs_err err = {0};
	struct rd_figure f;

	if (rd_figure_parse(unit, typed, &f, &err) != 0)
		fail_msg("%s: %s", typed, err.text);
	return f;
}

static void is(enum rd_unit unit, const char *typed, double nominal, double low, double high)
{
	struct rd_figure f = good(unit, typed);

	if (isnan(nominal))
		assert_true(isnan(f.nominal));
	else
		assert_true(fabs(f.nominal - nominal) < 1e-9);
	assert_true(f.low == low || fabs(f.low - low) < 1e-9);
	assert_true(f.high == high || fabs(f.high - high) < 1e-9);
}

static void test_figure_when_nominal_and_tolerance(void **state)
{
	(void)state;
	is(RD_OHM, "2.8 +- .3", 2.8, 2.5, 3.1);
	is(RD_OHM, "2.8 +/- 0.3 ohm", 2.8, 2.5, 3.1);
	is(RD_OHM, "2.8 \xc2\xb1 0.3", 2.8, 2.5, 3.1);
	is(RD_OHM, "14.5 kohm +- 2 kohm", 14500, 12500, 16500);
	is(RD_OHM, "14.5 +- 2 kohm", 14500, 12500, 16500);
	is(RD_OHM, "200 ohm +- 10 %", 200, 180, 220);
}

static void test_figure_when_band_or_limit(void **state)
{
	(void)state;
	is(RD_OHM, "2.5 to 3.1", NAN, 2.5, 3.1);
	is(RD_OHM, "2.5-3.1 ohm", NAN, 2.5, 3.1);
	is(RD_OHM, "2.5 - 3.1 kohm", NAN, 2500, 3100);
	is(RD_RPM, "1000 to 1200 rpm", NAN, 1000, 1200);
	is(RD_KPA, "at least 9 bar", NAN, 900, INFINITY);
	is(RD_KPA, "> 900", NAN, 900, INFINITY);
	is(RD_KPA, "900 or more", NAN, 900, INFINITY);
	is(RD_MILLIAMPERE, "at most 2", NAN, -INFINITY, 2);
	is(RD_MILLIAMPERE, "max 2 mA", NAN, -INFINITY, 2);
	is(RD_DEGC, "-5 to 5", NAN, -5, 5);
}

static void test_figure_when_no_tolerance_is_typed(void **state)
{
	struct rd_figure f = good(RD_MM, "13.5 mm");

	(void)state;
	assert_true(f.assumed);
	assert_true(fabs(f.low - 12.15) < 1e-9 && fabs(f.high - 14.85) < 1e-9);
	assert_false(good(RD_MM, "13.5 +- 1").assumed);
}

static void test_figure_when_temperature_is_said(void **state)
{
	struct rd_figure f = good(RD_OHM, "2.8 +- .3 ohm at 68 degF");

	(void)state;
	assert_true(fabs(f.at_degC - 20) < 1e-9);
	assert_true(isnan(good(RD_OHM, "2.8").at_degC));
	assert_true(isnan(good(RD_KPA, "at least 900").at_degC));
}

static void test_figure_when_not_understood(void **state)
{
	static const char *const wrong[] = {"", "some", "3 to", "5 to 3", "at least", "2 at least 3",
					    "open", "2.8 +- -1", "1:3 2:4", "2.8 V", "about 3", "2.8 at noon"};
	struct rd_figure f;

	(void)state;
	for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
		struct hs_err err = {0};
		if (rd_figure_parse(RD_OHM, wrong[i], &f, &err) == 0)
			fail_msg("%s was taken", wrong[i]);
		assert_true(err.text[0]);
	}
}

static void test_figure_when_written_and_read_again(void **state)
{
	static const char *const typed[] = {"2.8 +- 0.3 ohm at 20 degC", "2.5 to 3.1 ohm", "at least 900 ohm",
					    "at most 2 ohm", "2.8 ohm"};

	(void)state;
	for (size_t i = 0; i < sizeof typed / sizeof *typed; i++) {
		struct rd_figure f = good(RD_OHM, typed[i]), again;
		struct text t = {0};
		rd_figure_format(&t, &f, RD_OHM);
		again = good(RD_OHM, text_str(&t));
		assert_true(again.low == f.low || fabs(again.low - f.low) < 1e-9);
		assert_true(again.high == f.high || fabs(again.high - f.high) < 1e-9);
		assert_true(isnan(again.at_degC) == isnan(f.at_degC));
		text_free(&t);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_figure_when_nominal_and_tolerance),
		cmocka_unit_test(test_figure_when_band_or_limit),
		cmocka_unit_test(test_figure_when_no_tolerance_is_typed),
		cmocka_unit_test(test_figure_when_temperature_is_said),
		cmocka_unit_test(test_figure_when_not_understood),
		cmocka_unit_test(test_figure_when_written_and_read_again),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
