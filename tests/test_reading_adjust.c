/* A line through points, and finding a value again with its help. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "reading/adjust.h"
#include "reading/line.h"
#include "fixture.h"

#define COUNT(a) ((int)(sizeof(a) / sizeof *(a)))

/* JCGM 100:2008 H.3, calibration of a thermometer: its eleven points and its results. */
static void test_line_agrees_with_jcgm100_h3(void **state)
{
	static const double t[] = { 21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503,
				    26.010, 26.511 };
	static const double b[] = { -.171, -.169, -.166, -.159, -.164, -.165, -.156, -.157, -.159, -.161,
				    -.160 };
	double x[COUNT(t)];
	struct rd_line line;

	(void)state;
	for (int i = 0; i < COUNT(t); i++)
		x[i] = t[i] - 20;
	assert_true(rd_line_fit(x, b, COUNT(t), 0, &line));
	fixture_near(line.at0, -.17120379, 1e-8);
	fixture_near(line.u_at0, .0028776, 1e-7);
	fixture_near(line.slope, .0021826977, 1e-10);
	fixture_near(line.u_slope, .00066793877, 1e-10);
	fixture_near(line.r, -.930, 5e-4);
	fixture_near(rd_line_at(&line, 10), -.1494, 5e-5);
	fixture_near(rd_line_u_at(&line, 10), .0041, 5e-5);
}

static void test_no_line_when_all_points_are_at_one_place(void **state)
{
	struct rd_line line;

	(void)state;
	assert_false(rd_line_fit((double[]){ 1, 1 }, (double[]){ 2, 3 }, 2, 0, &line));
	assert_false(rd_line_fit((double[]){ 1 }, (double[]){ 2 }, 1, 0, &line));
}

/* The trade's own figures (common practice, no source): a throttle sensor's closed position, 650 to
 * 750 ohm; 730 is inside; after refitting it read 940, then 840, 830: still high. */
static const struct rd_aim closed = { 650, 750, NAN, RD_OHM, 5, NULL, 0 };

static struct rd_adjust after(const struct rd_aim *aim, const struct rd_adjusted *step, int n)
{
	struct rd_adjust a;

	assert_int_equal(rd_adjust(aim, step, n, &a, NULL), 0);
	return a;
}

static void test_sensor_is_still_high_when_moved_twice(void **state)
{
	static const struct rd_adjusted step[] = { { 940, 0, false }, { 840, NAN, false }, { 830, NAN, false } };
	struct rd_adjust a = after(&closed, step, 1);

	(void)state;
	assert_int_equal(a.verdict, RD_OUTSIDE);
	fixture_near(a.outside, 190, 1e-12);
	assert_true(isnan(a.move) && isnan(a.of_last)); /* nothing is known yet */
	a = after(&closed, step, 2);
	fixture_near(a.last_effect, -100, 1e-12);
	fixture_near(a.of_last, 1.4, 1e-12); /* 140 to the middle at 100 a move */
	a = after(&closed, step, 3);
	assert_int_equal(a.verdict, RD_OUTSIDE);
	fixture_near(a.outside, 80, 1e-12);
	assert_true(isnan(a.of_last)); /* 10 ohm is what two readings may differ by anyway */
}

static void test_730_is_tightened_and_read_once_more(void **state)
{
	static const struct rd_adjusted step[] = { { 830, 0, false }, { 730, NAN, false }, { 720, 0, true } };
	static const struct rd_adjusted moved[] = { { 830, 0, false }, { 730, NAN, false }, { 770, 0, true },
						    { 690, NAN, false } };
	struct rd_adjust a = after(&closed, step, 2);

	(void)state;
	assert_int_equal(a.next, RD_ADJUST_TIGHTEN);
	assert_int_equal(after(&closed, step, 3).next, RD_ADJUST_DONE);
	a = after(&closed, moved, 3); /* tightening took it out of the band */
	assert_int_equal(a.next, RD_ADJUST_MOVE);
	fixture_near(a.shift, 40, 1e-12);
	assert_int_equal(after(&closed, moved, 4).next, RD_ADJUST_TIGHTEN);
}

/* A screw: 40 rpm for a quarter turn, idle wanted at 1200 +/- 100 (an invented machine). */
static const struct rd_aim idle = { 1100, 1300, NAN, RD_RPM, 10, "turn", .25 };

static void test_next_move_is_what_is_missing_over_the_rate(void **state)
{
	static const struct rd_adjusted step[] = { { 1000, 0, false }, { 1040, .25, false }, { 1080, .25, false } };
	struct rd_adjust a = after(&idle, step, 3);

	(void)state;
	fixture_near(a.rate, 160, 1e-9);
	fixture_near(a.u_rate, 10 / sqrt(.125), 1e-9); /* JCGM 100 H.3: u over the root of the sum of squares */
	fixture_near(a.move, .75, 1e-9);
	fixture_near(a.outside, -20, 1e-9);
}

static void test_what_tightening_shifts_is_allowed_for(void **state)
{
	static const struct rd_adjusted step[] = { { 1000, 0, false }, { 1160, 1, false }, { 1060, 0, true },
						   { 1060, 0, false } };
	struct rd_adjust a = after(&idle, step, 4);

	(void)state;
	fixture_near(a.shift, -100, 1e-9);
	fixture_near(a.rate, 160, 20);
	assert_true(a.move > .9); /* 140 missing, and 100 more that tightening will take */
}

static void test_moves_that_do_nothing_are_called_stuck(void **state)
{
	static const struct rd_adjusted step[] = { { 1000, 0, false }, { 1003, .25, false }, { 998, .25, false } };

	(void)state;
	assert_int_equal(after(&idle, step, 2).next, RD_ADJUST_MOVE);
	assert_int_equal(after(&idle, step, 3).next, RD_ADJUST_STUCK);
}

/* Any straight thing is found within a few moves when the suggestions are followed. */
static void test_following_suggestions_comes_inside(void **state)
{
	(void)state;
	for (int rate = -400; rate <= 400; rate += 50) {
		struct rd_adjusted step[RD_ADJUST_MAX] = { { 2000, 0, false }, { 2000 + .25 * rate, .25, false } };
		int n = 2;
		struct rd_adjust a = after(&idle, step, n);

		if (rate == 0)
			continue;
		while (a.next == RD_ADJUST_MOVE && n < 20) {
			double move = isnan(a.move) ? .5 : a.move;

			step[n] = (struct rd_adjusted){ step[n - 1].value + rate * move, move, false };
			a = after(&idle, step, ++n);
		}
		assert_int_equal(a.next, RD_ADJUST_TIGHTEN);
		assert_true(n <= 12);
	}
}

static void test_advice_is_said_in_words(void **state)
{
	static const struct rd_adjusted step[] = { { 1000, 0, false }, { 1040, .25, false }, { 1080, .25, false } };
	struct rd_adjust a = after(&idle, step, 3);
	struct text t = { 0 };

	(void)state;
	rd_adjust_say(&t, &idle, &step[2], &a);
	assert_string_equal(text_str(&t), "1080 rpm: 20 rpm too low. The last move added 40 rpm (40 rpm for "
					  "0.25 turn). Next: 0.75 turn on.");
	text_free(&t);
}

static void test_no_band_and_no_readings_are_refused(void **state)
{
	struct rd_adjusted one = { 1, 0, false };
	struct rd_aim none = { -INFINITY, INFINITY, NAN, RD_OHM, 1, NULL, 0 };
	struct rd_adjust a;
	struct hs_err err = { 0 };

	(void)state;
	assert_int_equal(rd_adjust(&none, &one, 1, &a, &err), -1);
	assert_non_null(strstr(err.text, "no band"));
	err_clear(&err);
	assert_int_equal(rd_adjust(&idle, &one, 0, &a, &err), -1);
	assert_non_null(strstr(err.text, "readings are needed"));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_line_agrees_with_jcgm100_h3),
		cmocka_unit_test(test_no_line_when_all_points_are_at_one_place),
		cmocka_unit_test(test_sensor_is_still_high_when_moved_twice),
		cmocka_unit_test(test_730_is_tightened_and_read_once_more),
		cmocka_unit_test(test_next_move_is_what_is_missing_over_the_rate),
		cmocka_unit_test(test_what_tightening_shifts_is_allowed_for),
		cmocka_unit_test(test_moves_that_do_nothing_are_called_stuck),
		cmocka_unit_test(test_following_suggestions_comes_inside),
		cmocka_unit_test(test_advice_is_said_in_words),
		cmocka_unit_test(test_no_band_and_no_readings_are_refused),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
