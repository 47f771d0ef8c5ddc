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
#include "suspects/table.h"

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

/* What the cases of a run had in them: a feature that no case has is not tested. */
struct seen_features { int cases, places, everywhere, gates, tables, noisy_or, repeats, shared, soft, unsure,
	partial, bench_work, repairs, two_repairs, together, still, impossible; double worst; };

static void count_checks(const struct kn_knowledge *kn, const struct su_case *c, struct seen_features *f)
{
	bool table = false, noisy = false, gate = false, again = false, fact = false, soft = false,
	     still = false;

	for (int i = 0; i < c->nevidence; i++) {
		const struct su_evidence *e = &c->evidence[i];
		const struct kn_check *k = &kn->checks[e->check];

		table = table || k->combine == KN_TABLE;
		noisy = noisy || k->combine == KN_NOISY_OR;
		for (int o = 0; o < k->noutcomes; o++)
			gate = gate || (k->combine != KN_TABLE && k->outcomes[o].ngate_votes);
		for (int o = 0; o < i; o++) {
			const struct su_evidence *b = &c->evidence[o];

			again = again || (b->check == e->check && b->place == e->place && b->epoch != e->epoch);
			fact = fact || (b->check != e->check && k->same_fact != KN_NONE &&
					k->same_fact == kn->checks[b->check].same_fact && b->epoch == e->epoch);
		}
		for (int x = 0; x < e->ncells; x++)
			soft = soft || (e->share[x] > 0 && e->share[x] < 1);
		f->unsure += e->exponent > 0 && e->exponent < 1;
	}
	for (int i = 0; i < c->nevidence && !still; i++)
		for (int o = 0; o < c->nevidence && !still; o++) {
			const struct su_evidence *e = &c->evidence[i], *b = &c->evidence[o];
			int yes = kn->checks[e->check].outcomes[0].rest ? 1 : 0;

			still = kn->checks[e->check].kind == KN_SYMPTOM && b->check == e->check && e->epoch &&
				!b->epoch && e->share[yes] > .5 && b->share[yes] > .5 &&
				e->exponent > 0 && b->exponent > 0;
		}
	f->still += still;
	f->tables += table;
	f->noisy_or += noisy;
	f->gates += gate;
	f->repeats += again;
	f->shared += fact;
	f->soft += soft;
}

static void count_features(const struct kn_knowledge *kn, const struct su_case *c, struct seen_features *f)
{
	bool place = false, all = false, partial = false, work = false;

	for (int i = 0; i < kn->nfaults; i++) {
		place = place || kn->faults[i].place != KN_NONE;
		all = all || kn->faults[i].all;
	}
	for (int r = 0; r < c->nrepairs; r++) {
		const struct kn_remedy *m = &kn->remedies[c->repairs[r].remedy];

		work = work || m->bench_work;
		for (int i = 0; i < m->nclears; i++)
			partial = partial || m->clears[i].p < 1;
	}
	f->cases++;
	f->places += place;
	f->everywhere += all;
	f->partial += partial;
	f->bench_work += work;
	f->repairs += c->nrepairs > 0;
	f->two_repairs += c->nrepairs > 1;
	f->together += kn->ntogether > 0;
	count_checks(kn, c, f);
}

/* One random case both ways: everything to 1e-12, or both find that nothing can give the answers. */
static void agree_on(uint64_t seed, const struct random_size *size, struct seen_features *f)
{
	struct su_settings all = { 0, 100000000, 4096 };
	struct rng r = { seed };
	struct random_size own = *size;
	struct kn_knowledge *kn;
	struct hs_err err = { 0 };
	struct su_suspects *s;
	struct oracle o;
	struct su_case c;
	double d;

	own.faults = 4 + rng_below(&r, size->faults - 3);
	own.checks = 2 + rng_below(&r, 5);
	kn = random_knowledge(&r, &own);
	random_case(&r, kn, 1 + rng_below(&r, 6), size->repairs, &c);
	count_features(kn, &c, f);
	oracle_weigh(kn, &c, &o);
	s = su_weigh(kn, &c, &all, &err);
	if (!(o.total > 0)) {
		assert_null(s);
		assert_int_equal(err.code, HS_BAD_INPUT);
		f->impossible++;
	} else {
		if (!s)
			fail_msg("seed %llu: %s", (unsigned long long)seed, err.text);
		assert_true(s->left_out == 0);
		d = worst(s, &o);
		f->worst = fmax(f->worst, d);
		if (!(d <= 1e-12))
			fail_msg("seed %llu: off by %g", (unsigned long long)seed, d);
	}
	su_free(s);
	random_case_free(&c);
	random_free(kn);
}

static void agree(uint64_t seed, const struct random_size *size, int cases, struct seen_features *f)
{
	for (int i = 0; i < cases; i++)
		agree_on(seed + (uint64_t)i, size, f);
}

/* 1,000 cases of up to 15 causes, before any repair, across one and two of them, and with
 * independent priors, where every number of faults up to all of them is possible. */
static void test_agrees_with_the_oracle(void **state)
{
	struct seen_features f = { 0 };

	(void)state;
	agree(1000, &(struct random_size){ .faults = 15 }, 350, &f);
	agree(5000, &(struct random_size){ .faults = 15, .repairs = true }, 450, &f);
	agree(9000, &(struct random_size){ .faults = 11, .independent = true }, 150, &f);
	agree(9500, &(struct random_size){ .faults = 11, .independent = true, .repairs = true }, 40, &f);
	agree(9800, &(struct random_size){ .faults = 15, .independent = true }, 10, &f);
	assert_int_equal(f.cases, 1000);
	print_message("# %d cases, largest difference %.2g; with places %d, all-of-them %d, gates %d, tables %d, "
		      "noisy-or %d, soft answers %d, unsure %d, shared facts %d, repairs %d (two %d), partial %d, "
		      "bench work %d, asked again %d, pairs %d, still there %d, impossible %d\n", f.cases, f.worst, f.places,
		      f.everywhere, f.gates, f.tables, f.noisy_or, f.soft, f.unsure, f.shared, f.repairs,
		      f.two_repairs, f.partial, f.bench_work, f.repeats, f.together, f.still, f.impossible);
	assert_true(f.places > 100 && f.everywhere > 100 && f.gates > 100 && f.tables > 100);
	assert_true(f.noisy_or > 100 && f.soft > 100 && f.unsure > 100 && f.shared > 100);
	assert_true(f.repairs > 100 && f.two_repairs > 100 && f.partial > 100 && f.bench_work > 100);
	assert_true(f.repeats > 50 && f.still > 50 && f.together > 100 && f.impossible > 0 && f.impossible < 100);
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

static void random_answer(struct rng *r, struct su_table *t, struct su_evidence *e)
{
	int n = su_table_ncells(t);

	memset(e, 0, sizeof *e);
	e->place = KN_NONE;
	e->ncells = n;
	e->exponent = (double[]){ 1, .85, .5, 2 }[rng_below(r, 4)];
	e->share[rng_below(r, n)] += .75;
	e->share[rng_below(r, n)] += .25;
}

/* No join raises a likelihood by more than su_table_rise() says, from whatever state; where it says
 * nothing, nothing is asserted, but that must be the lesser part.  At its sharpest it is nearly reached. */
static void test_no_join_raises_more_than_said(void **state)
{
	int said = 0, silent = 0;
	double closest = 0;

	(void)state;
	for (int i = 0; i < 400; i++) {
		struct rng r = { 50000 + (uint64_t)i };
		struct random_size size = { 12, 4, false, false, i % 2 ? 4 : 0 };
		struct kn_knowledge *kn = random_knowledge(&r, &size);
		struct su_table *t = su_table_new(kn, rng_below(&r, kn->nchecks), KN_NONE);
		struct su_evidence e;

		assert_non_null(t);
		random_answer(&r, t, &e);
		for (int walk = 0; walk < 40; walk++) {
			int at = su_table_none(t), class_no = rng_below(&r, su_table_nclasses(t));
			double rise = su_table_rise(t, class_no, &e), was, is;

			for (int k = rng_below(&r, 4); k > 0; k--)
				at = su_table_join_class(t, at, rng_below(&r, su_table_nclasses(t)));
			was = su_table_likelihood(t, at, &e);
			is = su_table_likelihood(t, su_table_join_class(t, at, class_no), &e);
			if (isinf(rise))
				silent++;
			else if (was > 0) {
				assert_true(is <= was * rise);
				said++;
				closest = fmax(closest, rise > 1.5 ? is / (was * rise) : 0);
			}
		}
		su_table_free(t);
		random_free(kn);
	}
	print_message("# %d joins within what is said, the closest at %.3f of it, %d with nothing said\n", said,
		      closest, silent);
	assert_true(said > 2 * silent && closest > .95);
}

static void shuffle(struct rng *r, struct su_evidence *e, int n)
{
	for (int i = n - 1; i > 0; i--) {
		int k = rng_below(r, i + 1);
		struct su_evidence x = e[i];

		e[i] = e[k];
		e[k] = x;
	}
}

/* Bit for bit, which is more than the 1e-12 that is promised. */
static void test_order_of_answers_changes_nothing(void **state)
{
	int compared = 0;

	(void)state;
	for (int i = 0; i < 200; i++) {
		struct rng r = { 30000 + (uint64_t)i };
		struct random_size size = { 12, 5, i % 4 == 0, true, 0 };
		struct kn_knowledge *kn = random_knowledge(&r, &size);
		struct su_evidence turned[6];
		struct su_suspects *a, *b;
		struct su_case c, d;

		random_case(&r, kn, 6, true, &c);
		d = c;
		d.evidence = turned;
		memcpy(turned, c.evidence, sizeof turned);
		shuffle(&r, turned, 6);
		a = su_weigh(kn, &c, NULL, NULL);
		b = su_weigh(kn, &d, NULL, NULL);
		assert_int_equal(a == NULL, b == NULL);
		if (a) {
			size_t n = sizeof(double) * (size_t)kn->nfaults;

			assert_memory_equal(a->now, b->now, n);
			assert_memory_equal(a->was, b->was, n);
			assert_memory_equal(&a->log_evidence, &b->log_evidence, sizeof(double));
			compared++;
		}
		su_free(a);
		su_free(b);
		random_case_free(&c);
		random_free(kn);
	}
	assert_true(compared > 150);
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
		cmocka_unit_test(test_agrees_with_the_oracle),
		cmocka_unit_test(test_bound_holds_when_stopped_early),
		cmocka_unit_test(test_lumped_sets_equal_single_ones),
		cmocka_unit_test(test_no_join_raises_more_than_said),
		cmocka_unit_test(test_order_of_answers_changes_nothing),
		cmocka_unit_test(test_why_multiplies_up_to_the_odds),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
