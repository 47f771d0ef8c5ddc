/* An early answer changed in its place: what stands after it, what is void by it, and taking it back.  And
 * timers, which are events. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <cmocka.h>

#include "job/job.h"
#include "job_aid.h"

/* Returns the event's index. */
static int add(struct job *j, enum job_kind kind, const char *a, const char *b, const char *c)
{
	return add_at(j, kind, 1700000000 + 60 * job_nevents(j), a, b, c, NULL);
}

static int change(struct job *j, int event, enum job_kind kind, const char *a, const char *b, const char *c)
{
	struct job_event e = { .kind = kind, .field = { a, b, c } };
	struct hs_err err = { 0 };

	return job_change(j, event, &e, &err);
}

static const struct job_view *view(struct job *j)
{
	struct hs_err err = { 0 };
	const struct job_view *v = job_view(j, &err);

	assert_non_null(v);
	return v;
}

static struct job *begun(void)
{
	struct job *j = job_new(kn);

	add(j, JOB_BEGAN, kn->machine, kn->digest, "complaint");
	return j;
}

static void test_answer_after_a_changed_fact_is_void_and_comes_back(void **state)
{
	struct job *j = begun(), *before;
	int cold = add(j, JOB_TOLD, "circumstance:engine-cold", "yes", NULL), voided[8];
	int start = add(j, JOB_ANSWERED, "cold-start", "", "no");
	struct hs_err err = { 0 };

	(void)state;
	add(j, JOB_ANSWERED, "bowl-wet", "1", "damp");
	before = job_copy(j);
	assert_int_equal(change(j, cold, JOB_TOLD, "circumstance:engine-cold", "no", ""), 0);
	assert_int_equal(job_voided(view(before), view(j), voided, 8), 1);
	assert_int_equal(voided[0], start);
	assert_non_null(strstr(view(j)->findings[0].why, "engine cold"));
	assert_true(view(j)->findings[1].counts);
	assert_int_equal(job_undo(j, NULL, &err), 0);
	assert_int_equal(job_voided(view(before), view(j), voided, 8), 0);
	assert_true(view(j)->findings[0].counts);
	job_close(before);
	job_close(j);
}

static void test_answer_and_left_out_change_into_each_other(void **state)
{
	struct job *j = begun();
	int sample = add(j, JOB_ANSWERED, "bowl-sample", "", "rust");
	int c = kn_check_by_id(kn, "bowl-sample");

	(void)state;
	assert_int_equal(view(j)->nfindings, 1);
	assert_int_equal(change(j, sample, JOB_SKIPPED, "bowl-sample", "", "cannot"), 0);
	assert_int_equal(view(j)->nfindings, 0);
	assert_int_equal(view(j)->done[c], 1);
	assert_int_equal(change(j, sample, JOB_ANSWERED, "bowl-sample", "", "clear"), 0);
	assert_string_equal(view(j)->findings[0].raw, "clear");
	assert_int_equal(view(j)->findings[0].event, sample);
	job_close(j);
}

static void test_what_makes_no_sense_is_refused_and_changes_nothing(void **state)
{
	struct job *j = begun();
	int note = add(j, JOB_NOTED, "a note", NULL, NULL);
	int open = add(j, JOB_ACCESS, "bench", "open", NULL), events = job_nevents(j);

	(void)state;
	assert_int_equal(change(j, 0, JOB_BEGAN, "x", "y", "bench"), -1);
	assert_int_equal(change(j, open, JOB_ACCESS, "bench", "closed", ""), -1);
	assert_int_equal(change(j, note, JOB_ANSWERED, "bowl-sample", "", "rust"), -1);
	assert_int_equal(change(j, note + 7, JOB_NOTED, "x", "", ""), -1);
	assert_int_equal(job_nevents(j), events);
	/* A file may say so all the same: it means nothing. */
	add(j, JOB_CHANGED, "99", "noted", "x");
	add(j, JOB_CHANGED, "1", "noted", "x");
	add(j, JOB_CHANGED, "2", "closed", "proven");
	add(j, JOB_CHANGED, "2", "no-such-kind", "x");
	assert_string_equal(view(j)->notes[0], "a note");
	assert_string_equal(job_event_at(j, 0)->field[0], kn->machine);
	job_close(j);
}

static void test_timers_run_on_and_are_listed_until_seen(void **state)
{
	struct job *j = begun();
	struct job_timer t[4];
	long long start;

	(void)state;
	add(j, JOB_TIMER, "15", "bath", NULL);
	start = job_event_at(j, 1)->when;
	add(j, JOB_TIMER, "2", "soak", NULL);        /* 60 s later */
	add(j, JOB_TIMER, "-3", "nonsense", NULL);
	assert_int_equal(job_timers(j, start + 61, t, 4), 2);
	assert_string_equal(t[0].what, "soak");
	assert_int_equal(t[0].ends, start + 180);
	assert_int_equal(t[1].ends, start + 900);
	assert_int_equal(job_timers(j, start + 1000000, t, 4), 2); /* rung, and nothing said since */
	add(j, JOB_NOTED, "at the end", NULL, NULL);
	assert_int_equal(job_event_at(j, 4)->when, start + 180);
	add(j, JOB_NOTED, "after it", NULL, NULL);
	assert_int_equal(job_timers(j, start + 300, t, 4), 1);
	assert_string_equal(t[0].what, "bath");
	job_close(j);
}

static bool advises(struct job *j, const char *remedy)
{
	struct hs_err err = { 0 };
	const struct pl_plan *plan = job_plan(j, &err);

	assert_non_null(plan);
	for (int i = 0; i < plan->nsteps; i++)
		if (plan->step[i].kind == PL_REMEDY && strcmp(kn->remedies[plan->step[i].index].id, remedy) == 0)
			return true;
	return false;
}

/* Not in that talk alone: it is an event, so that it is kept, and taken back like any other. */
static void test_what_cannot_be_done_is_not_advised_again(void **state)
{
	struct job *j = begun();
	struct text what = { 0 };
	struct hs_err err = { 0 };

	(void)state;
	assert_true(advises(j, "renew-gasket"));
	add(j, JOB_DECLINED, "renew-gasket", NULL, NULL);
	assert_false(advises(j, "renew-gasket"));
	assert_int_equal(job_undo(j, &what, &err), 0);
	assert_string_equal(text_str(&what), "cannot be done: Renew bowl gasket");
	assert_true(advises(j, "renew-gasket"));
	text_free(&what);
	job_close(j);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_answer_after_a_changed_fact_is_void_and_comes_back),
		cmocka_unit_test(test_answer_and_left_out_change_into_each_other),
		cmocka_unit_test(test_what_makes_no_sense_is_refused_and_changes_nothing),
		cmocka_unit_test(test_what_cannot_be_done_is_not_advised_again),
		cmocka_unit_test(test_timers_run_on_and_are_listed_until_seen),
	};

	return cmocka_run_group_tests(tests, set_up, tear_down);
}
