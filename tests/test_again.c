/* Measure twice, cut once: before a long repair the answer it rests on is asked for once more. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <cmocka.h>

#include "job/job.h"
#include "plan/options.h"
#include "fixture.h"

static struct kn_knowledge *kn;

static int set_up(void **state)
{
	(void)state;
	kn = fixture_trees("trees", "single");
	return kn ? 0 : -1;
}

static int tear_down(void **state)
{
	(void)state;
	kn_free(kn);
	return 0;
}

/* A battery that fails its test and little else to be found: charging it takes over an hour. */
static struct job *tired_battery(void)
{
	static const char *const said[][2] = {
		{ "exhaust-co", "ok" }, { "spark", "ok" }, { "part-choke-warm", "same" },
		{ "strobe-steadiness", "steady" }, { "where-wet", "dry" }, { "minutes-to-recover", "no-pattern" },
		{ "hot-idle", "1100" }, { "compression", "1000" }, { "airbox-drain", "dry" },
		{ "throttle-cable-play", "ok" }, { "battery-rest", "low" },
		{ "battery-load", "low" },
	};
	struct job *j = job_new(kn);

	fixture_event(j, JOB_BEGAN, kn->machine, kn->digest, "complaint");
	fixture_event(j, JOB_COMPLAINED, "rough-idle", NULL, NULL);
	fixture_event(j, JOB_TOLD, "circumstance:engine-hot", "yes", NULL);
	fixture_event(j, JOB_TOLD, "circumstance:battery-charged", "yes", NULL);
	fixture_event(j, JOB_TOLD, "circumstance:battery-rested", "yes", NULL);
	for (size_t i = 0; i < sizeof said / sizeof *said; i++)
		fixture_event(j, JOB_ANSWERED, said[i][0], "", said[i][1]);
	fixture_event(j, JOB_SKIPPED, "battery-helped", "", "cannot"); /* it would come first */
	return j;
}

static void is_check(const struct pl_step *s, const char *id)
{
	assert_int_equal(s->kind, PL_CHECK);
	assert_string_equal(kn->checks[s->index].id, id);
}

static void is_remedy(const struct pl_step *s, const char *id)
{
	assert_int_equal(s->kind, PL_REMEDY);
	assert_string_equal(kn->remedies[s->index].id, id);
}

static void test_what_a_long_repair_rests_on_is_asked_once_more(void **state)
{
	struct job *j = tired_battery();
	const struct pl_plan *p = fixture_plan(j);

	(void)state;
	is_check(&p->step[0], "battery-load");
	assert_true(p->step[0].again);
	assert_true(p->step[0].saves < 0);
	assert_non_null(strstr(p->step[0].why, "once more"));
	is_remedy(&p->step[1], "charge-battery");
	assert_true(p->step[1].whole > PL_DEAR);
	job_close(j);
}

static void test_the_same_answer_again_lets_the_repair_begin(void **state)
{
	struct job *j = tired_battery();
	double before = job_view(j, NULL)->suspects->mode_now[kn_mode_by_ref(kn, "battery.flat")];

	(void)state;
	fixture_event(j, JOB_ANSWERED, "battery-load", "", "low");
	fixture_near(job_view(j, NULL)->suspects->mode_now[kn_mode_by_ref(kn, "battery.flat")], before, 1e-9);
	is_check(&fixture_plan(j)->step[0], "battery-rest"); /* the next that it rests on, once too */
	assert_true(fixture_plan(j)->step[0].again);
	fixture_event(j, JOB_ANSWERED, "battery-rest", "", "low");
	is_remedy(&fixture_plan(j)->step[0], "charge-battery");
	job_close(j);
}

static void test_another_answer_takes_the_place_of_the_slip(void **state)
{
	struct job *j = tired_battery();

	(void)state;
	fixture_event(j, JOB_ANSWERED, "battery-load", "", "ok");
	assert_true(job_view(j, NULL)->suspects->mode_now[kn_mode_by_ref(kn, "battery.flat")] < .05);
	for (int i = 0; i < fixture_plan(j)->nsteps; i++)
		assert_false(fixture_plan(j)->step[i].kind == PL_REMEDY &&
			     fixture_plan(j)->step[i].index == kn_remedy_by_id(kn, "charge-battery"));
	job_close(j);
}

/* Left out when asked for again, or there is no tool for it any more: nobody insists. */
static void test_who_cannot_look_again_is_not_asked_to(void **state)
{
	struct job *left_out = tired_battery(), *no_tool = tired_battery();

	(void)state;
	fixture_event(left_out, JOB_SKIPPED, "battery-load", "", "cannot");
	fixture_event(left_out, JOB_SKIPPED, "battery-rest", "", "cannot");
	is_remedy(&fixture_plan(left_out)->step[0], "charge-battery");
	fixture_event(no_tool, JOB_TOLD, "tool:feeler-gauge", "yes", NULL);
	assert_false(fixture_plan(no_tool)->step[0].again);
	job_close(left_out);
	job_close(no_tool);
}

/* "Something else" tells nobody where to look: no reason while it is likelier absent than there, though it leads the
 * suspects of this complaint. */
static void test_a_reason_names_something_to_look_for(void **state)
{
	const int other = kn->faults[0].mode;
	struct job *j = job_new(kn);
	int n = 0;

	(void)state;
	fixture_event(j, JOB_BEGAN, kn->machine, kn->digest, "complaint");
	fixture_event(j, JOB_COMPLAINED, "runs-out-recovers", NULL, NULL);
	assert_int_equal(kn->faults[su_likeliest(job_view(j, NULL)->suspects)].mode, other);
	for (int i = 0; i < fixture_plan(j)->nsteps; i++)
		for (int k = 0; k < fixture_plan(j)->step[i].nreasons; k++, n++)
			assert_true(fixture_plan(j)->step[i].reason[k].mode != other ||
				    fixture_plan(j)->step[i].reason[k].p_mode > .5);
	assert_true(n > 3);
	job_close(j);
}

static int ways_to_do(struct job *j, const char *remedy)
{
	struct pl_situation now;
	struct pl_options o;
	int n = 0;

	job_situation(job_view(j, NULL), &now);
	pl_options_make(&o, &now);
	for (int r = 0; r < o.problem.nremedies; r++)
		n += o.problem.remedy[r].remedy == kn_remedy_by_id(now.suspects->kn, remedy);
	pl_options_free(&o);
	return n;
}

/* It may not have been done well: weighed once more, not a third time. */
static void test_a_repair_that_did_not_cure_is_weighed_once_more(void **state)
{
	struct job *j = tired_battery();

	(void)state;
	for (int done = 0; done < 3; done++) {
		assert_int_equal(ways_to_do(j, "charge-battery"), done < 2 ? 1 : 0);
		fixture_event(j, JOB_REPAIRED, "charge-battery", "", NULL);
		fixture_event(j, JOB_COMPLAINED, "rough-idle", NULL, NULL);
	}
	job_close(j);
}

static int ways_after_two_at(const struct kn_knowledge *twin, const char *place)
{
	struct job *j = job_new(twin);
	int n;

	fixture_event(j, JOB_BEGAN, twin->machine, twin->digest, "complaint");
	fixture_event(j, JOB_COMPLAINED, "will-not-idle", NULL, NULL);
	assert_int_equal(ways_to_do(j, "clean-one-pilot-jet"), 3); /* all, the one, the other */
	for (int done = 0; done < 2; done++) {
		fixture_event(j, JOB_REPAIRED, "clean-one-pilot-jet", place, NULL);
		fixture_event(j, JOB_COMPLAINED, "will-not-idle", NULL, NULL);
	}
	n = ways_to_do(j, "clean-one-pilot-jet");
	job_close(j);
	return n;
}

/* Nor a third time at one of several places: then it is the other alone. */
static void test_no_place_has_a_repair_a_third_time(void **state)
{
	struct kn_knowledge *twin = fixture_trees("trees", "twin");

	(void)state;
	assert_non_null(twin);
	assert_int_equal(ways_after_two_at(twin, ""), 0);
	assert_int_equal(ways_after_two_at(twin, "1"), 1);
	kn_free(twin);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_what_a_long_repair_rests_on_is_asked_once_more),
		cmocka_unit_test(test_the_same_answer_again_lets_the_repair_begin),
		cmocka_unit_test(test_another_answer_takes_the_place_of_the_slip),
		cmocka_unit_test(test_who_cannot_look_again_is_not_asked_to),
		cmocka_unit_test(test_a_reason_names_something_to_look_for),
		cmocka_unit_test(test_a_repair_that_did_not_cure_is_weighed_once_more),
		cmocka_unit_test(test_no_place_has_a_repair_a_third_time),
	};
	return cmocka_run_group_tests(tests, set_up, tear_down);
}
