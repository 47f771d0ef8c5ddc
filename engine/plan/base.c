/* The base plan: remedies in the order of what they cure per minute, those behind one access state
 * together where that is better (extended p/c: Ottosen and Jensen, arXiv 1203.3502, and Langseth
 * and Jensen 2003; methods named in docs/method.md), then handing over, cut at the best prefix. */
#include <math.h>
#include <string.h>

#include "plan/problem.h"

#define ACCESSES_MAX 64

struct ranked { double gain, ratio; int remedy; };

struct two { double w; int a, b; };

struct planning {
	struct pl_problem *p;
	const struct pl_belief *b;
	double *mass;               /* per fault: share of the weight of the sets it is in */
	double *stays;              /* per fault: chance it is still there */
	/* The sets by their size, for uncured(): weights of single faults, pairs, the others. */
	double *alone; struct two *two; int ntwo; int *more, nmore;
	double incurable;           /* weight of the sets with a fault that no remedy clears */
	int largest;                /* faults in the largest set */
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

/* What does not pay now never will: gains only fall, a minute costs at least the share that is never cured, and
 * saves at most what the remedy clears in it, all of a set of several faults counted for the last of them. */
static bool may_pay(const struct planning *k, const struct ranked *r)
{
	return r->gain > 1e-7 && r->ratio * k->largest * k->p->hand_over > k->incurable;
}

static void rank_remedies(struct planning *k)
{
	int n = 0;

	for (int i = 0; i < k->nranked; i++) {
		struct ranked *r = &k->ranked[i];

		if (k->stale[r->remedy / 64] >> r->remedy % 64 & 1) {
			r->gain = gain_of(k, &k->p->remedy[r->remedy]);
			r->ratio = r->gain / k->p->remedy[r->remedy].cost;
			if (!may_pay(k, r))
				continue;
		}
		k->ranked[n++] = *r;
	}
	memset(k->stale, 0, sizeof *k->stale * (size_t)k->p->remedy_words);
	k->nranked = n;
	sort_ranked(k->ranked, n);
}

/* Done at all its places it is not done at one of them again before the bike is tried, nor the other way round. */
static bool done_in(const struct pl_problem *p, const struct pl_group *g, int remedy)
{
	const struct pl_remedy_option *o = &p->remedy[remedy];

	for (int i = 0; i < g->n; i++) {
		const struct pl_remedy_option *x = &p->remedy[g->remedy[i]];

		if (x->remedy == o->remedy && (x->place < 0 || o->place < 0))
			return true;
	}
	return false;
}

/* What is behind a state that must be closed to try the bike would have to be opened again for the
 * next remedy: `again` is what that costs, and whether one more is worth doing first is decided as if
 * it were paid now. */
static bool offer(struct pl_group *g, const struct ranked *r, double cost, double again)
{
	double with = (g->gain + r->gain) / (g->cost + cost + again);

	if (g->n == PL_GROUP_MAX || (g->n && with <= g->gain / (g->cost + again)))
		return false;
	g->remedy[g->n++] = r->remedy;
	g->gain += r->gain;
	g->cost += cost;
	g->ratio = g->gain / g->cost;
	return true;
}

/* The group of every access state that cures most per minute; returns the states that have one.  Remedies
 * come by falling cure per minute: what does not take one takes none that follows. */
static uint64_t all_groups(const struct planning *k, uint64_t open, struct pl_group at[ACCESSES_MAX])
{
	const struct pl_problem *p = k->p;
	double again[ACCESSES_MAX];
	uint64_t seen = 0, taking;

	for (int i = 0; i < k->nranked; i++)
		seen |= (uint64_t)1 << p->remedy[k->ranked[i].remedy].access;
	for (uint64_t left = seen; left; left &= left - 1) {
		int a = __builtin_ctzll(left);
		double opening = pl_open_cost(p, open, a);

		at[a] = (struct pl_group){ .access = a, .cost = opening + p->handling };
		again[a] = p->inside >> a & 1 ? 0 : pl_open_cost(p, 1, a) - opening;
	}
	taking = seen;
	for (int i = 0; i < k->nranked && taking; i++) {
		const struct pl_remedy_option *o = &p->remedy[k->ranked[i].remedy];

		for (uint64_t left = p->behind[o->access] & taking; left; left &= left - 1) {
			int a = __builtin_ctzll(left);

			if (done_in(p, &at[a], k->ranked[i].remedy))
				continue;
			if (!offer(&at[a], &k->ranked[i], o->cost, again[a]) || a == 0)
				taking &= ~((uint64_t)1 << a);
		}
	}
	return seen;
}

static struct pl_group best_group(const struct planning *k, uint64_t open)
{
	struct pl_group at[ACCESSES_MAX], best = { 0 };
	uint64_t left = all_groups(k, open, at);

	for (; left; left &= left - 1)
		if (at[__builtin_ctzll(left)].ratio > best.ratio)
			best = at[__builtin_ctzll(left)];
	return best;
}

static double uncured(const struct planning *k)
{
	double sum = 0;

	for (int f = 0; f < k->p->nfaults; f++)
		sum += k->alone[f] * k->stays[f];
	for (int i = 0; i < k->ntwo; i++)
		sum += k->two[i].w * (1 - (1 - k->stays[k->two[i].a]) * (1 - k->stays[k->two[i].b]));
	for (int i = 0; i < k->nmore; i++) {
		const struct pl_set *s = &k->p->set[k->b->set[k->more[i]]];
		double cured = 1;

		for (int f = 0; f < s->n; f++)
			cured *= 1 - k->stays[s->fault[f]];
		sum += k->b->w[k->more[i]] * (1 - cured);
	}
	return sum;
}

static void add_set(struct planning *k, int i)
{
	const struct pl_set *s = &k->p->set[k->b->set[i]];
	double w = k->b->w[i];
	bool curable = true;

	for (int f = 0; f < s->n; f++) {
		k->mass[s->fault[f]] += w / s->n;
		curable = curable && k->p->curable[s->fault[f]];
	}
	k->incurable += curable ? 0 : w;
	k->largest = s->n > k->largest ? s->n : k->largest;
	if (s->n == 1)
		k->alone[s->fault[0]] += w;
	else if (s->n == 2)
		k->two[k->ntwo++] = (struct two){ w, s->fault[0], s->fault[1] };
	else if (s->n > 2)
		k->more[k->nmore++] = i;
}

static void start(struct planning *k)
{
	for (int f = 0; f < k->p->nfaults; f++)
		k->stays[f] = 1;
	for (int i = 0; i < k->b->n; i++)
		add_set(k, i);
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
	bool inside = k->p->inside >> g->access & 1;

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

static void prepare(struct planning *k, struct pl_problem *p, const struct pl_belief *b)
{
	size_t n = (size_t)p->nfaults + 1;

	memset(k, 0, sizeof *k);
	pl_relations(p);
	k->stale = mem_array((size_t)p->remedy_words, sizeof *k->stale);
	memset(k->stale, 0xff, sizeof *k->stale * (size_t)p->remedy_words);
	k->p = p;
	k->b = b;
	k->mass = mem_array(3 * n, sizeof(double));
	k->stays = k->mass + n;
	k->alone = k->stays + n;
	k->two = mem_array((size_t)b->n + 1, sizeof *k->two);
	k->more = mem_array((size_t)b->n + 1, sizeof *k->more);
	k->ranked = mem_array((size_t)p->nremedies + 1, sizeof(struct ranked));
	start(k);
}

static void put_away(struct planning *k)
{
	mem_free(k->stale);
	mem_free(k->ranked);
	mem_free(k->two);
	mem_free(k->more);
	mem_free(k->mass);
}

int pl_groups(struct pl_problem *p, const struct pl_belief *b, uint64_t open, struct pl_group *out,
	      int most)
{
	struct pl_group at[ACCESSES_MAX];
	struct planning k;
	uint64_t left;
	int n = 0;

	prepare(&k, p, b);
	rank_remedies(&k);
	left = all_groups(&k, open, at);
	put_away(&k);
	for (; left; left &= left - 1) {
		int a = __builtin_ctzll(left), to = n;

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
