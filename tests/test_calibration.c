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

/* A short run on small knowledge, 1,000 entries in every decile: within 5 points, three standard
 * errors (1.6 points at .5). tests/soak_calibration.c is the long one, with the trees. */
static void test_stated_probabilities_come_true(void **state)
{
	struct calibration c = { 0 };

	(void)state;
	calibrate_small(60000, 0, 1000, &c);
	calibration_print(&c, "small");
	assert_true(calibration_least(&c) >= 1000);
	assert_true(calibration_worst(&c) < 5);
}

/* ---- subset convolution: methods of adding non-negative terms only ---------------------------- */

#define FINDINGS 15
#define CAUSES 40

/* Noisy-OR with independent priors: which findings are there (the first m) and which are not (up to
 * `all`), over any number of causes. */
struct noisy { int n, m, all; double prior[CAUSES], link[CAUSES][FINDINGS], leak[FINDINGS]; };

/* One cause there, or the leak (cause -1): weight[] of every set of findings explained so far. Finding
 * by finding: the cause explains it with its link, or what explained it before still does. Every
 * absent finding costs one factor. */
static void explain(const struct noisy *k, int cause, const double *from, double *to)
{
	const double *link = cause < 0 ? k->leak : k->link[cause];
	double absent = 1;

	for (int f = k->m; f < k->all; f++)
		absent *= 1 - link[f];
	for (size_t set = 0; set < (size_t)1 << k->m; set++)
		to[set] = from[set] * absent;
	for (int f = 0; f < k->m; f++)
		for (size_t set = 0; set < (size_t)1 << k->m; set++)
			if (set >> f & 1) {
				size_t without = set & ~((size_t)1 << f);

				to[set] += to[without] * link[f];
				to[without] *= 1 - link[f];
			}
}

/* P(first m findings there, the others not[, cause `given` there]), cause by cause; no subtraction of
 * weights anywhere, 2^m numbers. */
static double by_subsets(const struct noisy *k, int given, double *weight, double *with)
{
	size_t size = (size_t)1 << k->m;

	memset(with, 0, size * sizeof *with);
	with[0] = 1;
	explain(k, -1, with, weight);
	for (int c = 0; c < k->n; c++) {
		explain(k, c, weight, with);
		for (size_t set = 0; set < size; set++)
			weight[set] = k->prior[c] * with[set] +
				      (c == given ? 0 : (1 - k->prior[c]) * weight[set]);
	}
	return weight[size - 1];
}

static struct kn_knowledge *make_noisy(struct rng *r, struct noisy *k, int n, int m, int absent,
				       double prior_most)
{
	struct kn_knowledge *kn;

	k->n = n;
	k->m = m;
	k->all = m + absent;
	kn = noisy_or_knowledge(r, n, k->all, k->prior, &k->link[0][0], k->leak, FINDINGS);
	for (int c = 0; c < n; c++)
		kn->faults[c].weight = k->prior[c] = .001 + prior_most * rng_real(r);
	return kn;
}

static struct su_suspects *weigh_noisy(const struct kn_knowledge *kn, const struct noisy *k,
				       const struct su_settings *settings)
{
	struct su_evidence e[FINDINGS];
	struct su_case c = { k->all, e, 0, NULL, 0, true };

	memset(e, 0, sizeof e);
	for (int f = 0; f < k->all; f++) {
		e[f].check = f;
		e[f].place = KN_NONE;
		e[f].exponent = 1;
		e[f].ncells = 2;
		e[f].share[f < k->m ? 0 : 1] = 1;
	}
	return su_weigh(kn, &c, settings, NULL);
}

/* Listing all sets against the subset method, up to 12 abnormal answers and 3 normal ones. */
static void test_noisy_or_agrees_with_subset_convolution(void **state)
{
	double *w = mem_array(1u << FINDINGS, sizeof *w), *v = mem_array(1u << FINDINGS, sizeof *v), worst = 0;

	(void)state;
	for (int i = 0; i < 60; i++) {
		struct rng r = { 900 + (uint64_t)i };
		struct noisy k;
		struct kn_knowledge *kn = make_noisy(&r, &k, 5 + i % 7, 1 + i % 12, i % 4, .2);
		struct su_settings all = { 0, 100000000, 4096 };
		struct su_suspects *s = weigh_noisy(kn, &k, &all);
		double p = by_subsets(&k, -1, w, v);

		assert_non_null(s);
		worst = fmax(worst, fabs(exp(s->log_evidence) / p - 1));
		for (int c = 0; c < k.n; c++)
			worst = fmax(worst, fabs(s->now[c] - by_subsets(&k, c, w, v) / p));
		su_free(s);
		random_free(kn);
	}
	print_message("# 60 noisy-or cases against the subset method: largest difference %.2g\n", worst);
	assert_true(worst < 1e-12);
	mem_free(v);
	mem_free(w);
}

/* Forty causes are too many to list: what is left out must cover the difference to the subset
 * method, which is exact for any number of faults. */
static void test_left_out_covers_what_the_subset_method_finds(void **state)
{
	double *w = mem_array(1u << FINDINGS, sizeof *w), *v = mem_array(1u << FINDINGS, sizeof *v);
	double largest = 0;

	(void)state;
	for (int i = 0; i < 8; i++) {
		struct rng r = { 7000 + (uint64_t)i };
		struct noisy k;
		struct kn_knowledge *kn = make_noisy(&r, &k, CAUSES, 3 + i, i % 4, .01);
		struct su_settings part = { 1e-4, 4000, 256 };
		struct su_suspects *s = weigh_noisy(kn, &k, &part);
		double p = by_subsets(&k, -1, w, v), looked;

		assert_non_null(s);
		looked = exp(s->log_evidence) / p;
		assert_true(looked <= 1 + 1e-9 && looked >= 1 - s->left_out - 1e-12);
		for (int c = 0; c < k.n; c++)
			assert_true(fabs(s->now[c] - by_subsets(&k, c, w, v) / p) <= s->left_out + 1e-12);
		largest = fmax(largest, s->left_out);
		su_free(s);
		random_free(kn);
	}
	print_message("# 8 noisy-or cases of %d causes, at most %.2g left out\n", CAUSES, largest);
	mem_free(v);
	mem_free(w);
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
		cmocka_unit_test(test_left_out_covers_what_the_subset_method_finds),
		cmocka_unit_test(test_taken_back_equals_never_given),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
