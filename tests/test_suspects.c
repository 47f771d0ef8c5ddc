/* engine/suspects against the slow oracle. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <cmocka.h>

#include "base/mem.h"
#include "oracle.h"
#include "random_knowledge.h"

static double worst(const struct su_suspects *s, const struct oracle *o)
{
	double d = 0;

	for (int f = 0; f < s->kn->nfaults; f++)
		d = fmax(d, fmax(fabs(s->now[f] - o->now[f]), fabs(s->was[f] - o->was[f])));
	for (int m = 0; m < s->kn->nmodes; m++)
		d = fmax(d, fmax(fabs(s->mode_now[m] - o->mode_now[m]),
				 fabs(s->mode_was[m] - o->mode_was[m])));
	for (int n = 0; n < 4; n++)
		d = fmax(d, fabs(s->number[n] - o->number[n]));
	return fmax(d, fabs(s->log_evidence - log(o->total)));
}

static void agree(uint64_t seed, bool independent, bool repairs, int cases)
{
	struct su_settings all = { 0, 100000000, 4096 };

	for (int i = 0; i < cases; i++) {
		struct rng r = { seed + (uint64_t)i };
		struct random_size size = { independent ? 4 + rng_below(&r, 8) : 4 + rng_below(&r, 12),
					    2 + rng_below(&r, 5), independent, repairs, 0 };
		struct kn_knowledge *kn = random_knowledge(&r, &size);
		struct hs_err err = { 0 };
		struct su_suspects *s;
		struct oracle o;
		struct su_case c;
		double d;

		random_case(&r, kn, 1 + rng_below(&r, 6), repairs, &c);
		oracle_weigh(kn, &c, &o);
		s = su_weigh(kn, &c, &all, &err);
		if (!(o.total > 0)) {
			assert_null(s);
			assert_int_equal(err.code, HS_BAD_INPUT);
		} else {
			if (!s)
				fail_msg("seed %llu case %d: %s", (unsigned long long)seed, i, err.text);
			assert_true(s->left_out == 0);
			d = worst(s, &o);
			if (!(d <= 1e-12))
				fail_msg("seed %llu case %d: off by %g", (unsigned long long)seed, i, d);
		}
		su_free(s);
		random_case_free(&c);
		random_free(kn);
	}
}

static void test_agrees_with_the_oracle_before_any_repair(void **state)
{
	(void)state;
	agree(1000, false, false, 300);
}

static void test_agrees_with_the_oracle_across_repairs(void **state)
{
	(void)state;
	agree(5000, false, true, 150);
}

static void test_agrees_with_the_oracle_with_independent_priors(void **state)
{
	(void)state;
	agree(9000, true, false, 100);
	agree(9500, true, true, 30);
}

/* What is left out is really no more than what is said, and the work limit is honest. */
static void test_bound_holds_when_stopped_early(void **state)
{
	double tolerances[] = { .3, .03, 1e-3, 1e-6 };
	int early = 0;

	(void)state;
	for (int i = 0; i < 150; i++) {
		struct rng r = { 20000 + (uint64_t)i };
		struct random_size size = { 8 + rng_below(&r, 8), 4, i % 4 == 0, true, 0 };
		struct kn_knowledge *kn = random_knowledge(&r, &size);
		struct su_settings part = { tolerances[i % 4], i % 3 ? 100000 : 5, 4096 };
		struct su_suspects *s;
		struct oracle o;
		struct su_case c;

		random_case(&r, kn, 4, true, &c);
		oracle_weigh(kn, &c, &o);
		s = su_weigh(kn, &c, &part, NULL);
		if (s) {
			double looked = exp(s->log_evidence) / o.total;

			assert_true(looked >= 1 - s->left_out - 1e-12);
			assert_true(looked <= 1 + 1e-9);
			early += looked < 1 - 1e-9;
			for (int f = 0; f < kn->nfaults; f++)
				assert_true(fabs(s->now[f] - o.now[f]) <= s->left_out + 1e-12);
			if (part.work_limit > 5)
				assert_true(s->left_out <= part.tolerance);
		}
		su_free(s);
		random_case_free(&c);
		random_free(kn);
	}
	assert_true(early > 15);
}

/* The largest sets are lumped when a tolerance is given; a tolerance of next to nothing must still
 * come to what the oracle says, item by item. */
static void test_lumped_sets_equal_single_ones(void **state)
{
	struct su_settings fine = { 1e-15, 100000000, 50 };

	(void)state;
	for (int i = 0; i < 150; i++) {
		struct rng r = { 40000 + (uint64_t)i };
		struct random_size size = { 6 + rng_below(&r, 9), 4, false, i % 2, 0 };
		struct kn_knowledge *kn = random_knowledge(&r, &size);
		struct su_suspects *s;
		struct oracle o;
		struct su_case c;

		random_case(&r, kn, 1 + rng_below(&r, 5), i % 2, &c);
		oracle_weigh(kn, &c, &o);
		s = su_weigh(kn, &c, &fine, NULL);
		assert_int_equal(s != NULL, o.total > 0);
		if (s && !(worst(s, &o) <= 1e-11))
			fail_msg("case %d: off by %g", i, worst(s, &o));
		su_free(s);
		random_case_free(&c);
		random_free(kn);
	}
}

static void test_order_of_answers_changes_nothing(void **state)
{
	(void)state;
	for (int i = 0; i < 50; i++) {
		struct rng r = { 30000 + (uint64_t)i };
		struct random_size size = { 12, 5, false, true, 0 };
		struct kn_knowledge *kn = random_knowledge(&r, &size);
		struct su_evidence turned[5];
		struct su_suspects *a, *b;
		struct su_case c, d;

		random_case(&r, kn, 5, true, &c);
		d = c;
		d.evidence = turned;
		for (int k = 0; k < 5; k++)
			turned[k] = c.evidence[(k * 3 + 2) % 5];
		a = su_weigh(kn, &c, NULL, NULL);
		b = su_weigh(kn, &d, NULL, NULL);
		assert_int_equal(a == NULL, b == NULL);
		if (a)
			assert_memory_equal(a->now, b->now, sizeof(double) * (size_t)kn->nfaults);
		su_free(a);
		su_free(b);
		random_case_free(&c);
		random_free(kn);
	}
}

static void test_why_multiplies_up_to_the_odds(void **state)
{
	struct rng r = { 77 };
	struct random_size size = { 10, 4, false, false, 0 };
	struct kn_knowledge *kn = random_knowledge(&r, &size);
	struct su_settings all = { 0, 100000000, 4096 };
	struct su_suspects *before, *after;
	double moved[1], odds;
	struct su_case c, none;

	(void)state;
	random_case(&r, kn, 1, false, &c);
	none = c;
	none.nevidence = 0;
	before = su_weigh(kn, &none, &all, NULL);
	after = su_weigh(kn, &c, &all, NULL);
	assert_int_equal(su_why(kn, &c, &all, 0, moved, NULL), 0);
	odds = after->mode_was[0] / (1 - after->mode_was[0]) /
	       (before->mode_was[0] / (1 - before->mode_was[0]));
	assert_true(fabs(moved[0] - 10 * log10(odds)) < 1e-9);
	su_free(before);
	su_free(after);
	random_case_free(&c);
	random_free(kn);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_agrees_with_the_oracle_before_any_repair),
		cmocka_unit_test(test_agrees_with_the_oracle_across_repairs),
		cmocka_unit_test(test_agrees_with_the_oracle_with_independent_priors),
		cmocka_unit_test(test_bound_holds_when_stopped_early),
		cmocka_unit_test(test_lumped_sets_equal_single_ones),
		cmocka_unit_test(test_order_of_answers_changes_nothing),
		cmocka_unit_test(test_why_multiplies_up_to_the_odds),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
