/* Excess of the planner over the exact optimum on 200 random problems, by the limits and the code
 * path of the job's advice; beside it a pure information-gain rule and one blind to access.  Then the
 * time of one advice on large problems: causes, checks of 4 answers, 12 access states. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "plan_oracle.h"

static int rising(const void *a, const void *b)
{
	double x = *(const double *)a, y = *(const double *)b;

	return (x > y) - (x < y);
}

#define ANSWERS 4
#define ACCESSES 12
#define RUNS 9

static double now_ms(void)
{
	struct timespec t;

	clock_gettime(CLOCK_MONOTONIC, &t);
	return (double)t.tv_sec * 1e3 + (double)t.tv_nsec * 1e-6;
}

static void large_row(void *about, const struct pl_check_option *c, const struct pl_set *s, double *out)
{
	uint64_t at = (uint64_t)c->check * 1000 + (uint64_t)(s->n ? s->fault[0] + 1 : 0);
	struct rng r = { at * 2654435761u };
	double sum = 0;

	(void)about;
	for (int i = 0; i < c->ncells; i++)
		sum += out[i] = rng_below(&r, 4) ? .02 + .1 * rng_real(&r) : .5 + rng_real(&r);
	for (int i = 0; i < c->ncells; i++)
		out[i] /= sum;
}

static void large_options(struct pl_problem *p, struct rng *r, int causes, int checks)
{
	p->naccesses = ACCESSES;
	p->access = arena_array(p->arena, ACCESSES, sizeof *p->access);
	for (int a = 0; a < ACCESSES; a++) {
		int parent = a ? rng_below(r, a) : -1;

		p->access[a] = (struct pl_access){ parent, a ? 5 + 40 * rng_real(r) : 0, rng_below(r, 2) || !a,
			(uint64_t)1 << a | (a ? p->access[parent].path : 0) };
	}
	p->check = arena_array(p->arena, (size_t)checks, sizeof *p->check);
	for (p->nchecks = 0; p->nchecks < checks; p->nchecks++)
		p->check[p->nchecks] = (struct pl_check_option){ .check = p->nchecks, .place = -1,
			.cost = 1 + 19 * rng_real(r), .access = rng_below(r, ACCESSES), .ncells = ANSWERS };
	p->remedy = arena_array(p->arena, (size_t)causes, sizeof *p->remedy);
	for (p->nremedies = 0; p->nremedies < causes; p->nremedies++) {
		struct pl_remedy_option *o = &p->remedy[p->nremedies];

		*o = (struct pl_remedy_option){ p->nremedies, -1, 2 * pow(60, rng_real(r)),
			rng_below(r, ACCESSES), 1, arena_array(p->arena, 1, sizeof(struct pl_clear)) };
		o->clears[0] = (struct pl_clear){ p->nremedies, .95 };
	}
}

/* The first advice of a job of this size, rows worked out and all: nothing is kept from before. */
static double large_ms(int causes, int checks, uint64_t seed)
{
	struct rng r = { seed };
	struct pl_problem p;
	struct pl_belief b = { 0 };
	struct pl_choice c[3];
	double base, begun = now_ms(), ms;
	int *label;

	pl_problem_start(&p);
	pl_limits(&p);
	p.nfaults = p.nlabels = causes;
	p.label = label = arena_array(p.arena, (size_t)causes, sizeof *label);
	p.handling = 3;
	p.hand_over = 600;
	p.doubt = 1.5;
	p.look = 4;
	p.dear = 60;
	p.row = large_row;
	large_options(&p, &r, causes, checks);
	for (int f = 0; f < causes; f++) {
		label[f] = f;
		pl_belief_add(&b, pl_set_of(&p, &f, 1), 1.0 / causes);
	}
	pl_first_steps(&p, &b, 1, c, 3, &base);
	ms = now_ms() - begun;
	pl_belief_free(&b);
	pl_problem_free(&p);
	return ms;
}

static double median_ms(int causes, int checks)
{
	double ms[RUNS];

	for (int i = 0; i < RUNS; i++)
		ms[i] = large_ms(causes, checks, 900 + (uint64_t)i);
	qsort(ms, RUNS, sizeof *ms, rising);
	return ms[RUNS / 2];
}

static void large(void)
{
	static const int causes[] = { 50, 100, 200, 400 };

	for (size_t i = 0; i < sizeof causes / sizeof *causes; i++) {
		double ms = median_ms(causes[i], causes[i] * 3 / 2);

		printf("plan.growth_%d_causes_%d_checks_ms = %.1f ms\n", causes[i], causes[i] * 3 / 2, ms);
		if (causes[i] == 200)
			printf("plan.large_ms = %.1f ms\n", ms);
	}
}

int main(int argc, char **argv)
{
	int n = argc > 1 ? atoi(argv[1]) : 200;
	uint64_t seed = argc > 2 ? strtoull(argv[2], NULL, 10) : 5000;
	double *excess = calloc((size_t)n, sizeof *excess), sum[3] = { 0 };

	for (int i = 0; i < n; i++) {
		struct rng r = { seed + (uint64_t)i };
		struct po_problem q;
		double optimum;

		po_random(&r, 6 + i % 2, 6, 3 + i % 2, .15, &q);
		optimum = po_optimum(&q);
		for (int rule = 0; rule < 3; rule++) {
			double over = 100 * (po_cost(&q, (enum po_rule)rule) / optimum - 1);

			sum[rule] += over;
			if (rule == PO_PLANNER)
				excess[i] = over;
		}
	}
	for (int i = 0; i < n && getenv("BENCH_DETAIL"); i++)
		fprintf(stderr, "%d: %.2f %%\n", i, excess[i]);
	qsort(excess, (size_t)n, sizeof *excess, rising);
	printf("plan.excess_mean_pct = %.3f %%\n", sum[PO_PLANNER] / n);
	printf("plan.excess_p95_pct = %.2f %%\n", excess[n * 95 / 100]);
	printf("plan.excess_max_pct = %.2f %%\n", excess[n - 1]);
	printf("plan.gain_rule_excess_mean_pct = %.1f %%\n", sum[PO_GAIN] / n);
	printf("plan.access_blind_excess_mean_pct = %.1f %%\n", sum[PO_BLIND] / n);
	free(excess);
	large();
	return 0;
}
