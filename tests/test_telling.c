/* The bound from telling suspects apart is below every plan: below the optimum of small problems,
 * where it is compared with the looser bound, and below the best of many short plans where remedies
 * fail, faults come in pairs and one cannot be cleared. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <cmocka.h>

#include "plan/bound.h"
#include "plan/telling.h"
#include "plan_oracle.h"

#define ROUNDS 400

static void test_telling_bound_is_below_the_optimum_always(void **state)
{
	double tight = 0, known = 0;
	int n = 120;

	(void)state;
	for (int i = 0; i < n; i++) {
		struct rng r = { 83000 + (uint64_t)i };
		struct pl_belief b = { 0 };
		struct pl_problem p;
		struct po_problem q;
		double optimum, bound;

		po_random(&r, 4 + i % 3, 4, 1 + i % 4, i % 3 ? .3 : 0, &q);
		optimum = po_optimum(&q);
		po_planning(&q, &p, &b);
		bound = pl_telling_bound(&p, &b, 1, ROUNDS);
		if (!(bound <= optimum * (1 + 1e-9)))
			fail_msg("problem %d: bound %g, optimum %g", i, bound, optimum);
		tight += bound / optimum / n;
		known += pl_lower_bound(&p, &b, 1, 0) / optimum / n;
		pl_belief_free(&b);
		pl_problem_free(&p);
	}
	print_message("bound over optimum, mean of %d: known fault %.3f, telling apart %.3f\n", n, known,
		      tight);
	assert_true(tight > known);
}

/* ---- remedies that fail, faults in pairs ----------------------------------------------------- */

#define FAULTS 4              /* the last one has no remedy */
#define CHECKS 3
#define SETS 6
#define STEPS 4

static const int faults_of[SETS][2] = {
	{ 0, -1 }, { 1, -1 }, { 2, -1 }, { 3, -1 }, { 0, 1 }, { 2, 3 },
};

struct tiny { struct pl_problem p; struct pl_belief b; double rows[CHECKS][1 << FAULTS][3]; };

static void row_of(void *about, const struct pl_check_option *c, const struct pl_set *s,
		   double *out)
{
	struct tiny *t = about;
	int mask = 0;

	for (int i = 0; i < s->n; i++)
		mask |= 1 << s->fault[i];
	memcpy(out, t->rows[c->check][mask], sizeof(double) * (size_t)c->ncells);
}

static void make_rows(struct tiny *t, struct rng *r)
{
	for (int c = 0; c < CHECKS; c++)
		for (int m = 0; m < 1 << FAULTS; m++) {
			double sum = 0;

			for (int o = 0; o < 3; o++)
				sum += t->rows[c][m][o] = pow(rng_real(r), 4) + .01;
			for (int o = 0; o < 3; o++)
				t->rows[c][m][o] /= sum;
		}
}

/* Remedy 0 clears fault 0, 1 clears 1 and mostly 0, 2 clears 2. */
static void make_remedies(struct tiny *t, struct rng *r)
{
	static const int clears[3][2] = { { 0, -1 }, { 1, 0 }, { 2, -1 } };

	t->p.remedy = arena_array(t->p.arena, 3, sizeof *t->p.remedy);
	t->p.nremedies = 3;
	for (int i = 0; i < 3; i++) {
		struct pl_remedy_option *o = &t->p.remedy[i];

		*o = (struct pl_remedy_option){ .remedy = i, .place = -1, .cost = 2 + 40 * rng_real(r),
			.access = rng_below(r, 3) };
		o->clears = arena_array(t->p.arena, 2, sizeof *o->clears);
		for (int c = 0; c < 2; c++)
			if (clears[i][c] >= 0)
				o->clears[o->nclears++] = (struct pl_clear){ clears[i][c], .5 + .5 * rng_real(r) };
	}
}

static void make(struct tiny *t, struct rng *r)
{
	double w[SETS], sum = 0;

	memset(t, 0, sizeof *t);
	pl_problem_start(&t->p);
	t->p.nfaults = FAULTS;
	t->p.handling = 3;
	t->p.hand_over = 100 + 100 * rng_real(r);
	t->p.row = row_of;
	t->p.about = t;
	t->p.naccesses = 3; /* 2 is behind 1, which has to be closed to try the bike half the time */
	t->p.access = arena_array(t->p.arena, 3, sizeof *t->p.access);
	t->p.access[0] = (struct pl_access){ -1, 0, true, 1 };
	t->p.access[1] = (struct pl_access){ 0, 20 * rng_real(r), rng_below(r, 2) == 0, 3 };
	t->p.access[2] = (struct pl_access){ 1, 20 * rng_real(r), true, 7 };
	t->p.check = arena_array(t->p.arena, CHECKS, sizeof *t->p.check);
	t->p.nchecks = CHECKS;
	for (int c = 0; c < CHECKS; c++)
		t->p.check[c] = (struct pl_check_option){ .check = c, .place = -1, .cost = 2 + 10 * rng_real(r),
			.access = rng_below(r, 3), .engine = rng_below(r, 3) == 0, .ncells = 3 };
	make_rows(t, r);
	make_remedies(t, r);
	for (int s = 0; s < SETS; s++)
		sum += w[s] = rng_real(r) + .05;
	for (int s = 0; s < SETS; s++)
		pl_belief_add(&t->b, pl_set_of(&t->p, faults_of[s], faults_of[s][1] < 0 ? 1 : 2), w[s] / sum);
}

/* The best plan of so many steps, then handing over: never better than the optimum. */
static double best_plan(struct tiny *t, const struct pl_belief *b, uint64_t open, int asked,
			int steps)
{
	double best = pl_belief_uncured(b) * t->p.hand_over;
	struct pl_belief after = { 0 };

	for (int c = 0; c < CHECKS && steps; c++) {
		double cost = pl_check_cost(&t->p, open, c) * pl_belief_uncured(b);

		for (int o = 0; o < 3 && !(asked >> c & 1); o++) {
			double share = pl_belief_cell(&t->p, b, c, o, &after);

			cost += share * best_plan(t, &after, pl_after_check(&t->p, open, c), asked | 1 << c, steps - 1);
		}
		best = asked >> c & 1 ? best : fmin(best, cost);
	}
	for (int set = 1; set < 8 && steps; set++) {
		struct pl_group g = { 0 };
		uint64_t then = open;
		double cost, left;

		for (int i = 0; i < 3; i++)
			if (set >> i & 1) {
				g.remedy[g.n++] = i;
				then = pl_after_remedy(&t->p, then | t->p.access[t->p.remedy[i].access].path, i);
			}
		cost = pl_group_cost(&t->p, open, &g) * pl_belief_uncured(b);
		left = pl_belief_repaired(&t->p, b, &g, &after);
		if (left > 0)
			cost += left * best_plan(t, &after, then, asked, steps - 1);
		best = fmin(best, cost);
	}
	pl_belief_free(&after);
	return best;
}

static void test_telling_bound_is_below_plans_with_remedies_that_fail(void **state)
{
	double tight = 0;
	int n = 100;

	(void)state;
	for (int i = 0; i < n; i++) {
		struct rng r = { 84000 + (uint64_t)i };
		static struct tiny t;
		double plan, bound;

		make(&t, &r);
		plan = best_plan(&t, &t.b, 1, 0, STEPS);
		bound = pl_telling_bound(&t.p, &t.b, 1, ROUNDS);
		if (!(bound <= plan * (1 + 1e-9)))
			fail_msg("problem %d: bound %g, a plan %g", i, bound, plan);
		tight += bound / plan / n;
		pl_belief_free(&t.b);
		pl_problem_free(&t.p);
	}
	print_message("bound over the best plan of %d steps, mean of %d: %.3f\n", STEPS, n, tight);
	assert_true(tight > .5);
}

/* Every multiplier gives a bound: few rounds are as safe as many, and no better. */
static void test_more_rounds_only_raise_the_telling_bound(void **state)
{
	struct rng r = { 85000 };
	static struct tiny t;
	double before = 0;

	(void)state;
	make(&t, &r);
	for (int rounds = 50; rounds <= 800; rounds *= 2) {
		double bound = pl_telling_bound(&t.p, &t.b, 1, rounds);

		assert_true(bound >= before);
		before = bound;
	}
	assert_true(before > 0);
	pl_belief_free(&t.b);
	pl_problem_free(&t.p);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_telling_bound_is_below_the_optimum_always),
		cmocka_unit_test(test_telling_bound_is_below_plans_with_remedies_that_fail),
		cmocka_unit_test(test_more_rounds_only_raise_the_telling_bound),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
