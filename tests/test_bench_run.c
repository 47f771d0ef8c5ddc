/* The bench run: what belongs to it, in which order, and what comes of it.
 *
 * The order - what needs least opened first, and deposits looked at before anything is cleaned - is
 * common practice, no source. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

#include "base/mem.h"
#include "report/report.h"
#include "fixture.h"

static struct kn_knowledge *kn;

static int set_up(void **state)
{
	(void)state;
	kn = fixture_trees("trees", "twin");
	return kn ? 0 : -1;
}

static int tear_down(void **state)
{
	(void)state;
	kn_free(kn);
	return 0;
}

static struct job *begun(void)
{
	struct job *j = job_new(kn);

	fixture_event(j, JOB_BEGAN, kn->machine, kn->digest, "bench");
	fixture_event(j, JOB_TOLD, "circumstance:heater-cold", "yes", NULL);
	fixture_event(j, JOB_ACCESS, JOB_BENCH, "open", NULL);
	return j;
}

static bool in_subtree(int access)
{
	for (; access != KN_NONE; access = kn->accesses[access].parent)
		if (strcmp(kn->accesses[access].id, JOB_BENCH) == 0)
			return true;
	return false;
}

static void test_run_has_what_the_bench_allows(void **state)
{
	static const char *const wanted[] = { "float-height", "seat-hold", "needle-tip", "heater-alone",
		"solenoid-resistance", "sensor-track", "sensor-closed-resistance", "mixture-screw-tip",
		"passage-spray", "pilot-jet-bore", "joint-pipe-soap" };
	struct job *j = begun();
	struct hs_err err = { 0 };
	int *list, n = job_bench_checks(j, &list, &err), expected = 0;

	(void)state;
	for (int c = 0; c < kn->nchecks; c++) {
		const struct kn_check *k = &kn->checks[c];
		bool quiet = k->energy == KN_ENERGY_NONE && !k->needs_engine;

		expected += k->offered && k->kind != KN_SYMPTOM && quiet &&
			    (in_subtree(k->access) || k->on_bench);
	}
	assert_int_equal(n, expected);
	for (size_t w = 0; w < sizeof wanted / sizeof *wanted; w++) {
		bool there = false;

		for (int i = 0; i < n; i++)
			there = there || strcmp(kn->checks[list[i]].id, wanted[w]) == 0;
		if (!there)
			fail_msg("%s is missing", wanted[w]);
	}
	mem_free(list);
	job_close(j);
}

static void test_run_without_tools_has_only_what_needs_none(void **state)
{
	struct job *j = begun();
	struct hs_err err = { 0 };
	int *list, n;

	(void)state;
	fixture_event(j, JOB_TOLD, "tool:multimeter", "no", NULL);
	n = job_bench_checks(j, &list, &err);
	assert_true(n > 5);
	for (int i = 0; i < n; i++)
		assert_int_equal(kn->checks[list[i]].tools, 0);
	mem_free(list);
	job_close(j);
}

/* What is as it should be; the exceptions are the two that are not. */
static const char *truth(const struct kn_check *c)
{
	static const struct { const char *check, *answer; } readings[] = {
		{ "float-height", "14.6 15.8" }, { "heater-alone", "15.0 OL" },
		{ "heaters-at-plug", "15.0" }, { "seat-hold", "0.4 0.3" },
		{ "solenoid-resistance", "26 26" }, { "sensor-track", "4.7" },
		{ "sensor-closed-resistance", "0.82" }, { "sensor-sweep-resistance", "1.5" },
		{ "throttle-shaft-play", "0.05 0.05" },
	};

	for (size_t i = 0; i < sizeof readings / sizeof *readings; i++)
		if (strcmp(readings[i].check, c->id) == 0)
			return readings[i].answer;
	for (int o = 0; o < c->noutcomes; o++)
		if (c->outcomes[o].rest)
			return c->outcomes[o].id;
	return "";
}

/* Opened things are worked off one after the other, never gone back to; deposits come first. */
static void assert_order(int check, const int *done, int ndone)
{
	const struct kn_check *c = &kn->checks[check];

	for (int i = 0; i < ndone; i++) {
		const struct kn_check *before = &kn->checks[done[i]];

		if (in_subtree(c->access) && in_subtree(before->access))
			assert_true(kn_open_minutes(kn, before->access) <= kn_open_minutes(kn, c->access));
		if (c->before)
			assert_true(before->access != c->access || before->before);
	}
}

static void test_run_of_the_twin_finds_both_and_nothing_else(void **state)
{
	struct job *j = begun();
	struct hs_err err = { 0 };
	struct text t = { 0 };
	int done[200], ndone = 0, *list, n;

	(void)state;
	while ((n = job_bench_checks(j, &list, &err)) > 0) {
		struct job_answer a = { .check = list[0], .place = KN_NONE, .flags = JOB_LEADS_WAIVED };
		struct job_understood u;

		assert_order(list[0], done, ndone);
		a.text = truth(&kn->checks[list[0]]);
		assert_int_equal(job_answer(j, &a, &u, &err), JOB_OK);
		done[ndone++] = list[0];
		mem_free(list);
	}
	mem_free(list);
	assert_int_equal(n, 0);
	assert_int_equal(report_bench(j, &t, &err), 0);
	assert_non_null(strstr(text_str(&t), "Failed (3):"));
	assert_non_null(strstr(text_str(&t), "  Float height at both lobes: 2 15.8 mm; limit 14.1 to 15.1 mm"));
	assert_non_null(strstr(text_str(&t), "  One heater alone: 2 open"));
	assert_non_null(strstr(text_str(&t), "To renew or set right (2):\n  carburettor heater open, "
					     "carburettor 2"));
	assert_non_null(strstr(text_str(&t), "float set for too low a level, carburettor 2"));
	assert_null(strstr(text_str(&t), "To measure again"));
	assert_null(strstr(text_str(&t), "Not done"));
	text_free(&t);
	job_close(j);
}

/* A reading at the edge of its band is neither passed nor failed. */
static void test_edge_is_measured_again(void **state)
{
	struct job *j = begun();
	struct hs_err err = { 0 };
	struct text t = { 0 };

	(void)state;
	fixture_event(j, JOB_ANSWERED, "float-height", "", "14.6 15.12");
	assert_int_equal(report_bench(j, &t, &err), 0);
	assert_non_null(strstr(text_str(&t), "To measure again (1):\n  Float height at both lobes: 2 15.1"));
	assert_null(strstr(text_str(&t), "Failed"));
	assert_null(strstr(text_str(&t), "To renew"));
	text_free(&t);
	job_close(j);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_run_has_what_the_bench_allows),
		cmocka_unit_test(test_run_without_tools_has_only_what_needs_none),
		cmocka_unit_test(test_run_of_the_twin_finds_both_and_nothing_else),
		cmocka_unit_test(test_edge_is_measured_again),
	};

	return cmocka_run_group_tests(tests, set_up, tear_down);
}
