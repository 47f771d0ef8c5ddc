/* The planner on small problems with known answers.
 *
 * Outside values: the six-state test matrix of Pattipati and Alexandridis (IEEE Trans. SMC 20(4),
 * 1990; table and 2.18 from memory, confirmed by exhaustive search); p/c order of Kadane and Simon
 * and the access cluster of Ottosen and Jensen (arXiv 1203.3502), numbers worked by hand; the drilling
 * decision of Raiffa (Decision Analysis, 1968; chances and payoffs from memory): what the sounding is
 * worth, 12.5, and what knowing would be worth, 35. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <cmocka.h>

#include "base/mem.h"
#include "plan/problem.h"
#include "plan_oracle.h"
#include "fixture.h"

struct small {
	struct pl_problem p;
	struct pl_belief b;
	double rows[8][8][4];   /* check, fault (0: none), cell */
};

static void row_of(void *about, const struct pl_check_option *c, const struct pl_set *s, double *out)
{
	struct small *k = about;
	int fault = s->n ? s->fault[0] + 1 : 0;

	for (int i = 0; i < c->ncells; i++)
		out[i] = k->rows[c->check][fault][i];
}

static void start(struct small *k, int faults, const double *p, int accesses)
{
	memset(k, 0, sizeof *k);
	pl_problem_start(&k->p);
	k->p.nfaults = faults;
	k->p.row = row_of;
	k->p.about = k;
	k->p.hand_over = 1e6;
	k->p.work_limit = 100000;
	k->p.width = 8;
	k->p.depth = 2;
	k->p.first_width = 40;
	k->p.naccesses = accesses;
	k->p.access = arena_array(k->p.arena, (size_t)accesses, sizeof *k->p.access);
	k->p.access[0] = (struct pl_access){ -1, 0, true, 1 };
	k->p.check = arena_array(k->p.arena, 16, sizeof *k->p.check);
	k->p.remedy = arena_array(k->p.arena, 16, sizeof *k->p.remedy);
	for (int f = 0; f < faults; f++)
		pl_belief_add(&k->b, pl_set_of(&k->p, &f, 1), p[f]);
}

static void add_remedy(struct small *k, int fault, double cost, int access)
{
	struct pl_remedy_option *r = &k->p.remedy[k->p.nremedies];

	*r = (struct pl_remedy_option){ k->p.nremedies, -1, cost, access, 1,
		arena_array(k->p.arena, 1, sizeof(struct pl_clear)) };
	r->clears[0] = (struct pl_clear){ fault, 1 };
	k->p.nremedies++;
}

static void add_check(struct small *k, double cost)
{
	k->p.check[k->p.nchecks] = (struct pl_check_option){ .check = k->p.nchecks, .place = -1,
							     .cost = cost, .ncells = 2 };
	k->p.nchecks++;
}

static void stop(struct small *k)
{
	pl_belief_free(&k->b);
	pl_problem_free(&k->p);
}

/* T-PC: p (.4 .3 .2 .1), c (10 5 2 1): 10.30; with handing over at 8: at once, 8.00; at 12: 10.30. */
static void test_remedies_are_ordered_by_chance_over_cost(void **state)
{
	const double p[] = { .4, .3, .2, .1 }, c[] = { 10, 5, 2, 1 };
	struct small k;
	int first;

	(void)state;
	start(&k, 4, p, 1);
	for (int f = 0; f < 4; f++)
		add_remedy(&k, f, c[f], 0);
	fixture_near(pl_base(&k.p, &k.b, 1, &first), 10.30, 1e-9);
	assert_true(first == 3 || first == 2); /* 1/.1 and 2/.2 are equal */
	k.p.hand_over = 30;
	fixture_near(pl_base(&k.p, &k.b, 1, &first), 10.30, 1e-9);
	k.p.hand_over = 12;
	fixture_near(pl_base(&k.p, &k.b, 1, &first), 10.30, 1e-9);
	k.p.hand_over = 8;
	fixture_near(pl_base(&k.p, &k.b, 1, &first), 8.00, 1e-9);
	assert_int_equal(first, -1);
	stop(&k);
}

/* T-CLUST: three of five remedies inside a cluster that costs 20 to open: 29.40, begun outside. */
static void test_access_is_shared_inside_a_cluster(void **state)
{
	const double p[] = { .30, .25, .20, .15, .10 }, c[] = { 6, 4, 3, 8, 2 };
	struct small k;
	int first;

	(void)state;
	start(&k, 5, p, 2);
	k.p.access[1] = (struct pl_access){ 0, 20, true, 3 };
	for (int f = 0; f < 5; f++)
		add_remedy(&k, f, c[f], f < 3 ? 1 : 0);
	fixture_near(pl_base(&k.p, &k.b, 1, &first), 29.40, 1e-9);
	assert_int_equal(first, 4);
	/* Already open: nothing to pay. By hand, order 3 2 1 5 4 (indices 2 1 0 4 3). */
	fixture_near(pl_base(&k.p, &k.b, 3, &first),
	     3 + .8 * 4 + .55 * 6 + .25 * 2 + .15 * 8, 1e-9);
	stop(&k);
}

/* A cluster that must be closed to try the bike is opened once for what is done inside it: both
 * remedies together, 20 + 6 + 4, not one after the other. */
static void test_closed_cluster_is_entered_once(void **state)
{
	const double p[] = { .5, .5 };
	struct small k;

	(void)state;
	start(&k, 2, p, 2);
	k.p.access[1] = (struct pl_access){ 0, 20, false, 3 };
	add_remedy(&k, 0, 6, 1);
	add_remedy(&k, 1, 4, 1);
	fixture_near(pl_base(&k.p, &k.b, 1, NULL), 30, 1e-9);
	stop(&k);
}

/* Nobody does a repair at all its places and at one of them again before the bike is tried, though that would
 * clear what the first go missed without opening up again. */
static void test_no_repair_twice_before_the_bike_is_tried(void **state)
{
	const double p[] = { .5, .5 };
	struct pl_group groups[PL_GROUPS_MAX];
	struct small k;
	int n;

	(void)state;
	start(&k, 2, p, 2);
	k.p.hand_over = 1000;
	k.p.access[1] = (struct pl_access){ 0, 60, false, 3 };
	add_remedy(&k, 0, 6, 1);
	add_remedy(&k, 0, 2, 1);
	add_remedy(&k, 1, 4, 1);
	k.p.remedy[0].clears[0].p = k.p.remedy[1].clears[0].p = .7;
	pl_base_groups(&k.p, &k.b, 1, groups, &n);
	assert_int_equal(groups[0].n, 3); /* three repairs */
	k.p.remedy[1].remedy = 0;
	k.p.remedy[1].place = 0;
	pl_base_groups(&k.p, &k.b, 1, groups, &n);
	assert_int_equal(groups[0].n, 2); /* one of them at one place of the other */
	assert_int_equal(groups[0].remedy[0], 1);
	assert_int_equal(groups[0].remedy[1], 2);
	stop(&k);
}

/* A repair at 15 minutes, a check that costs half a minute more and disturbs nothing. */
static void test_a_check_as_good_goes_first(void **state)
{
	const double p[] = { .5, .5 };
	struct pl_choice first;
	struct small k;
	double base;

	(void)state;
	start(&k, 2, p, 1);
	k.p.hand_over = 1000;
	add_remedy(&k, 0, 10, 0);
	add_remedy(&k, 1, 10, 0);
	add_check(&k, 5.5);
	k.rows[0][1][0] = k.rows[0][2][1] = 1;
	k.rows[0][0][0] = 1;
	assert_int_equal(pl_first_steps(&k.p, &k.b, 1, &first, 1, &base), 1);
	assert_false(first.check);
	fixture_near(first.value, 15, 1e-9);
	k.p.even = .4;
	pl_first_steps(&k.p, &k.b, 1, &first, 1, &base);
	assert_false(first.check);
	k.p.even = 1;
	pl_first_steps(&k.p, &k.b, 1, &first, 1, &base);
	assert_true(first.check);
	fixture_near(first.value, 15.5, 1e-9);
	stop(&k);
}

static const int dictionary[6][5] = {
	{ 0, 0, 0, 0, 0 }, { 0, 1, 0, 0, 1 }, { 0, 0, 1, 1, 0 },
	{ 1, 0, 0, 1, 1 }, { 1, 1, 0, 0, 0 }, { 1, 1, 1, 1, 0 },
};

/* Tests until the state is known when the most informative one is always taken. */
static double by_information(struct small *k, const struct pl_belief *b)
{
	struct pl_belief after = { 0 };
	double most = 1e-9, cost = 1;
	int best = -1;

	for (int t = 0; t < k->p.nchecks; t++)
		if (pl_information(&k->p, b, t) > most + 1e-12) {
			most = pl_information(&k->p, b, t);
			best = t;
		}
	if (best < 0)
		return 0;
	for (int o = 0; o < 2; o++) {
		double share = pl_belief_cell(&k->p, b, best, o, &after);

		cost += share > 0 ? share * by_information(k, &after) : 0;
	}
	pl_belief_free(&after);
	return cost;
}

/* T-SEQ1: knowing the state ends it; a remedy per state that costs a great deal when it is wrong
 * makes the planner find out first.  Expected tests 2.18; information alone would start with t1. */
static void test_six_state_matrix_starts_with_the_second_test(void **state)
{
	const double p[] = { .70, .01, .02, .10, .05, .12 }, dear = 1000;
	struct pl_choice c[4];
	struct small k;
	double base, most = 0;
	int n, best_bits = -1;

	(void)state;
	start(&k, 6, p, 1);
	for (int f = 0; f < 6; f++)
		add_remedy(&k, f, dear, 0);
	for (int t = 0; t < 5; t++) {
		add_check(&k, 1);
		for (int f = 0; f < 6; f++)
			k.rows[t][f + 1][dictionary[f][t]] = 1;
		k.rows[t][0][0] = 1;
	}
	for (int t = 0; t < 5; t++)
		if (pl_information(&k.p, &k.b, t) > most) {
			most = pl_information(&k.p, &k.b, t);
			best_bits = t;
		}
	assert_int_equal(best_bits, 0);
	fixture_near(most, .8415, 5e-5);
	fixture_near(by_information(&k, &k.b), 2.86, 1e-9);
	k.p.depth = 3;
	n = pl_first_steps(&k.p, &k.b, 1, c, 4, &base);
	assert_true(n > 0 && c[0].check);
	assert_int_equal(c[0].option, 1);
	fixture_near(c[0].value - dear, 2.18, 1e-9);
	stop(&k);
}

/* Drilling costs 70 and pays 120 when wet, 270 when soaking; chances .5 dry, .3 wet, .2 soaking.  As a
 * repair of 70 minutes against handing over at 270: it cures what soaks and 4 of 9 that are wet. */
static void test_drilling_is_worth_a_sounding_of_twelve_and_a_half(void **state)
{
	const double p[] = { .5, .3 * 5 / 9, .3 * 4 / 9, .2 };
	const double sounding[4][3] = { { .6, .3, .1 }, { .3, .4, .3 }, { .3, .4, .3 }, { .1, .4, .5 } };
	const int ground[4] = { 0, 1, 1, 2 };
	struct pl_remedy_option *drill;
	struct small k;

	(void)state;
	start(&k, 4, p, 1);
	k.p.hand_over = 270;
	add_remedy(&k, 2, 70, 0);
	drill = &k.p.remedy[0];
	drill->nclears = 2;
	drill->clears = arena_array(k.p.arena, 2, sizeof *drill->clears);
	drill->clears[0] = (struct pl_clear){ 2, 1 };
	drill->clears[1] = (struct pl_clear){ 3, 1 };
	for (int t = 0; t < 2; t++) {
		add_check(&k, 0);
		k.p.check[t].ncells = 3;
		for (int f = 0; f < 4; f++)
			for (int o = 0; o < 3; o++)
				k.rows[t][f + 1][o] = t ? ground[f] == o : sounding[f][o];
	}
	fixture_near(pl_base(&k.p, &k.b, 1, NULL), 270 - 20, 1e-9);
	fixture_near(pl_check_value(&k.p, &k.b, 1, 0, 1, INFINITY), 270 - 20 - 12.5, 1e-9);
	fixture_near(pl_check_value(&k.p, &k.b, 1, 1, 1, INFINITY), 270 - 20 - 35, 1e-9);
	stop(&k);
}

/* The prefix is not cut at the first loss: behind an opening of 3 the first repair leaves it at
 * 3 + 1 + .6 x 6 = 7.6, above handing over at 6; all four come to 3 + 1 + .6 + .3 + .1 = 5. */
static void test_all_prefixes_are_tried(void **state)
{
	const double p[] = { .4, .3, .2, .1 };
	struct small k;
	int first;

	(void)state;
	start(&k, 4, p, 2);
	k.p.access[1] = (struct pl_access){ 0, 3, true, 3 };
	for (int f = 0; f < 4; f++)
		add_remedy(&k, f, 1, 1);
	k.p.hand_over = 6;
	fixture_near(pl_base(&k.p, &k.b, 1, &first), 5, 1e-9);
	assert_int_equal(first, 0);
	stop(&k);
}

/* One repair of 100 for two suspects: a look of 5 decides nothing about what to do, and is done first for
 * what it says about which of them it was.  The minutes shown are those of asking and repairing. */
static void test_a_look_comes_before_a_long_repair(void **state)
{
	const double p[] = { .5, .5 };
	struct pl_choice c[4];
	int label[2] = { 0, 1 };
	struct small k;
	double base;

	(void)state;
	start(&k, 2, p, 1);
	k.p.label = label;
	k.p.nlabels = 2;
	add_remedy(&k, 0, 100, 0);
	k.p.remedy[0].nclears = 2;
	k.p.remedy[0].clears = arena_array(k.p.arena, 2, sizeof *k.p.remedy[0].clears);
	k.p.remedy[0].clears[0] = (struct pl_clear){ 0, 1 };
	k.p.remedy[0].clears[1] = (struct pl_clear){ 1, 1 };
	add_check(&k, 5);
	k.rows[0][0][0] = k.rows[0][1][0] = k.rows[0][2][1] = 1;
	assert_true(pl_first_steps(&k.p, &k.b, 1, c, 4, &base) == 2 && !c[0].check);
	fixture_near(pl_weighed(&c[0]), 100, 1e-9);

	k.p.doubt = 1;
	k.p.look = 4;
	k.p.dear = 60;
	assert_true(pl_first_steps(&k.p, &k.b, 1, c, 4, &base) == 2 && c[0].check);
	fixture_near(c[0].value, 105, 1e-9);
	fixture_near(c[0].charge, 50 - 4 * 50, 1e-9);
	fixture_near(c[1].value, 100, 1e-9);
	fixture_near(c[1].charge, 50, 1e-9); /* which of the two is in doubt, though it clears either */
	k.p.dear = 103; /* with the handling not longer than that: no caution */
	assert_true(pl_first_steps(&k.p, &k.b, 1, c, 4, &base) == 2 && !c[0].check);

	k.p.dear = 60;
	k.p.nchecks = 0;
	k.p.hand_over = 300;
	k.p.remedy[0].nclears = 1; /* in vain as often as not, and no more in doubt than before */
	pl_first_steps(&k.p, &k.b, 1, c, 4, &base);
	fixture_near(c[0].value, 100 + .5 * 300, 1e-9);
	fixture_near(c[0].charge, 50, 1e-9);
	k.p.nchecks = 1;
	stop(&k);
}

/* One repair of 100 that clears any of three, none likelier there than absent; one check that points at the first
 * with `tells` above even. */
static void three_poor_suspects(struct small *k, int *label, double tells)
{
	static const double p[] = { .4, .3, .3 };

	start(k, 3, p, 1);
	add_remedy(k, 0, 100, 0);
	k->p.remedy[0].nclears = 3;
	k->p.remedy[0].clears = arena_array(k->p.arena, 3, sizeof *k->p.remedy[0].clears);
	add_check(k, 5);
	for (int f = 0; f < 3; f++)
		k->p.remedy[0].clears[f] = (struct pl_clear){ f, 1 };
	for (int f = 0; f < 4; f++) {
		k->rows[0][f][0] = .5 + (f == 1 ? tells : -tells); /* row 1: the first */
		k->rows[0][f][1] = 1 - k->rows[0][f][0];
	}
	for (int f = 0; f < 3; f++)
		label[f] = f;
	k->p.label = label;
	k->p.nlabels = 3;
	k->p.look = 1e-3;
	k->p.unlikely = 5;
	k->p.dear = 60;
}

/* Likely, and one check that can clear it without making another as likely: the expected chance of the first
 * suspect stays .8 as it was, but the repair would be begun in one case and not in the other.  By hand: answer 1 at
 * .8 x .9 + .2 x .1 = .74 leaves .72/.74; answer 2 leaves .08/.26 = .308, doubt counted to .5 and no more. */
static void test_a_look_that_can_clear_the_first_suspect_is_worth_it(void **state)
{
	const double less = .2 - (.74 * (1 - .72 / .74) + .26 * .5);
	struct pl_choice c[4];
	struct small k;
	double base;
	double p[] = { .8, .04, .04, .04, .04, .04 };
	int n, label[6];

	(void)state;
	start(&k, 6, p, 1);
	add_remedy(&k, 0, 100, 0);
	for (int f = 1; f < 6; f++)
		add_remedy(&k, f, 300, 0);
	add_check(&k, 20);
	for (int f = 0; f < 7; f++) {
		k.rows[0][f][0] = f == 1 ? .9 : .1; /* row 1: the first */
		k.rows[0][f][1] = 1 - k.rows[0][f][0];
	}
	for (int f = 0; f < 6; f++)
		label[f] = f;
	k.p.label = label;
	k.p.nlabels = 6;
	k.p.dear = 60;
	k.p.look = 10;
	n = pl_first_steps(&k.p, &k.b, 1, c, 4, &base);
	assert_true(n >= 2 && c[0].check);
	fixture_near(c[0].charge, -10 * 100 * less, 1e-9);
	stop(&k);
}

/* A long repair on a suspect likelier absent than there is put off while a look can still make it surer, and
 * begun where none can: nothing is asked for the sake of asking. */
static void test_a_poor_suspect_waits_only_for_a_look_that_tells(void **state)
{
	struct pl_choice c[4];
	struct small k;
	int label[3];
	double base;

	(void)state;
	three_poor_suspects(&k, label, .5);
	assert_true(pl_first_steps(&k.p, &k.b, 1, c, 4, &base) == 2 && c[0].check);
	fixture_near(c[1].charge, 5 * 100, 1e-9);
	stop(&k);
	three_poor_suspects(&k, label, .02); /* adds .02 at most */
	assert_true(pl_first_steps(&k.p, &k.b, 1, c, 4, &base) >= 1 && !c[0].check);
	fixture_near(c[0].charge, 0, 1e-9);
	stop(&k);
}

/* First the repair of the likeliest, then the check that tells the two dear ones apart: looked at three
 * steps ahead.  A look in front of it leaves two steps, too few to see that; it is not valued dearer for it. */
static void test_asking_costs_no_more_than_the_asking(void **state)
{
	const double p[] = { .4, .3, .3 }, cost[] = { 21, 1000, 1000 };
	struct pl_choice c[8];
	int label[3] = { 0, 1, 2 };
	struct small k;
	double base;
	int n, seen = 0;

	(void)state;
	start(&k, 3, p, 1);
	for (int f = 0; f < 3; f++)
		add_remedy(&k, f, cost[f], 0);
	add_check(&k, 30);
	add_check(&k, 2);
	k.p.label = label;
	k.p.nlabels = 3;
	k.p.look = 1e-3;
	k.p.dear = 20;
	for (int f = 0; f < 4; f++) {
		k.rows[0][f][f == 2] = 1;
		k.rows[1][f][0] = f == 1 ? .6 : .4;
		k.rows[1][f][1] = 1 - k.rows[1][f][0];
	}
	n = pl_first_steps(&k.p, &k.b, 1, c, 8, &base);
	assert_true(n >= 3 && !c[0].check);
	for (int i = 1; i < n; i++)
		if (c[i].check && c[i].option == 1) {
			assert_true(c[i].value <= c[0].value + 2 + 1e-9);
			seen++;
		}
	assert_int_equal(seen, 1);
	stop(&k);
}

/* One check of 1 that errs one time in four, two repairs of 100 with even chances: after it the likelier one,
 * 1 + 100 + .25 x 100 = 126, and no second asking of the same, at another place neither, however far looked. */
static void test_what_was_asked_is_not_asked_again(void **state)
{
	const double p[] = { .5, .5 };
	struct small k;

	(void)state;
	start(&k, 2, p, 1);
	for (int f = 0; f < 2; f++)
		add_remedy(&k, f, 100, 0);
	for (int at = 0; at < 2; at++) {
		add_check(&k, 1);
		k.p.check[at].check = 0;
		k.p.check[at].place = at;
	}
	k.rows[0][0][0] = 1;
	for (int f = 0; f < 2; f++) {
		k.rows[0][f + 1][f] = .75;
		k.rows[0][f + 1][1 - f] = .25;
	}
	for (int depth = 1; depth <= 4; depth++)
		fixture_near(pl_check_value(&k.p, &k.b, 1, 0, depth, INFINITY), 126, 1e-9);
	stop(&k);
}

/* Seven suspects, each with a sure look of 2 minutes (the last by what is left) behind an opening of 60, and a
 * repair of 150; handing over 500.  No repair pays unasked, no single look does, all in a row do: 60, the looks
 * until one finds it ((1 + 2 + 3 + 4 + 5 + 6 + 6) / 7 of them), 150. */
static void test_a_row_of_checks_behind_one_opening(void **state)
{
	double p[7];
	struct pl_choice first[4];
	struct small k;
	double base;

	(void)state;
	for (int f = 0; f < 7; f++)
		p[f] = 1. / 7;
	start(&k, 7, p, 2);
	k.p.access[1] = (struct pl_access){ 0, 60, true, 3 };
	k.p.hand_over = 500;
	k.p.depth = 1;
	for (int f = 0; f < 7; f++)
		add_remedy(&k, f, 150, 0);
	for (int c = 0; c < 6; c++) {
		add_check(&k, 2);
		k.p.check[c].access = 1;
		for (int f = 0; f < 7; f++)
			k.rows[c][f + 1][f == c ? 0 : 1] = 1;
	}
	assert_int_not_equal(pl_first_steps(&k.p, &k.b, 1, first, 4, &base), 0);
	fixture_near(base, 500, 1e-9);
	assert_true(first[0].check);
	fixture_near(first[0].value, 60 + 2 * 27. / 7 + 150, 1e-9);
	stop(&k);
}

/* Against dynamic programming on random problems; the long run is tests/bench_plan.c.  Bounds of
 * this short run: mean .3 %, worst 3 %. */
static void test_close_to_the_optimum(void **state)
{
	double sum = 0;

	(void)state;
	for (int i = 0; i < 12; i++) {
		struct rng r = { 700 + (uint64_t)i };
		struct po_problem q;
		double optimum, cost;

		po_random(&r, 5, 5, 3, .15, &q);
		optimum = po_optimum(&q);
		cost = po_cost(&q, PO_PLANNER);
		assert_true(cost >= optimum * (1 - 1e-9));
		assert_true(cost <= optimum * 1.03);
		sum += cost / optimum - 1;
	}
	assert_true(sum / 12 <= .003);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_remedies_are_ordered_by_chance_over_cost),
		cmocka_unit_test(test_a_row_of_checks_behind_one_opening),
		cmocka_unit_test(test_access_is_shared_inside_a_cluster),
		cmocka_unit_test(test_closed_cluster_is_entered_once),
		cmocka_unit_test(test_no_repair_twice_before_the_bike_is_tried),
		cmocka_unit_test(test_all_prefixes_are_tried),
		cmocka_unit_test(test_a_check_as_good_goes_first),
		cmocka_unit_test(test_a_look_comes_before_a_long_repair),
		cmocka_unit_test(test_a_look_that_can_clear_the_first_suspect_is_worth_it),
		cmocka_unit_test(test_a_poor_suspect_waits_only_for_a_look_that_tells),
		cmocka_unit_test(test_asking_costs_no_more_than_the_asking),
		cmocka_unit_test(test_what_was_asked_is_not_asked_again),
		cmocka_unit_test(test_close_to_the_optimum),
		cmocka_unit_test(test_drilling_is_worth_a_sounding_of_twelve_and_a_half),
		cmocka_unit_test(test_six_state_matrix_starts_with_the_second_test),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
