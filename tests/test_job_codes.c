/* Lamp codes as answers: typed as number, words, letters or strokes, they are the outcome of that
 * code.  The invented table of the four-cylinder demonstration machine. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "job/job.h"
#include "fixture.h"

static struct kn_knowledge *kn;
static struct job *job;

static int set_up(void **state)
{
	const char *root = getenv("HALFSPLIT_ROOT");
	struct hs_err err = { 0 };
	struct job_event began = { .kind = JOB_BEGAN };
	char path[4096];

	(void)state;
	snprintf(path, sizeof path, "%s/trees", root ? root : ".");
	kn = kn_load(path, "four", &err);
	if (!kn) {
		fprintf(stderr, "%s:%d: %s\n", err.file, err.line, err.text);
		return -1;
	}
	job = job_new(kn);
	began.field[0] = kn->machine;
	began.field[1] = kn->digest;
	began.field[2] = "fault-blink";
	return job_add(job, &began, &err);
}

static int tear_down(void **state)
{
	(void)state;
	job_close(job);
	kn_free(kn);
	return 0;
}

static enum job_status typed(const char *text, struct job_understood *u, struct hs_err *err)
{
	struct job_answer a = { .check = kn_check_by_id(kn, "lamp-code"), .place = KN_NONE, .text = text };

	return job_understand(job, &a, u, err);
}

static void means(const char *text, const char *outcome)
{
	struct job_understood u;
	struct hs_err err = { 0 };

	if (typed(text, &u, &err) != JOB_OK)
		fail_msg("\"%s\": %s", text, err.text);
	assert_string_equal(kn->checks[kn_check_by_id(kn, "lamp-code")].outcomes[u.outcome].id, outcome);
}

static void refused(const char *text, const char *because)
{
	struct job_understood u;
	struct hs_err err = { 0 };

	assert_int_equal(typed(text, &u, &err), JOB_REFUSED);
	if (!strstr(err.text, because))
		fail_msg("\"%s\" refused with \"%s\"", text, err.text);
}

static void test_flashes_are_the_outcome_of_their_code(void **state)
{
	static const char *const same[] = { "23", "2 long 3 short", "LLSSS", "- - . . .", "23 23", "code-23",
					    "LLSSS / LLSSS" };

	(void)state;
	for (size_t i = 0; i < sizeof same / sizeof *same; i++)
		means(same[i], "code-23");
}

/* A code is not the number of an outcome in the list: 11 is not the eleventh. */
static void test_a_code_goes_before_the_number_in_the_list(void **state)
{
	(void)state;
	means("11", "code-11");
	means("13", "code-13");
	means("15", "code-15");
	means("1", "code-11"); /* no code: the first of the list */
	means("none", "none");
}

static void test_what_is_no_code_of_this_lamp_is_refused(void **state)
{
	(void)state;
	refused("29", "not an answer here");
	refused("6 long 1 short", "five long");
	refused("13 / 14", "differ: 13 and 14");
	refused("13 49", "49 is no code of this machine");
	refused("blue", "not an answer here");
}

static void test_reading_twice_is_told(void **state)
{
	struct job_understood u;

	(void)state;
	assert_int_equal(typed("23 23", &u, NULL), JOB_OK);
	assert_non_null(strstr(u.echo, "read twice alike"));
	assert_int_equal(typed("23", &u, NULL), JOB_OK);
	assert_null(strstr(u.echo, "twice"));
}

/* ---- several, stored, doubtful ------------------------------------------------------------------- */

/* A job of its own with these answers, "check=text" each; the caller closes it. */
static struct job *with(const char *const *answers, int n)
{
	static const struct job_event blinks = { .kind = JOB_COMPLAINED, .field = { "fault-blink" } };
	struct job *j = job_copy(job);
	struct job_understood u;
	struct hs_err err = { 0 };

	assert_int_equal(job_add(j, &blinks, &err), 0);
	for (int i = 0; i < n; i++) {
		const char *equals = strchr(answers[i], '=');
		char id[64];
		struct job_answer a = { .place = KN_NONE, .text = equals + 1 };

		snprintf(id, sizeof id, "%.*s", (int)(equals - answers[i]), answers[i]);
		a.check = kn_check_by_id(kn, id);
		if (job_answer(j, &a, &u, &err) != JOB_OK)
			fail_msg("%s: %s", answers[i], err.text);
	}
	return j;
}

static double share_of(struct job *j, const char *mode)
{
	const struct job_view *v = job_view(j, NULL);
	int ref = kn_mode_by_ref(kn, mode);

	assert_non_null(v);
	assert_int_not_equal(ref, KN_NONE);
	return v->suspects->mode_now[ref];
}

/* Drill of the trade (common practice, no source): 13 and 41 together are the ground they share, not
 * two sensors. */
static void test_two_sensor_codes_together_are_the_shared_ground(void **state)
{
	static const char *const both[] = { "lamp-code=13 41 / 13 41" }, *const one[] = { "lamp-code=13 13" };
	struct job *two = with(both, 1), *alone = with(one, 1);

	(void)state;
	assert_true(share_of(two, "sensor-ground.high-resistance") > .5);
	assert_true(share_of(two, "sensor-ground.high-resistance") >
		    share_of(alone, "sensor-ground.high-resistance"));
	assert_true(share_of(two, "throttle-sensor.worn") < .3 * share_of(alone, "throttle-sensor.worn"));
	job_close(two);
	job_close(alone);
}

static void test_a_stored_code_counts_half(void **state)
{
	static const char *const active[] = { "lamp-code=23 23 active" }, *const stored[] = { "lamp-code=23 23 stored" };
	struct job *a = with(active, 1), *s = with(stored, 1);
	const struct job_view *va = job_view(a, NULL), *vs = job_view(s, NULL);

	(void)state;
	assert_int_equal(va->the_case.nevidence, vs->the_case.nevidence);
	fixture_near(vs->the_case.evidence[vs->the_case.nevidence - 1].exponent,
		     va->the_case.evidence[va->the_case.nevidence - 1].exponent / 2, 1e-12);
	assert_true(share_of(s, "heater.open") < share_of(a, "heater.open"));
	job_close(a);
	job_close(s);
}

/* Below 9.5 V while cranking the box invents codes, whichever was read first. */
static void test_codes_of_a_low_battery_count_nothing(void **state)
{
	static const char *const first[] = { "lamp-code=13 13", "battery-cranking=8.7" },
				*const last[] = { "battery-cranking=8.7", "lamp-code=13 13" },
				*const good[] = { "battery-cranking=10.4", "lamp-code=13 13" };
	const char *const *order[] = { first, last, good };

	(void)state;
	for (int i = 0; i < 3; i++) {
		struct job *j = with(order[i], 2);
		const struct job_view *v = job_view(j, NULL);

		for (int k = 0; k < v->nfindings; k++) {
			const struct job_finding *f = &v->findings[k];

			if (!f->understood.ncodes)
				continue;
			assert_int_equal(f->counts, i == 2);
			assert_int_equal(f->nevidence, i == 2);
			assert_true(i == 2 || strstr(f->why, "invents codes"));
		}
		job_close(j);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_flashes_are_the_outcome_of_their_code),
		cmocka_unit_test(test_a_code_goes_before_the_number_in_the_list),
		cmocka_unit_test(test_what_is_no_code_of_this_lamp_is_refused),
		cmocka_unit_test(test_reading_twice_is_told),
		cmocka_unit_test(test_two_sensor_codes_together_are_the_shared_ground),
		cmocka_unit_test(test_a_stored_code_counts_half),
		cmocka_unit_test(test_codes_of_a_low_battery_count_nothing),
	};

	return cmocka_run_group_tests(tests, set_up, tear_down);
}
