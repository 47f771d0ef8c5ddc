/* What would decide a verdict that is too close to say.  Worked by hand from the largest standard
 * uncertainty that decides: distance to the limit over 1.644854 (JCGM 106 table 1, 95 %). */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "reading/settle.h"
#include "fixture.h"

#define SURE_AT 1.644854

static struct rd_setup at_least(double low, double repeatability)
{
	struct rd_setup s;

	rd_setup_init(&s);
	s.unit = RD_OHM;
	s.low = low;
	s.repeatability = repeatability;
	return s;
}

static struct rd_settle settle(const struct rd_setup *s, const char *text, struct rd_result *r)
{
	struct rd_settle out;
	struct hs_err err = { 0 };

	if (rd_read(s, text, r, &err) != RD_OK)
		fail_msg("\"%s\": %s", text, err.text);
	rd_settle(s, r, &out);
	return out;
}

static void test_nothing_is_to_do_when_it_is_decided(void **state)
{
	struct rd_setup s = at_least(10, .1);
	struct rd_result r;

	(void)state;
	assert_int_equal(settle(&s, "10.5", &r).by, RD_SETTLED);
	assert_int_equal(settle(&s, "9.5", &r).by, RD_SETTLED);
	assert_int_equal(settle(&s, "OL", &r).by, RD_SETTLED);
	s.low = -INFINITY;
	assert_int_equal(settle(&s, "10", &r).by, RD_SETTLED);
}

/* 0.1 from the limit with u 0.1: needed 0.1 / 1.645 = 0.0608, so 2.7 -> 3 readings. */
static void test_repeats_settle_when_scatter_is_what_is_unknown(void **state)
{
	struct rd_setup s = at_least(10, .1);
	struct rd_result r;
	struct rd_settle by = settle(&s, "10.1", &r);

	(void)state;
	assert_int_equal(r.verdict, RD_TOO_CLOSE);
	fixture_near(by.u_needed, .1 / SURE_AT, 1e-6);
	assert_int_equal(by.by, RD_SETTLE_REPEAT);
	assert_int_equal(by.readings, 3);
	assert_string_equal(r.note[r.nnotes - 1], "to settle it: 3 readings in all, typed together");
	/* and so they do, when the mean stays */
	assert_int_equal(settle(&s, "10.1 10.1 10.1", &r).by, RD_SETTLED);
	assert_int_equal(r.verdict, RD_INSIDE);
	assert_int_equal(settle(&s, "10.1 10.1", &r).by, RD_SETTLE_REPEAT);
	assert_int_equal(settle(&s, "10.1 10.1", &r).readings, 3);
	assert_int_equal(settle(&s, "9.9", &r).readings, 3); /* the same below */
}

static void test_repeats_do_not_settle_when_too_many_are_needed(void **state)
{
	struct rd_setup s = at_least(10, .1);
	struct rd_result r;
	struct rd_settle by = settle(&s, "10.04", &r);

	(void)state;
	assert_int_equal(by.by, RD_SETTLE_NOT); /* 17 readings */
	assert_int_equal(by.readings, 0);
	assert_int_equal(settle(&s, "10.0", &r).by, RD_SETTLE_NOT);
	fixture_near(settle(&s, "10.0", &r).u_needed, 0, 0);
}

static void test_leads_settle_when_they_were_waived(void **state)
{
	struct rd_setup s = at_least(1, .02);
	struct rd_result r;
	struct rd_settle by;

	(void)state;
	s.through_leads = s.leads_waived = true;
	by = settle(&s, "1.20", &r);
	assert_int_equal(by.by, RD_SETTLE_LEADS);
	assert_string_equal(by.words, "to settle it: measure the leads");
	s.leads = .1;
	s.leads_u = .1;
	by = settle(&s, "1.20", &r);
	assert_int_equal(by.by, RD_SETTLE_LEADS);
	assert_non_null(strstr(by.words, "at the part"));
}

/* 5.2 ohm at 35 +/- 20 degC: the temperature alone makes u 0.36 of 4.91. */
static void test_temperature_settles_when_it_is_what_is_unknown(void **state)
{
	struct rd_setup s = at_least(4.5, .01);
	struct rd_result r;

	(void)state;
	s.part_degC = 35;
	s.part_degC_u = 20;
	s.reference_degC = 20;
	assert_int_equal(settle(&s, "5.20", &r).by, RD_SETTLE_TEMPERATURE);
}

/* 12.0 by a cheap meter: 1.5 % + 5 x 0.1 = 0.68, u 0.393; by a good one 0.5 % + 2 x 0.01: u 0.046. */
static void test_better_instrument_settles_when_this_one_is_coarse(void **state)
{
	struct rd_setup s = at_least(11.5, 0);
	struct rd_result r;
	struct rd_settle by;

	(void)state;
	s.instrument = rd_instrument_by_id("cheap-meter");
	by = settle(&s, "12.0", &r);
	assert_int_equal(by.by, RD_SETTLE_INSTRUMENT);
	assert_string_equal(by.instrument->id, "good-meter");
	assert_int_equal(by.readings, 1);
	s.instrument = by.instrument;
	assert_int_equal(settle(&s, "12.00", &r).by, RD_SETTLED);
	s.low = 11.95; /* nearer than the good one can tell */
	s.instrument = rd_instrument_by_id("cheap-meter");
	assert_int_equal(settle(&s, "12.0", &r).by, RD_SETTLE_NOT);
}

/* What is promised holds: the same figure with the promised number of readings is decided. */
static void test_promised_readings_decide(void **state)
{
	int promised = 0;

	(void)state;
	for (int i = 1; i < 60; i++) {
		struct rd_setup s = at_least(10, .1);
		struct rd_result r;
		struct rd_settle by;
		char one[16], all[400] = "";

		s.instrument = &(struct rd_instrument){ "m", "m", .1, 1, .01 };
		snprintf(one, sizeof one, "%.2f ", 9.7 + .01 * i);
		by = settle(&s, one, &r);
		if (by.by != RD_SETTLE_REPEAT)
			continue;
		promised++;
		assert_true(by.readings > 1 && by.readings <= RD_SETTLE_READINGS_MAX);
		for (int n = 0; n < by.readings; n++)
			strcat(all, one);
		assert_int_equal(settle(&s, all, &r).by, RD_SETTLED);
		all[strlen(all) - strlen(one)] = '\0';
		assert_int_equal(settle(&s, all, &r).by, RD_SETTLE_REPEAT); /* one fewer does not */
	}
	assert_true(promised > 5);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_nothing_is_to_do_when_it_is_decided),
		cmocka_unit_test(test_repeats_settle_when_scatter_is_what_is_unknown),
		cmocka_unit_test(test_repeats_do_not_settle_when_too_many_are_needed),
		cmocka_unit_test(test_leads_settle_when_they_were_waived),
		cmocka_unit_test(test_temperature_settles_when_it_is_what_is_unknown),
		cmocka_unit_test(test_better_instrument_settles_when_this_one_is_coarse),
		cmocka_unit_test(test_promised_readings_decide),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
