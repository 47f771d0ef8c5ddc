/* A lower bound on any plan, from what it takes to tell one suspect from another.
 *
 * A world is a fault set.  In world g a plan asks check c with probability ask(g, c), does remedy r
 * with mend(g, r), opens access state a with open(g, a) and hands over with over(g).  Whatever the
 * plan:
 *
 *   telling  its answers can lead it to a remedy of h in world h and not in world g only as far as
 *            the checks it asks answer differently: the distance of its two histories is at most the
 *            sum of ask(g, c) times the distance of the rows of c;
 *   clearing every fault of a world is cleared, or the bike is handed over;
 *   needing  what is behind an access state is not reached without opening it.
 *
 * These are linear, and so is the cost: the least cost under them is a bound.  It is approached
 * from below by a primal-dual method (Chambolle and Pock 2011, step sizes of Pock and Chambolle 2011;
 * both from memory); the bound is the dual value at its multipliers, valid wherever it stops.  The
 * proof is in docs/method.md 6. */
#include <math.h>
#include <string.h>

#include "plan/bound.h"
#include "plan/telling.h"

#define REFERENCES 16         /* worlds, the heaviest, that the others are told from */
#define RULES 3               /* ways to write one pair's distance */
#define LOOK_EVERY 50         /* rounds between two looks at the bound */
#define ACCESSES_MAX 64

/* Distances: total variation, and the relative entropy twice, its convex bound kl(1 - m, o) touched
 * at (a, o): sum of entropy x ask  >=  kl + dkl/da (1 - m - a) + dkl/do (over - o), divided by
 * -dkl/do. */
static const struct { double a, o; } touched[RULES] = { { 0, 0 }, { .95, .5 }, { .97, .2 } };

struct rule { double need, mend, scale; };      /* scale x distance + mend x m + over >= need */

struct pair { int g, h; bool entropy; };

struct telling {
	struct pl_problem *p;
	const struct pl_belief *b;
	uint64_t open;
	int nworlds, nchecks, nremedies, naccesses;
	int columns;                    /* of a world: checks, remedies, accesses, handing over */
	unsigned char *touch;           /* [nworlds][nremedies] it clears one of the world's faults */
	bool *curable;                  /* [nworlds] */
	struct rule rule[RULES];
	int npairs; struct pair *pair;
	double *variation, *entropy;    /* [npairs][nchecks] */
	double *at, *ahead, *step;      /* [nworlds][columns] plan, plan a step on, 1 / step size */
	double *pull;                   /* [nworlds][columns] what the multipliers take off a cost */
	double *telling, *telling_step; /* [npairs][RULES] multipliers, step sizes */
	double *clearing, *clearing_step; /* [nworlds][PL_SET_FAULTS][2]: some remedy; often enough */
	double *needing, *needing_step; /* [nworlds][columns]; [nworlds] */
	double scale;                   /* minutes: what multipliers are about */
};

static const struct pl_set *set_of(const struct telling *t, int world)
{
	return &t->p->set[t->b->set[world]];
}

static double *of_world(const struct telling *t, double *all, int world)
{
	return all + (size_t)world * (size_t)t->columns;
}

static int remedy_column(const struct telling *t, int remedy)
{
	return t->nchecks + remedy;
}

static int access_column(const struct telling *t, int access)
{
	return t->nchecks + t->nremedies + access;
}

static int over_column(const struct telling *t)
{
	return t->columns - 1;
}

/* The access column that a column needs; -1: none. */
static int needs(const struct telling *t, int column)
{
	int access = column < t->nchecks ? t->p->check[column].access
		     : column < access_column(t, 0) ? t->p->remedy[column - t->nchecks].access
						    : t->p->access[column - access_column(t, 0)].parent;

	return access > 0 ? access_column(t, access) : -1;
}

/* Minutes of a column in a world of weight 1. */
static double minutes(const struct telling *t, int column)
{
	int access = column - access_column(t, 0);

	if (column < t->nchecks)
		return t->p->check[column].cost;
	if (access < 0)
		return t->p->remedy[column - t->nchecks].cost;
	if (column == over_column(t)) /* who does not hand over tries the bike at least once */
		return t->p->hand_over - t->p->handling;
	return access == 0 || (t->open >> access & 1) ? 0 : t->p->access[access].cost;
}

/* Chance that the remedy clears the fault. */
static double chance(const struct telling *t, int remedy, int fault)
{
	const struct pl_remedy_option *r = &t->p->remedy[remedy];

	for (int i = 0; i < r->nclears; i++)
		if (r->clears[i].fault == fault)
			return r->clears[i].p;
	return 0;
}

/* ---- making it ------------------------------------------------------------------------------- */

static void make_worlds(struct telling *t)
{
	for (int g = 0; g < t->nworlds; g++) {
		const struct pl_set *s = set_of(t, g);

		t->curable[g] = s->n > 0;
		for (int f = 0; f < s->n; f++) {
			bool any = false;

			for (int r = 0; r < t->nremedies; r++)
				if (chance(t, r, s->fault[f]) > 0) {
					t->touch[g * t->nremedies + r] = 1;
					any = true;
				}
			t->curable[g] = t->curable[g] && any;
		}
	}
}

static void make_rules(struct telling *t)
{
	t->rule[0] = (struct rule){ 1, 1, 1 };
	for (int k = 1; k < RULES; k++) {
		double a = touched[k].a, o = touched[k].o;
		double kl = a * log(a / o) + (1 - a) * log((1 - a) / (1 - o));
		double by_a = log(a * (1 - o) / ((1 - a) * o)), by_o = a / o - (1 - a) / (1 - o);

		t->rule[k] = (struct rule){ (kl + by_a * (1 - a) + by_o * o) / by_o, by_a / by_o, 1 / by_o };
	}
}

/* Distances of the rows; false when one answer tells the two apart for certain: no entropy then. */
static bool distances(struct telling *t, int g, int h, double *variation, double *entropy)
{
	double row[PL_CELLS_MAX];
	bool finite = true;

	for (int c = 0; c < t->nchecks; c++) {
		int n = t->p->check[c].ncells;
		const double *other;

		memcpy(row, pl_row(t->p, c, t->b->set[g]), sizeof(double) * (size_t)n);
		other = pl_row(t->p, c, t->b->set[h]);
		for (int o = 0; o < n; o++) {
			variation[c] += fabs(row[o] - other[o]) / 2;
			if (row[o] > 0 && !(other[o] > 0))
				finite = false;
			else if (row[o] > 0)
				entropy[c] += row[o] * log(row[o] / other[o]);
		}
	}
	return finite;
}

static void make_pairs(struct telling *t)
{
	int references = t->nworlds < REFERENCES ? t->nworlds : REFERENCES;
	size_t most = (size_t)references * (size_t)t->nworlds, wide = (size_t)t->nchecks;

	t->pair = mem_array(most + 1, sizeof *t->pair);
	t->variation = mem_array(most * wide + 1, sizeof(double));
	t->entropy = mem_array(most * wide + 1, sizeof(double));
	for (int g = 0; g < references; g++)
		for (int h = 0; h < t->nworlds && set_of(t, g)->n; h++)
			if (g != h && t->curable[h]) {
				size_t at = (size_t)t->npairs * wide;
				bool finite = distances(t, g, h, t->variation + at, t->entropy + at);

				t->pair[t->npairs++] = (struct pair){ g, h, finite };
			}
}

/* Calls `each` for every remedy column of a pair: by the rule's factor in g, or by one in h. */
static void remedies_of(struct telling *t, const struct pair *q,
			void (*each)(struct telling *t, double *of_g, double *of_h, double *sum), double *all,
			double *sum)
{
	double *of_g = of_world(t, all, q->g) + t->nchecks, *of_h = of_world(t, all, q->h) + t->nchecks;

	for (int r = 0; r < t->nremedies; r++)
		if (t->touch[q->h * t->nremedies + r])
			each(t, of_g + r, NULL, sum);
		else if (t->touch[q->g * t->nremedies + r])
			each(t, NULL, of_h + r, sum);
}

static void count_remedy(struct telling *t, double *of_g, double *of_h, double *sum)
{
	(void)t;
	sum[0] += of_g ? 1 : 0;
	sum[1] += of_h ? 1 : 0;
}

static void add_remedy(struct telling *t, double *of_g, double *of_h, double *sum)
{
	(void)t;
	sum[0] += of_g ? *of_g : 0;
	sum[1] += of_h ? *of_h : 0;
}

static void give_remedy(struct telling *t, double *of_g, double *of_h, double *sum)
{
	(void)t;
	if (of_g)
		*of_g += sum[0];
	if (of_h)
		*of_h += sum[1];
}

/* Step sizes: for rows their scale over the sum of their entries, for columns one over the sum of
 * entries times scales. */
static void steps_of_pair(struct telling *t, int i)
{
	const struct pair *q = &t->pair[i];
	const double *variation = t->variation + (size_t)i * (size_t)t->nchecks;
	const double *entropy = t->entropy + (size_t)i * (size_t)t->nchecks;
	double *ask = of_world(t, t->step, q->g), count[2] = { 0 }, give[2] = { 0 };
	double scale = t->scale / 3 * sqrt(t->b->w[q->g] * t->b->w[q->h]);

	remedies_of(t, q, count_remedy, t->step, count);
	for (int k = 0; k < RULES; k++) {
		double sum = count[0] * t->rule[k].mend + count[1] + 1;

		for (int c = 0; c < t->nchecks; c++) {
			double entry = (k ? entropy[c] : variation[c]) * t->rule[k].scale;

			sum += entry;
			ask[c] += scale * entry;
		}
		t->telling_step[i * RULES + k] = scale / sum;
		give[0] += scale * t->rule[k].mend;
		give[1] += scale;
	}
	remedies_of(t, q, give_remedy, t->step, give);
	of_world(t, t->step, q->h)[over_column(t)] += give[1];
}

static void steps_of_world(struct telling *t, int g)
{
	double scale = t->scale / 3 * t->b->w[g], *step = of_world(t, t->step, g);
	const struct pl_set *s = set_of(t, g);

	for (int f = 0; f < s->n && t->curable[g]; f++) {
		double sum = 1;

		for (int r = 0; r < t->nremedies; r++)
			if (chance(t, r, s->fault[f]) > 0) {
				step[remedy_column(t, r)] += 2 * scale;
				sum++;
			}
		t->clearing_step[g * PL_SET_FAULTS + f] = scale / sum;
		step[over_column(t)] += 2 * scale;
	}
	t->needing_step[g] = t->scale / 20 * t->b->w[g];
	for (int c = 0; c < over_column(t); c++)
		if (needs(t, c) >= 0) {
			step[c] += 2 * t->needing_step[g];
			step[needs(t, c)] += 2 * t->needing_step[g];
		}
}

static void make(struct telling *t, struct pl_problem *p, const struct pl_belief *b, uint64_t open)
{
	size_t worlds = (size_t)b->n, cells;

	*t = (struct telling){ .p = p, .b = b, .open = open, .nworlds = b->n, .nchecks = p->nchecks,
		.nremedies = p->nremedies, .naccesses = p->naccesses };
	t->columns = t->nchecks + t->nremedies + t->naccesses + 1;
	cells = worlds * (size_t)t->columns + 1;
	t->touch = mem_array(worlds * (size_t)t->nremedies + 1, 1);
	t->curable = mem_array(worlds + 1, sizeof *t->curable);
	t->at = mem_array(cells, sizeof(double));
	t->ahead = mem_array(cells, sizeof(double));
	t->step = mem_array(cells, sizeof(double));
	t->pull = mem_array(cells, sizeof(double));
	t->needing = mem_array(cells, sizeof(double));
	t->needing_step = mem_array(worlds + 1, sizeof(double));
	t->clearing = mem_array(worlds * PL_SET_FAULTS * 2 + 1, sizeof(double));
	t->clearing_step = mem_array(worlds * PL_SET_FAULTS + 1, sizeof(double));
	make_worlds(t);
	make_rules(t);
	make_pairs(t);
	t->telling = mem_array((size_t)t->npairs * RULES + 1, sizeof(double));
	t->telling_step = mem_array((size_t)t->npairs * RULES + 1, sizeof(double));
	for (int g = 0; g < t->nworlds; g++)
		t->scale += b->w[g] * pl_known_least(p, b->set[g], open);
	for (int i = 0; i < t->npairs; i++)
		steps_of_pair(t, i);
	for (int g = 0; g < t->nworlds; g++)
		steps_of_world(t, g);
}

static void put_away(struct telling *t)
{
	double *all[] = { t->at, t->ahead, t->step, t->pull, t->needing, t->needing_step, t->clearing,
			  t->clearing_step, t->telling, t->telling_step, t->variation, t->entropy };

	for (size_t i = 0; i < sizeof all / sizeof *all; i++)
		mem_free(all[i]);
	mem_free(t->touch);
	mem_free(t->curable);
	mem_free(t->pair);
}

/* ---- what the multipliers take off the costs ------------------------------------------------- */

static void pull_of_pair(struct telling *t, int i)
{
	const struct pair *q = &t->pair[i];
	const double *variation = t->variation + (size_t)i * (size_t)t->nchecks;
	const double *entropy = t->entropy + (size_t)i * (size_t)t->nchecks;
	const double *y = t->telling + (size_t)i * RULES;
	double *ask = of_world(t, t->pull, q->g), by_entropy = 0, give[2] = { 0 };

	for (int k = 0; k < RULES; k++) {
		by_entropy += k ? y[k] * t->rule[k].scale : 0;
		give[0] += y[k] * t->rule[k].mend;
		give[1] += y[k];
	}
	if (!(give[1] > 0))
		return;
	for (int c = 0; c < t->nchecks; c++)
		ask[c] += y[0] * variation[c] + by_entropy * entropy[c];
	remedies_of(t, q, give_remedy, t->pull, give);
	of_world(t, t->pull, q->h)[over_column(t)] += give[1];
}

static void pull_of_world(struct telling *t, int g)
{
	const struct pl_set *s = set_of(t, g);
	double *pull = of_world(t, t->pull, g);

	for (int f = 0; f < s->n && t->curable[g]; f++) {
		const double *z = t->clearing + 2 * ((size_t)g * PL_SET_FAULTS + (size_t)f);

		pull[over_column(t)] += z[0] + z[1];
		for (int r = 0; r < t->nremedies; r++) {
			double p = chance(t, r, s->fault[f]);

			pull[remedy_column(t, r)] += p > 0 ? z[0] + z[1] * p : 0;
		}
	}
}

static void make_pull(struct telling *t)
{
	memset(t->pull, 0, sizeof(double) * (size_t)t->nworlds * (size_t)t->columns);
	for (int i = 0; i < t->npairs; i++)
		pull_of_pair(t, i);
	for (int g = 0; g < t->nworlds; g++)
		pull_of_world(t, g);
}

/* ---- the bound ------------------------------------------------------------------------------- */

/* The least of what is left of the costs: columns worth their cost, with the access states that lead
 * to them, from the deepest up. */
static double least_left(struct telling *t, int g)
{
	const double *pull = of_world(t, t->pull, g), w = t->b->w[g];
	double behind[ACCESSES_MAX] = { 0 };

	for (int c = 0; c < access_column(t, 0); c++) {
		double left = w * minutes(t, c) - pull[c];
		int access = c < t->nchecks ? t->p->check[c].access : t->p->remedy[c - t->nchecks].access;

		behind[access] += left < 0 ? left : 0;
	}
	for (int deep = ACCESSES_MAX; deep > 1; deep--)
		for (int a = 1; a < t->naccesses; a++) {
			double left = behind[a] + w * minutes(t, access_column(t, a));

			if (__builtin_popcountll(t->p->access[a].path) == deep && left < 0)
				behind[t->p->access[a].parent] += left;
		}
	return behind[0];
}

/* Dual value: constants of the rows, and the least of what is left of the costs. */
static double dual_value(struct telling *t)
{
	double sum = 0;

	make_pull(t);
	for (int i = 0; i < t->npairs; i++)
		for (int k = 0; k < RULES; k++)
			sum += t->telling[i * RULES + k] * t->rule[k].need;
	for (int i = 0; i < 2 * t->nworlds * PL_SET_FAULTS; i++)
		sum += t->clearing[i];
	for (int g = 0; g < t->nworlds; g++) {
		double w = t->b->w[g], pull = of_world(t, t->pull, g)[over_column(t)];

		if (!set_of(t, g)->n)
			continue;
		if (!t->curable[g])
			sum += w * t->p->hand_over;
		else
			sum += w * t->p->handling + fmin(0, w * minutes(t, over_column(t)) - pull);
		sum += least_left(t, g);
	}
	return sum;
}

/* ---- one round ------------------------------------------------------------------------------- */

static void move_plan(struct telling *t, int g)
{
	double *at = of_world(t, t->at, g), *ahead = of_world(t, t->ahead, g), w = t->b->w[g];
	double *pull = of_world(t, t->pull, g), *needing = of_world(t, t->needing, g);
	const double *step = of_world(t, t->step, g);

	for (int c = 0; c < over_column(t); c++)
		if (needs(t, c) >= 0) {
			pull[c] -= needing[c];
			pull[needs(t, c)] += needing[c];
		}
	for (int c = 0; c < t->columns; c++) {
		double next;

		if (!(step[c] > 0))
			continue;
		next = fmin(1, fmax(0, at[c] - (w * minutes(t, c) - pull[c]) / step[c]));
		ahead[c] = 2 * next - at[c];
		at[c] = next;
	}
}

static void move_telling(struct telling *t, int i)
{
	const struct pair *q = &t->pair[i];
	const double *variation = t->variation + (size_t)i * (size_t)t->nchecks;
	const double *entropy = t->entropy + (size_t)i * (size_t)t->nchecks;
	const double *ask = of_world(t, t->ahead, q->g);
	double distance[2] = { 0 }, mend[2] = { 0 };

	for (int c = 0; c < t->nchecks; c++) {
		distance[0] += variation[c] * ask[c];
		distance[1] += entropy[c] * ask[c];
	}
	remedies_of(t, q, add_remedy, t->ahead, mend);
	for (int k = 0; k < (q->entropy ? RULES : 1); k++) {
		const struct rule *rule = &t->rule[k];
		double has = rule->scale * distance[k > 0] + rule->mend * mend[0] + mend[1] +
			     of_world(t, t->ahead, q->h)[over_column(t)];
		double *y = &t->telling[i * RULES + k];

		*y = fmax(0, *y + t->telling_step[i * RULES + k] * (rule->need - has));
	}
}

/* A remedy may be done again and again: what that is worth must not pass its cost, for all faults of
 * the set together (no column of its own is kept for it). */
static double often_at_most(const struct telling *t, int g, int fault)
{
	double least = INFINITY;

	for (int r = 0; r < t->nremedies; r++) {
		double p = chance(t, r, fault);

		if (p > 0)
			least = fmin(least, t->b->w[g] * t->p->remedy[r].cost / p);
	}
	return least / set_of(t, g)->n;
}

static void move_world(struct telling *t, int g)
{
	const double *ahead = of_world(t, t->ahead, g);
	double *needing = of_world(t, t->needing, g);
	const struct pl_set *s = set_of(t, g);

	for (int f = 0; f < s->n && t->curable[g]; f++) {
		double *z = t->clearing + 2 * ((size_t)g * PL_SET_FAULTS + (size_t)f);
		double some = ahead[over_column(t)], often = some, step = t->clearing_step[g * PL_SET_FAULTS + f];

		for (int r = 0; r < t->nremedies; r++) {
			double p = chance(t, r, s->fault[f]);

			some += p > 0 ? ahead[remedy_column(t, r)] : 0;
			often += p * ahead[remedy_column(t, r)];
		}
		z[0] = fmax(0, z[0] + step * (1 - some));
		z[1] = fmin(often_at_most(t, g, s->fault[f]), fmax(0, z[1] + step * (1 - often)));
	}
	for (int c = 0; c < over_column(t); c++)
		if (needs(t, c) >= 0)
			needing[c] = fmax(0, needing[c] + t->needing_step[g] * (ahead[c] - ahead[needs(t, c)]));
}

static void go_round(struct telling *t)
{
	make_pull(t);
	for (int g = 0; g < t->nworlds; g++)
		move_plan(t, g);
	for (int i = 0; i < t->npairs; i++)
		move_telling(t, i);
	for (int g = 0; g < t->nworlds; g++)
		move_world(t, g);
}

double pl_telling_bound(struct pl_problem *p, const struct pl_belief *b, uint64_t open, int rounds)
{
	struct telling t;
	double best = 0;

	if (b->n == 0 || p->naccesses > ACCESSES_MAX)
		return 0;
	make(&t, p, b, open);
	for (int i = 1; i <= rounds; i++) {
		go_round(&t);
		if (i % LOOK_EVERY == 0 || i == rounds)
			best = fmax(best, dual_value(&t));
	}
	put_away(&t);
	return best;
}
