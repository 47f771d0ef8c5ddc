/* Figures of the owner's manual told in a job: when one is wanted, what it changes. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "base/mem.h"
#include "fixture.h"
#include "job/job.h"

static struct job *begin(struct kn_knowledge **kn)
{
	struct job *j;
	struct hs_err err = {0};

	*kn = fixture_trees("trees", "generic-twin");
	assert_non_null(*kn);
	j = job_new(*kn);
	job_add(j, &(struct job_event){.kind = JOB_BEGAN,
				       .field = {(*kn)->machine, (*kn)->digest, "complaint"}}, &err);
	job_add(j, &(struct job_event){.kind = JOB_COMPLAINED, .field = {"misfire-under-load"}}, &err);
	job_add(j, &(struct job_event){.kind = JOB_TOLD, .field = {"air", "20"}}, &err);
	assert_int_equal(err.code, HS_OK);
	return j;
}

static void answer(struct job *j, const char *check, int place, const char *text)
{
	struct job_answer a = {.check = kn_check_by_id(job_knowledge(j), check), .place = place, .text = text,
			       .flags = JOB_LEADS_WAIVED | JOB_SLIP_OK};
	struct job_understood u;
	struct hs_err err = {0};

	if (job_answer(j, &a, &u, &err) != JOB_OK)
		fail_msg("%s: %s", check, err.text);
}

static int wanted(struct job *j)
{
	return job_figure_wanted(j, job_view(j, NULL));
}

static void tell(struct job *j, const char *fact, const char *value)
{
	struct hs_err err = {0};

	assert_int_equal(job_add(j, &(struct job_event){.kind = JOB_TOLD, .field = {fact, value}}, &err), 0);
}

/* The band of the generic machine is 1 to 5 ohm: a quarter of it from an end is 1 ohm. */
static void test_figure_is_wanted_when_reading_lies_near_an_end(void **state)
{
	static const struct { const char *typed; bool wanted; } reading[] = {
		{"3", false}, {"2.1", false}, {"1.9", true}, {"0.5", true}, {"4.5", true}, {"5.9", true},
		{"6.2", false}, {"OL", false},
	};

	(void)state;
	for (size_t i = 0; i < sizeof reading / sizeof *reading; i++) {
		struct kn_knowledge *kn;
		struct job *j = begin(&kn);

		answer(j, "coil-primary", 0, reading[i].typed);
		if ((wanted(j) != KN_NONE) != reading[i].wanted)
			fail_msg("%s ohm", reading[i].typed);
		tell(j, "figure:coil-primary", "unknown");
		assert_int_equal(wanted(j), KN_NONE);
		job_close(j);
		kn_free(kn);
	}
}

static enum rd_verdict verdict(struct job *j)
{
	const struct job_view *v = job_view(j, NULL);

	assert_non_null(v);
	assert_int_equal(v->nfindings, 1);
	return v->findings[0].understood.reading.verdict;
}

static void test_figure_decides_when_job_is_bound_with_it(void **state)
{
	struct kn_knowledge *kn, *with;
	struct job *j = begin(&kn);
	struct kn_figure *figures;
	const char *root = getenv("HALFSPLIT_ROOT");
	struct hs_err err = {0};
	struct text undone = {0};
	char trees[4096];
	int n;

	(void)state;
	snprintf(trees, sizeof trees, "%s/trees", root ? root : ".");
	answer(j, "coil-primary", 0, "1.6");
	assert_int_equal(verdict(j), RD_INSIDE);
	tell(j, "figure:coil-primary", "9 +- 1 ohm");
	tell(j, "figure:no-such-value", "9 +- 1 ohm");
	tell(j, "figure:coil-primary", "2.6 +- .2 ohm");
	n = job_figures(j, &figures);
	assert_int_equal(n, 1);
	assert_string_equal(figures[0].value, "coil-primary");
	fixture_near(figures[0].figure.low, 2.4, 1e-9);
	with = kn_load_with(trees, "generic-twin", figures, n, &err);
	assert_non_null(with);
	mem_free(figures);
	job_rebind(j, with);
	assert_int_equal(verdict(j), RD_OUTSIDE);
	assert_int_equal(wanted(j), KN_NONE);
	/* Taken back, the earlier one counts again; and that one, none. */
	assert_int_equal(job_undo(j, &undone, &err), 0);
	assert_int_equal(job_undo(j, &undone, &err), 0);
	n = job_figures(j, &figures);
	assert_int_equal(n, 1);
	fixture_near(figures[0].figure.low, 8, 1e-9);
	mem_free(figures);
	assert_int_equal(job_undo(j, &undone, &err), 0);
	assert_int_equal(job_figures(j, &figures), 0);
	mem_free(figures);
	job_rebind(j, kn);
	assert_int_equal(verdict(j), RD_INSIDE);
	text_free(&undone);
	job_close(j);
	kn_free(kn);
	kn_free(with);
}

static void test_figure_is_not_wanted_on_a_machine_with_its_own(void **state)
{
	struct kn_knowledge *kn = fixture_trees("trees", "four");

	(void)state;
	assert_non_null(kn);
	for (int i = 0; i < kn->nvalues; i++)
		assert_false(kn->values[i].generic);
	kn_free(kn);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_figure_is_wanted_when_reading_lies_near_an_end),
		cmocka_unit_test(test_figure_decides_when_job_is_bound_with_it),
		cmocka_unit_test(test_figure_is_not_wanted_on_a_machine_with_its_own),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
