/* The base plan: remedies in the order of what they cure per minute, those behind one access state
 * together where that is better (extended p/c: Ottosen and Jensen, arXiv 1203.3502, and Langseth
 * and Jensen 2003; methods named in docs/method.md), then handing over, cut at the best prefix. */
#include <math.h>
#include <string.h>

#include "plan/problem.h"

#define ACCESSES_MAX 64

struct ranked { double gain, ratio; int remedy; };

struct planning {
	struct pl_problem *p;
	const struct pl_belief *b;
	double *mass;               /* per fault: share of the weight of the sets it is in */
	double *stays;              /* per fault: chance it is still there */
	uint64_t *stale;            /* remedies whose gain has changed, a bit each */
	struct ranked *ranked; int nranked;
};

static bool before(const struct ranked *x, const struct ranked *y)
{
	return x->ratio > y->ratio || (x->ratio == y->ratio && x->remedy < y->remedy);
}

/* By insertion: from one step of the plan to the next the order hardly changes. */
static void sort_ranked(struct ranked *r, int n)
{
	for (int i = 1; i < n; i++) {
		struct ranked x = r[i];
		int at = i;

		for (; at > 0 && before(&x, &r[at - 1]); at--)
			r[at] = r[at - 1];
		r[at] = x;
	}
}

static double gain_of(const struct planning *k, const struct pl_remedy_option *o)
{
	double sum = 0;

	for (int c = 0; c < o->nclears; c++)
		sum += k->mass[o->clears[c].fault] * k->stays[o->clears[c].fault] * o->clears[c].p;
	return sum;
}

static void rank_remedies(struct planning *k)
{
	int n = 0;

	for (int i = 0; i < k->nranked; i++) {
		struct ranked *r = &k->ranked[i];

		if (k->stale[r->remedy / 64] >> r->remedy % 64 & 1) {
			r->gain = gain_of(k, &k->p->remedy[r->remedy]);
			r->ratio = r->gain / k->p->remedy[r->remedy].cost;
		}
		if (r->gain > 1e-7)
			k->ranked[n++] = *r; /* what gains nothing now never will */
	}
	memset(k->stale, 0, sizeof *k->stale * (size_t)k->p->remedy_words);
	k->nranked = n;
	sort_ranked(k->ranked, n);
}

/* Can the bike be tried without closing what this access state opened? */
static bool tried_inside(const struct pl_problem *p, int access)
{
	for (; access > 0; access = p->access[access].parent)
		if (!p->access[access].runs)
			return false;
	return true;
}

/* What is behind a state that must be closed to try the bike would have to be opened again for the
 * next remedy: `again` is what that costs, and whether one more is worth doing first is decided as if
 * it were paid now. */
static void offer(struct pl_group *g, const struct ranked *r, double cost, double again)
{
	double with = (g->gain + r->gain) / (g->cost + cost + again);

	if (g->n == PL_GROUP_MAX || (g->n && with <= g->gain / (g->cost + again)))
		return;
	g->remedy[g->n++] = r->remedy;
	g->gain += r->gain;
	g->cost += cost;
	g->ratio = g->gain / g->cost;
}

/* The group of every access state that cures most per minute; n 0 where there is none. */
static void all_groups(const struct planning *k, uint64_t open, struct pl_group at[ACCESSES_MAX])
{
	const struct pl_problem *p = k->p;
	double again[ACCESSES_MAX];
	uint64_t seen = 0;

	for (int a = 0; a < p->naccesses; a++) {
		double opening = pl_open_cost(p, open, a);

		at[a] = (struct pl_group){ .access = a, .cost = opening + p->handling };
		again[a] = tried_inside(p, a) ? 0 : pl_open_cost(p, 1, a) - opening;
	}
	for (int i = 0; i < k->nranked; i++) {
		const struct pl_remedy_option *o = &p->remedy[k->ranked[i].remedy];

		seen |= (uint64_t)1 << o->access;
		if (o->access == 0 && at[0].n)
			continue;
		for (uint64_t left = p->behind[o->access]; left; left &= left - 1) {
			int a = __builtin_ctzll(left);

			offer(&at[a], &k->ranked[i], o->cost, again[a]);
		}
	}
	for (int a = 0; a < p->naccesses; a++)
		if (!(seen >> a & 1))
			at[a].n = 0;
}

static struct pl_group best_group(const struct planning *k, uint64_t open)
{
	struct pl_group at[ACCESSES_MAX], best = { 0 };

	all_groups(k, open, at);
	for (int a = 0; a < k->p->naccesses; a++)
		if (at[a].n && at[a].ratio > best.ratio)
			best = at[a];
	return best;
}

static double uncured(const struct planning *k)
{
	double sum = 0;

	for (int i = 0; i < k->b->n; i++) {
		const struct pl_set *s = &k->p->set[k->b->set[i]];
		double cured = 1;

		for (int f = 0; f < s->n; f++)
			cured *= 1 - k->stays[s->fault[f]];
		sum += k->b->w[i] * (1 - cured);
	}
	return sum;
}

static void start(struct planning *k)
{
	for (int f = 0; f < k->p->nfaults; f++) {
		k->mass[f] = 0;
		k->stays[f] = 1;
	}
	for (int i = 0; i < k->b->n; i++) {
		const struct pl_set *s = &k->p->set[k->b->set[i]];

		for (int f = 0; f < s->n; f++)
			k->mass[s->fault[f]] += k->b->w[i] / s->n;
	}
	for (int r = 0; r < k->p->nremedies; r++)
		k->ranked[k->nranked++].remedy = r;
}

static void do_remedy(struct planning *k, int remedy)
{
	const struct pl_remedy_option *o = &k->p->remedy[remedy];

	for (int c = 0; c < o->nclears; c++)
		k->stays[o->clears[c].fault] *= 1 - o->clears[c].p;
	for (int w = 0; w < k->p->remedy_words; w++)
		k->stale[w] |= k->p->touches[remedy * k->p->remedy_words + w];
}

struct so_far { double left, spent, best; bool better; };

/* Inside, the bike is tried after each remedy; else all are done, then it is closed and tried. */
static void do_group(struct planning *k, const struct pl_group *g, uint64_t *open, struct so_far *s)
{
	double opening = pl_open_cost(k->p, *open, g->access);
	bool inside = tried_inside(k->p, g->access);

	*open = pl_after_remedy(k->p, *open, g->remedy[0]);
	if (g->access)
		*open |= inside ? k->p->access[g->access].path : 0;
	for (int i = 0; i < g->n; i++) {
		s->spent += s->left * (k->p->remedy[g->remedy[i]].cost + (i ? 0 : opening) +
				       (inside || !i ? k->p->handling : 0));
		do_remedy(k, g->remedy[i]);
		if (!inside && i + 1 < g->n)
			continue;
		s->left = uncured(k);
		if (s->spent + s->left * k->p->hand_over < s->best) {
			s->best = s->spent + s->left * k->p->hand_over;
			s->better = true;
		}
	}
}

static bool touch(const struct pl_remedy_option *a, const struct pl_remedy_option *b)
{
	for (int i = 0; i < a->nclears; i++)
		for (int j = 0; j < b->nclears; j++)
			if (a->clears[i].fault == b->clears[j].fault)
				return true;
	return false;
}

static void know_remedies(struct pl_problem *p)
{
	int words = p->remedy_words = p->nremedies / 64 + 1;

	p->touches = arena_array(p->arena, (size_t)(p->nremedies * words) + 1, sizeof *p->touches);
	p->behind = arena_array(p->arena, (size_t)p->naccesses + 1, sizeof *p->behind);
	for (int a = 0; a < p->nremedies; a++)
		for (int b = 0; b < p->nremedies; b++)
			if (touch(&p->remedy[a], &p->remedy[b]))
				p->touches[a * words + b / 64] |= (uint64_t)1 << b % 64;
	for (int a = 0; a < p->naccesses; a++)
		for (int b = a; b < p->naccesses; b++)
			if (b == a || (a && (p->access[b].path >> a & 1)))
				p->behind[a] |= (uint64_t)1 << b;
}

static void prepare(struct planning *k, struct pl_problem *p, const struct pl_belief *b)
{
	size_t n = (size_t)p->nfaults + 1;

	if (!p->touches)
		know_remedies(p);
	k->stale = mem_array((size_t)p->remedy_words, sizeof *k->stale);
	memset(k->stale, 0xff, sizeof *k->stale * (size_t)p->remedy_words);
	k->p = p;
	k->b = b;
	k->mass = mem_array(2 * n, sizeof(double));
	k->stays = k->mass + n;
	k->ranked = mem_array((size_t)p->nremedies + 1, sizeof(struct ranked));
	k->nranked = 0;
	start(k);
}

static void put_away(struct planning *k)
{
	mem_free(k->stale);
	mem_free(k->ranked);
	mem_free(k->mass);
}

int pl_groups(struct pl_problem *p, const struct pl_belief *b, uint64_t open, struct pl_group *out,
	      int most)
{
	struct pl_group at[ACCESSES_MAX];
	struct planning k;
	int n = 0;

	prepare(&k, p, b);
	rank_remedies(&k);
	all_groups(&k, open, at);
	put_away(&k);
	for (int a = 0; a < p->naccesses; a++) {
		int to = n;

		if (!at[a].n)
			continue;
		while (to > 0 && out[to - 1].ratio < at[a].ratio)
			to--;
		if (to >= most)
			continue;
		n += n < most;
		for (int i = n - 1; i > to; i--)
			out[i] = out[i - 1];
		out[to] = at[a];
	}
	return n;
}

/* groups: room for PL_GROUPS_MAX, those of the best prefix; or NULL. */
static double base_plan(struct pl_problem *p, const struct pl_belief *b, uint64_t open,
			struct pl_group *groups, int *ngroups)
{
	struct so_far s = { .left = pl_belief_uncured(b) };
	struct planning k;

	*ngroups = 0;
	s.best = s.left * p->hand_over;
	p->work += b->n + p->nremedies; /* what a base plan costs, in additions and products */
	prepare(&k, p, b);
	/* Costs only grow: once they pass the best, no longer prefix can be better. */
	for (int i = 0; i < PL_GROUPS_MAX && s.left > 1e-5 && s.spent < s.best; i++) {
		struct pl_group g;

		rank_remedies(&k);
		g = best_group(&k, open);
		if (!g.n)
			break;
		s.better = false;
		do_group(&k, &g, &open, &s);
		if (groups)
			groups[i] = g;
		if (s.better)
			*ngroups = i + 1;
	}
	put_away(&k);
	return s.best;
}

double pl_base(struct pl_problem *p, const struct pl_belief *b, uint64_t open, int *first)
{
	struct pl_group groups[PL_GROUPS_MAX];
	int n;
	double value = base_plan(p, b, open, first ? groups : NULL, &n);

	if (first)
		*first = n ? groups[0].remedy[0] : -1;
	return value;
}

double pl_base_groups(struct pl_problem *p, const struct pl_belief *b, uint64_t open,
		      struct pl_group groups[PL_GROUPS_MAX], int *ngroups)
{
	return base_plan(p, b, open, groups, ngroups);
}
