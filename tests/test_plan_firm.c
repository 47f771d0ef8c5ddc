/* Multiplying by the factor told changes the first place, or the step; just below it does not: tried
 * by brute force, with knowledge changed and everything weighed or planned anew. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <cmocka.h>

#include "fixture.h"
#include "job/job.h"
#include "random_knowledge.h"

#define PLANNED 320           /* fault sets that are planned over */

/* ---- the first place ----------------------------------------------------------------------------- */

static int first_mode(const struct kn_knowledge *kn, const struct su_case *c)
{
	struct su_settings all = { 0, 100000000, 40000 };
	struct su_suspects *s = su_weigh(kn, c, &all, NULL);
	int best = 0;

	assert_non_null(s);
	for (int m = 1; m < kn->nmodes; m++)
		if (s->mode_now[m] > s->mode_now[best])
			best = m;
	su_free(s);
	return best;
}

/* The frequency of a mode divided by x, as odds: with independent priors that and nothing else divides
 * the weight of its sets by x. */
static int first_when_divided(struct kn_knowledge *kn, const struct su_case *c, int mode, double x)
{
	double kept[32];
	int first;

	for (int f = 0; f < kn->nfaults; f++) {
		double p = kept[f] = kn->faults[f].weight;

		if (kn->faults[f].mode == mode)
			kn->faults[f].weight = p / x / (1 - p + p / x);
	}
	first = first_mode(kn, c);
	for (int f = 0; f < kn->nfaults; f++)
		kn->faults[f].weight = kept[f];
	return first;
}

/* Modes with one fault each: of a mode at several places a set may hold two, and x counts twice. */
static bool one_place_each(const struct kn_knowledge *kn, int mode)
{
	int n = 0;

	for (int f = 0; f < kn->nfaults; f++)
		n += kn->faults[f].mode == mode;
	return n == 1;
}

static void test_first_place_changes_at_the_factor(void **state)
{
	struct su_settings all = { 0, 100000000, 40000 };
	int tried = 0;

	(void)state;
	for (int i = 0; i < 150; i++) {
		struct rng r = { 51000 + (uint64_t)i };
		struct random_size size = { 4 + i % 8, 5, true, false, 0 };
		struct kn_knowledge *kn = random_knowledge(&r, &size);
		struct su_firmness firm;
		struct su_suspects *s;
		struct su_case c;

		random_case(&r, kn, 3, false, &c);
		c.histories = 0; /* they multiply the probability, not the odds */
		s = su_weigh(kn, &c, &all, NULL);
		if (s) {
			su_firm(s, &firm);
			if (firm.second != KN_NONE && firm.factor < 900 && one_place_each(kn, firm.first)) {
				assert_int_equal(first_when_divided(kn, &c, firm.first, firm.factor * .999),
						 firm.first);
				assert_int_not_equal(first_when_divided(kn, &c, firm.first, firm.factor * 1.001),
						     firm.first);
				tried++;
			}
		}
		su_free(s);
		random_case_free(&c);
		random_free(kn);
	}
	assert_true(tried > 50);
}

/* ---- the step -------------------------------------------------------------------------------------- */

static const struct { const char *complaint, *check, *answer; } jobs[] = {
	{ "flooding", NULL, NULL }, { "flooding", "where-wet", "overflow-pipe 1" },
	{ "will-not-idle", NULL, NULL }, { "hard-cold-start", "part-choke-warm", "better" },
	{ "one-cylinder-weak", "plug-swap", "moves" }, { "one-cylinder-weak", NULL, NULL },
};

/* The step of a situation in which the sets with the mode weigh one xth. */
static struct pl_step step_when_divided(const struct pl_situation *now, int mode, double x)
{
	struct su_suspects s = *now->suspects;
	struct pl_situation then = *now;
	struct su_set sets[4096];
	static struct pl_plan plan;
	struct hs_err err = { 0 };

	assert_true(s.nsets <= 4096);
	s.nsets = s.nsets < PLANNED ? s.nsets : PLANNED;
	memcpy(sets, s.sets, sizeof *sets * (size_t)s.nsets);
	for (int i = 0; i < s.nsets; i++)
		for (int f = 0; f < sets[i].nnow; f++)
			if (s.kn->faults[sets[i].now[f]].mode == mode) {
				sets[i].weight /= x;
				break;
			}
	s.sets = sets;
	then.suspects = &s;
	assert_int_equal(pl_next(&then, &plan, &err), 0);
	return plan.step[0];
}

static void test_step_changes_at_the_factor(void **state)
{
	struct kn_knowledge *kn = fixture_trees("trees", "twin");
	int changing = 0;

	(void)state;
	assert_non_null(kn);
	for (size_t i = 0; i < sizeof jobs / sizeof *jobs; i++) {
		struct job *j = job_new(kn);
		struct job_event began = { .kind = JOB_BEGAN, .field = { kn->machine, kn->digest, "complaint" } };
		struct job_event said = { .kind = JOB_COMPLAINED, .field = { jobs[i].complaint } };
		struct job_event answer = { .kind = JOB_ANSWERED, .field = { jobs[i].check, "", jobs[i].answer } };
		struct pl_step as_it_is, below, at;
		struct pl_situation now;
		struct pl_firmness f;
		struct hs_err err = { 0 };

		assert_int_equal(job_add(j, &began, &err) | job_add(j, &said, &err), 0);
		if (jobs[i].check)
			assert_int_equal(job_add(j, &answer, &err), 0);
		job_situation(job_view(j, &err), &now);
		pl_firm(&now, &f);
		as_it_is = step_when_divided(&now, f.mode, 1);
		if (f.changes) {
			below = step_when_divided(&now, f.mode, f.factor / 1.07);
			at = step_when_divided(&now, f.mode, f.factor);
			assert_true(below.kind == as_it_is.kind && below.index == as_it_is.index);
			assert_true(at.kind != as_it_is.kind || at.index != as_it_is.index);
			assert_true(at.kind == f.kind && at.index == f.index);
			changing++;
		} else {
			at = step_when_divided(&now, f.mode, PL_FIRM_MOST);
			assert_true(at.kind == as_it_is.kind && at.index == as_it_is.index);
		}
		print_message("# %s: %s%s %.2f\n", jobs[i].complaint, f.word, f.changes ? "" : ", beyond", f.factor);
		job_close(j);
	}
	assert_true(changing > 1);
	kn_free(kn);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_first_place_changes_at_the_factor),
		cmocka_unit_test(test_step_changes_at_the_factor),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
