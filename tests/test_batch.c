/* What is cheap while something is open: how the checks of its list stand, and which are worth it. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include "base/mem.h"
#include "job/job.h"
#include "plan/closing.h"
#include "fixture.h"

static struct kn_knowledge *kn;

static int set_up(void **state)
{
	(void)state;
	kn = fixture_trees("trees", "four");
	return kn ? 0 : -1;
}

static int tear_down(void **state)
{
	(void)state;
	kn_free(kn);
	return 0;
}

static struct job *complained(const char *symptom)
{
	struct job *j = job_new(kn);

	fixture_event(j, JOB_BEGAN, kn->machine, kn->digest, "complaint");
	fixture_event(j, JOB_COMPLAINED, symptom, NULL, NULL);
	return j;
}

static const struct job_view *view(struct job *j)
{
	struct hs_err err = { 0 };
	const struct job_view *v = job_view(j, &err);

	assert_non_null(v);
	return v;
}

static void stands(struct job *j, const char *check, enum job_batch as)
{
	int c = kn_check_by_id(kn, check);

	assert_int_not_equal(c, KN_NONE);
	if (job_batch(view(j), c) != as)
		fail_msg("%s stands as %d, not %d", check, (int)job_batch(view(j), c), (int)as);
}

static void test_answers_make_a_check_done_when_whole(void **state)
{
	struct job *j = complained("will-not-idle");

	(void)state;
	stands(j, "seat-hold", JOB_BATCH_TO_DO);
	fixture_event(j, JOB_ANSWERED, "seat-hold", "2", "0.5");
	stands(j, "seat-hold", JOB_BATCH_SOME);
	assert_int_equal(view(j)->places_said[kn_check_by_id(kn, "seat-hold")], 1 << 1);
	fixture_event(j, JOB_ANSWERED, "seat-hold", "", "0.5 0.4 0.5 0.6");
	stands(j, "seat-hold", JOB_BATCH_DONE);
	stands(j, "bowl-deposits", JOB_BATCH_TO_DO);
	fixture_event(j, JOB_ANSWERED, "bowl-deposits", "", "varnish");
	stands(j, "bowl-deposits", JOB_BATCH_DONE);
	fixture_event(j, JOB_SKIPPED, "float-drop", "", "dont-know");
	stands(j, "float-drop", JOB_BATCH_LEFT_OUT);
	job_close(j);
}

static void test_work_takes_a_look_away_or_asks_for_it_again(void **state)
{
	struct job *j = complained("will-not-idle");

	(void)state;
	fixture_event(j, JOB_ANSWERED, "seat-hold", "", "0.5 0.4 9 0.6");
	fixture_event(j, JOB_REPAIRED, "renew-float-needle", "3", NULL);
	stands(j, "seat-hold", JOB_BATCH_AGAIN);
	stands(j, "bowl-deposits", JOB_BATCH_TO_DO);
	fixture_event(j, JOB_REPAIRED, "clean-all-pilot-jets", "", NULL);
	stands(j, "bowl-deposits", JOB_BATCH_GONE);
	job_close(j);
}

static void test_what_is_wanting_keeps_it_back_but_not_an_answer(void **state)
{
	struct job *j = complained("will-not-idle");

	(void)state;
	stands(j, "needle-tip", JOB_BATCH_TO_DO);
	fixture_event(j, JOB_ANSWERED, "mixture-screw-tip", "", "ok");
	fixture_event(j, JOB_TOLD, "tool:multimeter", "yes", NULL);
	stands(j, "needle-tip", JOB_BATCH_NO_TOOL);
	stands(j, "mixture-screw-tip", JOB_BATCH_DONE);
	stands(j, "battery-rest", JOB_BATCH_TO_DO);
	fixture_event(j, JOB_TOLD, "circumstance:battery-rested", "no", NULL);
	stands(j, "battery-rest", JOB_BATCH_NOT_NOW);
	job_close(j);
}

static double bits_of(struct job *j, const char *check)
{
	struct pl_situation now;
	double *bits = mem_array((size_t)kn->nchecks + 1, sizeof *bits), found;

	job_situation(view(j), &now);
	pl_check_bits(&now, bits);
	found = bits[kn_check_by_id(kn, check)];
	mem_free(bits);
	return found;
}

static void test_bits_are_of_what_tells_and_can_be_done(void **state)
{
	struct job *j = complained("will-not-idle"), *wet = complained("flooding");

	(void)state;
	assert_true(bits_of(j, "passage-spray") >= PL_BITS_LEAST);
	assert_true(bits_of(j, "quiescent-current") < PL_BITS_LEAST);
	fixture_event(j, JOB_ANSWERED, "passage-spray", "", "ok");
	assert_true(bits_of(j, "passage-spray") <= 0);
	assert_true(bits_of(wet, "seat-hold") >= PL_BITS_LEAST);
	assert_true(bits_of(wet, "spark") <= 0);        /* loose fuel keeps it back */
	job_close(j);
	job_close(wet);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_answers_make_a_check_done_when_whole),
		cmocka_unit_test(test_work_takes_a_look_away_or_asks_for_it_again),
		cmocka_unit_test(test_what_is_wanting_keeps_it_back_but_not_an_answer),
		cmocka_unit_test(test_bits_are_of_what_tells_and_can_be_done),
	};

	return cmocka_run_group_tests(tests, set_up, tear_down);
}
