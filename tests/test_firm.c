/* Firmness and fit on small knowledge with answers by hand. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <cmocka.h>

#include "base/mem.h"
#include "suspects/suspects.h"

/* Three exclusive causes (modes of one part), a table over them for each of three checks. */
struct small {
	struct kn_knowledge kn;
	struct kn_part part;
	struct kn_mode mode[3];
	struct kn_fault fault[3];
	struct kn_check check[3];
	struct kn_outcome outcome[3][2];
	struct kn_table table[3];
	struct kn_over over[3][3];
	double p[3][8][2];
};

static void make(struct small *k, const double *prior, const double likelihood[][3], int checks)
{
	memset(k, 0, sizeof *k);
	k->part = (struct kn_part){ .id = "part", .title = "part", .kind = KN_NONE, .fitted = true };
	k->kn = (struct kn_knowledge){ .nparts = 1, .parts = &k->part, .nmodes = 3, .modes = k->mode,
		.nfaults = 3, .faults = k->fault, .nchecks = checks, .checks = k->check,
		.number_prior = { 0, 1, 0, 0 }, .max_faults = 1 };
	for (int m = 0; m < 3; m++) {
		k->mode[m] = (struct kn_mode){ .id = "mode", .title = "mode", .ref = "part.mode" };
		k->fault[m] = (struct kn_fault){ 0, m, KN_NONE, false, KN_ALL_SITES, prior[m] };
	}
	for (int c = 0; c < checks; c++) {
		for (int m = 0; m < 3; m++)
			k->over[c][m] = (struct kn_over){ m, KN_NONE };
		for (int row = 0; row < 8; row++) {
			int m = row == 1 ? 0 : row == 2 ? 1 : 2;

			k->p[c][row][0] = likelihood[c][m];
			k->p[c][row][1] = 1 - likelihood[c][m];
		}
		k->outcome[c][0] = (struct kn_outcome){ .id = "yes", .local_kind = KN_NONE };
		k->outcome[c][1] = (struct kn_outcome){ .id = "no", .local_kind = KN_NONE };
		k->table[c] = (struct kn_table){ 3, k->over[c], &k->p[c][0][0] };
		k->check[c] = (struct kn_check){ .id = "check", .kind = KN_MEASUREMENT, .per = KN_NONE,
			.exponent = 1, .same_fact = KN_NONE, .combine = KN_TABLE, .noutcomes = 2,
			.outcomes = k->outcome[c], .table = &k->table[c] };
	}
}

static struct su_evidence said(int check, int outcome)
{
	struct su_evidence e;

	memset(&e, 0, sizeof e);
	e.check = check;
	e.place = KN_NONE;
	e.exponent = 1;
	e.ncells = 2;
	e.share[outcome] = 1;
	return e;
}

/* Priors .5 .3 .2, likelihoods .1 .6 .3 (worked by hand): P(first cause) .172414; cause 2 leads with
 * .18 against .06 of cause 3 and .05 of cause 1, so cause 3 overtakes at a third: factor 3. */
static void test_firmness_by_hand(void **state)
{
	const double prior[] = { .5, .3, .2 }, likelihood[][3] = { { .1, .6, .3 } };
	struct su_settings all = { 0, 1000, 100 };
	struct su_evidence e = said(0, 0);
	struct su_case c = { 1, &e, 0, NULL, 0, false };
	struct su_firmness firm;
	struct su_suspects *s;
	struct small k;

	(void)state;
	make(&k, prior, likelihood, 1);
	s = su_weigh(&k.kn, &c, &all, NULL);
	assert_non_null(s);
	assert_true(fabs(s->mode_now[0] - .172414) < 5e-7);
	su_firm(s, &firm);
	assert_int_equal(firm.first, 1);
	assert_int_equal(firm.second, 2);
	assert_true(fabs(firm.factor - 3) < 1e-12);
	assert_string_equal(firm.word, "leaning");
	su_free(s);
}

/* Two answers for cause 1 and one against it: that one is odd. ln P by hand. */
static void test_odd_answer_is_named(void **state)
{
	const double prior[] = { .4, .3, .3 };
	const double likelihood[][3] = { { .9, .05, .05 }, { .9, .05, .05 }, { .02, .9, .5 } };
	struct su_settings all = { 0, 1000, 100 };
	struct su_evidence e[3] = { said(0, 0), said(1, 0), said(2, 0) };
	struct su_case c = { 3, e, 0, NULL, 0, false };
	struct small k;
	struct su_fit fit;
	double p1 = .4 * .9 + .6 * .05, p3 = .4 * .02 + .3 * .9 + .3 * .5;
	double both = .4 * .81 + .6 * .0025, all3 = .4 * .81 * .02 + .3 * .0025 * .9 + .3 * .0025 * .5;

	(void)state;
	make(&k, prior, likelihood, 3);
	assert_int_equal(su_fits(&k.kn, &c, &all, &fit, NULL), 0);
	assert_int_equal(fit.odd, 2);
	assert_true(fit.bad);
	assert_true(fabs(fit.odd_conflict - log(p3 * both / all3)) < 1e-9);
	assert_true(fabs(fit.conflict - log(p1 * p1 * p3 / all3)) < 1e-9);
	c.nevidence = 2;
	assert_int_equal(su_fits(&k.kn, &c, &all, &fit, NULL), 0);
	assert_true(fit.conflict < 0);
	assert_false(fit.bad);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_firmness_by_hand),
		cmocka_unit_test(test_odd_answer_is_named),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
