/* Of everything given 70 to 80 %, 70 to 80 % must be true; a second exact method for noisy-OR; and
 * taking an answer back equals never having given it. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <cmocka.h>

#include "base/mem.h"
#include "calibrate.h"
#include "random_knowledge.h"

/* A short run on small knowledge; deciles with 600 entries or more, within 5 points (three standard
 * errors of .5 at 900 are 5). tests/soak_calibration.c is the long one. */
static void test_stated_probabilities_come_true(void **state)
{
	struct calibration c = { 0 };
	long entries = 0;
	int tested = 0;

	(void)state;
	for (int i = 0; i < 60; i++) {
		struct rng r = { 60000 + (uint64_t)i };
		struct random_size size = { 10, 6, i % 3 == 0, false, 0 };
		struct kn_knowledge *kn = random_knowledge(&r, &size);

		for (int k = 0; k < kn->nchecks; k++)
			kn->checks[k].same_fact = KN_NONE; /* shared facts are discounted on purpose */
		for (int job = 0; job < 80; job++)
			calibrate_job(&r, kn, 4, 0, &c);
		random_free(kn);
	}
	for (int d = 0; d < 10; d++) {
		entries += c.n[d];
		if (c.n[d] < 600)
			continue;
		tested++;
		assert_true(fabs(c.said[d] - c.was[d]) / (double)c.n[d] < .05);
	}
	assert_true(entries > 15000 && tested >= 3);
}

/* ---- subset convolution: methods of adding non-negative terms only ---------------------------- */

#define FINDINGS 12

/* P(all m findings present) and the posterior of each cause, by going through the causes one by one
 * and keeping the weight of every set of findings already explained (no subtraction anywhere). */
static double by_subsets(int n, int m, const double *prior, const double link[][FINDINGS],
			 const double *leak, int given, double *weight)
{
	size_t size = (size_t)1 << m;

	memset(weight, 0, size * sizeof *weight);
	weight[0] = 1;
	for (int c = -1; c < n; c++) {
		double p = c < 0 ? 1 : prior[c];

		/* every finding may be explained by this cause, independently */
		for (size_t set = size; set-- > 0;) {
			double sum = 0;

			for (size_t from = set;; from = (from - 1) & set) {
				double w = weight[from], by = 1;

				for (int f = 0; f < m && w > 0; f++) {
					double q = c < 0 ? leak[f] : link[c][f];

					if ((set >> f & 1) && !(from >> f & 1))
						by *= q;
					else if (!(set >> f & 1))
						by *= 1 - q;
				}
				sum += w * (p * by + (from == set && c != given ? 1 - p : 0));
				if (!from)
					break;
			}
			weight[set] = sum;
		}
	}
	return weight[size - 1];
}

static void test_noisy_or_agrees_with_subset_convolution(void **state)
{
	(void)state;
	for (int i = 0; i < 12; i++) {
		struct rng r = { 900 + (uint64_t)i };
		int n = 8, m = 1 + i % 6;
		double prior[8], link[8][FINDINGS], leak[FINDINGS], *w = mem_array(1u << FINDINGS, sizeof *w);
		struct kn_knowledge *kn = noisy_or_knowledge(&r, n, m, prior, &link[0][0], leak, FINDINGS);
		struct su_settings all = { 0, 100000000, 4096 };
		struct su_evidence e[FINDINGS];
		struct su_case c = { m, e, 0, NULL, 0, true };
		struct su_suspects *s;
		double p;

		memset(e, 0, sizeof e);
		for (int f = 0; f < m; f++) {
			e[f].check = f;
			e[f].place = KN_NONE;
			e[f].exponent = 1;
			e[f].ncells = 2;
			e[f].share[0] = 1;
		}
		s = su_weigh(kn, &c, &all, NULL);
		assert_non_null(s);
		p = by_subsets(n, m, prior, link, leak, -1, w);
		assert_true(fabs(exp(s->log_evidence) / p - 1) < 1e-12);
		for (int k = 0; k < n; k++)
			assert_true(fabs(s->now[k] - by_subsets(n, m, prior, link, leak, k, w) / p) < 1e-12);
		su_free(s);
		mem_free(w);
		random_free(kn);
	}
}

static void test_taken_back_equals_never_given(void **state)
{
	(void)state;
	for (int i = 0; i < 30; i++) {
		struct rng r = { 70000 + (uint64_t)i };
		struct random_size size = { 14, 6, false, true, 0 };
		struct kn_knowledge *kn = random_knowledge(&r, &size);
		struct su_suspects *a, *b;
		struct su_case c, less;

		random_case(&r, kn, 5, true, &c);
		less = c;
		less.nevidence = 3;
		a = su_weigh(kn, &less, NULL, NULL);
		b = su_weigh(kn, &c, NULL, NULL); /* the other answers in between leave nothing behind */
		su_free(b);
		b = su_weigh(kn, &less, NULL, NULL);
		assert_int_equal(a == NULL, b == NULL);
		if (a) {
			assert_memory_equal(a->now, b->now, sizeof(double) * (size_t)kn->nfaults);
			assert_memory_equal(&a->log_evidence, &b->log_evidence, sizeof(double));
		}
		su_free(a);
		su_free(b);
		random_case_free(&c);
		random_free(kn);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_stated_probabilities_come_true),
		cmocka_unit_test(test_noisy_or_agrees_with_subset_convolution),
		cmocka_unit_test(test_taken_back_equals_never_given),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
