/* Nobody gives up on the first word: a caller at the counter is asked before the bike is handed over. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <cmocka.h>

#include "job/job.h"
#include "plan/chart.h"
#include "plan/ways.h"
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

static struct job *call(const char *rates)
{
	struct job *j = job_new(kn);

	fixture_event(j, JOB_BEGAN, kn->machine, kn->digest, "complaint");
	fixture_event(j, JOB_TOLD, "rates", rates, NULL);
	fixture_event(j, JOB_COMPLAINED, "hard-cold-start", NULL, NULL);
	return j;
}

/* Four questions of minutes, whatever is answered; then the sums decide. */
static void test_a_caller_is_asked_before_the_bike_is_given_up(void **state)
{
	struct job *j = call("counter");

	(void)state;
	for (int i = 0; i < 4; i++) {
		const struct pl_plan *p = fixture_plan(j);

		assert_int_equal(p->step[0].kind, PL_CHECK);
		assert_true(p->step[0].minutes <= 5);
		assert_non_null(strstr(p->step[0].why, "Little has been asked yet"));
		assert_int_equal(p->as_good, 1);
		fixture_event(j, JOB_SKIPPED, kn->checks[p->step[0].index].id, "", "cannot");
	}
	assert_int_equal(fixture_plan(j)->step[0].kind, PL_HAND_OVER);
	job_close(j);
}

/* The advice is as firm as what is told. */
static void test_how_firm_is_said_of_the_question(void **state)
{
	struct job *j = call("counter");
	const struct pl_plan *p = fixture_plan(j);
	struct pl_firmness f;
	struct pl_situation now;
	struct hs_err err = { 0 };
	bool same;

	(void)state;
	job_situation(job_view(j, &err), &now);
	pl_firm(&now, &f);
	same = f.kind == PL_CHECK && f.index == p->step[0].index;
	assert_true(f.changes ? !same : same);
	job_close(j);
}

/* What `plan` shows and a chart on the wall begin with the same question; a chart knows of nothing done. */
static void test_ways_and_charts_begin_with_a_question(void **state)
{
	const struct pl_chart_settings settings = { .depth = 6, .least = .05 };
	struct job *j = call("counter");
	struct hs_err err = { 0 };
	struct pl_situation now;
	struct pl_chart chart;
	struct pl_ways ways;

	(void)state;
	job_situation(job_view(j, &err), &now);
	pl_ways(&now, &ways);
	assert_true(ways.n > 0 && ways.way[0].checks >= 1);
	now.done = NULL;
	pl_chart_make(&now, &settings, &chart);
	assert_int_equal(chart.node[0].kind, PL_CHART_CHECK);
	pl_chart_free(&chart);
	job_close(j);
}

/* Where the sums find something to do they are not overruled. */
static void test_a_workshop_is_advised_as_before(void **state)
{
	struct job *j = call("workshop");

	(void)state;
	assert_int_equal(fixture_plan(j)->step[0].kind, PL_CHECK);
	assert_null(strstr(fixture_plan(j)->step[0].why, "Little has been asked yet"));
	job_close(j);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_a_caller_is_asked_before_the_bike_is_given_up),
		cmocka_unit_test(test_how_firm_is_said_of_the_question),
		cmocka_unit_test(test_ways_and_charts_begin_with_a_question),
		cmocka_unit_test(test_a_workshop_is_advised_as_before),
	};

	return cmocka_run_group_tests(tests, set_up, tear_down);
}
