/* The last two levels of the search at once: for a node whose children may get exactly one item
 * more, every child with everything below it, lumped (docs/method.md 4).
 *
 * Children are taken in rank order.  Beside a child b, the items c behind it count by signature:
 * items that no answer tells apart add the same likelihood to a set, so their weights are summed
 * first.  The likelihoods beside the node are made once; b changes them only for the answers it
 * bears on.  Items that b or a member excludes, go together with or share a mode with are taken out
 * of the lumps and weighed one by one.  The slow way (tolerance 0) has no lumps and no last levels;
 * tests compare the two. */
#include <math.h>
#include <string.h>

#include "suspects/search.h"

/* Ratios to class 0 outside these are not multiplied and divided again, but taken afresh. */
#define BASE_LEAST 1e-100
#define RATIO_LEAST 1e-12
#define RATIO_MOST 1e12
#define DROP_LAST .75         /* share of the tolerance for the children nothing is looked at behind ... */
#define DROP_EACH 2           /* ... and so many even shares of it for each of them */

struct level {
	struct search *s;
	int at, now, nmembers, member[SU_SET_MAX]; /* ranks of the node's members */
	int nactive;              /* signatures with members behind the child: a prefix */
	bool plain;               /* the ratios beside the node may be divided by */
	double base;              /* the node's own likelihood, when plain */
	double total;             /* weight of all sets of this level */
	double spare;             /* what may be given up behind a child */
	double below;             /* a bound on all sets of the child and one item more */
};

/* ---- likelihoods ------------------------------------------------------------------------------- */

static bool within(double ratio) { return ratio >= RATIO_LEAST && ratio <= RATIO_MOST; }

/* The row of an answer from one state, with room for the first n classes. Many states are met only once:
 * those have none yet (NULL), and what is asked of them is not remembered. */
static struct ratios *ratios_of(struct search *s, int answer, int state, int n)
{
	static struct ratios met_once;
	void **at = slot(&s->ratios[answer], state);
	struct ratios *r = *at;
	double *room;

	if (!r) {
		*at = &met_once;
		return NULL;
	}
	if (r != &met_once && r->n >= n)
		return r;
	room = arena_array(s->arena, (size_t)n + 1, sizeof(double));
	if (r == &met_once)
		*at = r = arena_alloc(s->arena, sizeof *r);
	else
		memcpy(room, r->ratio, sizeof(double) * (size_t)r->n);
	r->ratio = room;
	r->n = n;
	return r;
}

/* How many of the answer's signatures have members behind the child. */
static int nbearing(const struct bearing *b, int nactive)
{
	int low = 0, high = b->n;

	while (low < high) {
		int middle = (low + high) / 2;

		if (b->sig[middle] < nactive)
			low = middle + 1;
		else
			high = middle;
	}
	return low;
}

static double ratio_in(struct search *s, int answer, int state, double base, struct ratios *r, int class_of)
{
	double ratio = r ? r->ratio[class_of] : 0;

	if (!(ratio > 0)) {
		ratio = su_seen_likelihood_with(s->seen[answer], state, s->sig[answer].class_no[class_of]) / base;
		if (r)
			r->ratio[class_of] = ratio;
	}
	return ratio;
}

/* One answer beside the node: its ratios go into sig_base[], their inverses are kept. */
static bool beside_node(struct level *v, int g)
{
	struct search *s = v->s;
	const struct bearing *b = &s->sig[g];
	int n = nbearing(b, v->nactive);
	double base = s->base[g] = su_seen_likelihood(s->seen[g], s->state[g]);
	struct ratios *r = ratios_of(s, g, s->state[g], b->nclasses[n]);

	v->base *= base;
	if (!(base > BASE_LEAST))
		return false;
	for (int i = 0; i < n; i++) {
		double ratio = ratio_in(s, g, s->state[g], base, r, b->class_of[i]);

		if (!within(ratio))
			return false;
		s->sig_base[b->sig[i]] *= ratio;
		b->inverse[i] = 1 / ratio;
	}
	return true;
}

static void likelihoods_beside_node(struct level *v)
{
	struct search *s = v->s;

	v->plain = true;
	v->base = 1;
	for (int i = 0; i < s->nsigs; i++)
		s->sig_base[i] = 1;
	for (int g = 0; g < s->nseen; g++) {
		s->state[g] = search_state(s, g, v->at);
		v->plain = v->plain && beside_node(v, g);
	}
}

/* One answer that the child bears on, in place of what it was beside the node. */
static bool change_answer(struct level *v, int g, int state, double *base)
{
	struct search *s = v->s;
	const struct bearing *b = &s->sig[g];
	const int *restrict sig = b->sig, *restrict class_of = b->class_of;
	double *restrict like = s->sig_like, own = su_seen_likelihood(s->seen[g], state);
	int n = nbearing(b, v->nactive);
	struct ratios *r = ratios_of(s, g, state, b->nclasses[n]);

	if (!(own > BASE_LEAST))
		return false;
	*base *= own / s->base[g];
	for (int i = 0; i < n; i++) {
		double ratio = ratio_in(s, g, state, own, r, class_of[i]);

		if (!within(ratio))
			return false;
		like[sig[i]] *= ratio * b->inverse[i];
	}
	return true;
}

static void likelihoods_afresh(struct level *v, int child)
{
	struct search *s = v->s;

	for (int i = 0; i < v->nactive; i++)
		s->sig_like[i] = 1;
	for (int g = 0; g < s->nseen; g++) {
		int state = su_seen_join(s->seen[g], s->state[g], s->class_of[g][child]);

		for (int i = 0; i < v->nactive; i++)
			s->sig_like[i] *= su_seen_likelihood_with(s->seen[g], state,
								  s->class_of[g][s->sig_first[i]]);
	}
}

/* sig_like[] beside node and child; the factor they all share is returned. */
static double likelihoods_beside_child(struct level *v, int child)
{
	struct search *s = v->s;
	double base = v->base;
	bool plain = v->plain;

	memcpy(s->sig_like, s->sig_base, sizeof(double) * (size_t)v->nactive);
	for (int i = 0; i < s->nbears[child] && plain; i++) {
		int g = s->bears[child][i];
		int state = su_seen_join(s->seen[g], s->state[g], s->class_of[g][child]);

		if (state != s->state[g])
			plain = change_answer(v, g, state, &base);
	}
	if (plain)
		return base;
	likelihoods_afresh(v, child);
	return 1;
}

/* ---- items that stand alone ------------------------------------------------------------------- */

static void set_apart(struct search *s, int by, int child)
{
	for (int i = 0; i < s->napart[by]; i++) {
		int k = s->apart[by][i].rank;

		if (k <= child)
			continue;
		if (s->alone_at[k] < 0) {
			s->alone_at[k] = s->nalone;
			s->alone[s->nalone++] = (struct apart){ k, 1, 0 };
		}
		s->alone[s->alone_at[k]].times *= s->apart[by][i].times;
	}
}

static void find_alone(struct level *v, int child)
{
	struct search *s = v->s;

	s->nalone = 0;
	for (int i = 0; i < v->nmembers; i++)
		set_apart(s, v->member[i], child);
	set_apart(s, child, child);
	for (int i = 0; i < s->nalone; i++)
		s->alone_at[s->alone[i].rank] = -1;
}

/* The weight of the lumps without them, until put_back(). */
static void take_out(struct search *s)
{
	for (int i = 0; i < s->nalone; i++) {
		double *w = &s->sig_weight[s->sig_of[s->alone[i].rank]];

		s->alone[i].was = *w;
		*w = fmax(0, *w - s->weight[s->alone[i].rank]);
	}
}

static void put_back(struct search *s)
{
	for (int i = s->nalone - 1; i >= 0; i--)
		s->sig_weight[s->sig_of[s->alone[i].rank]] = s->alone[i].was;
}

static void count_modes(struct level *v, int rank, int child, double weight)
{
	int members[SU_SET_MAX + 1], n = v->nmembers;

	memcpy(members, v->member, sizeof(int) * (size_t)n);
	if (child >= 0)
		members[n++] = child;
	search_count_modes(v->s, rank, members, n, weight);
}

static double weigh_alone(struct level *v, int child, int now, double unit)
{
	struct search *s = v->s;
	double sum = 0;

	for (int i = 0; i < s->nalone; i++) {
		int rank = s->alone[i].rank, here = now + s->is_now[rank];
		double each = unit * s->sig_like[s->sig_of[rank]];
		double w = each * s->weight[rank] * s->alone[i].times;

		s->minus[rank] += each;
		if (!(w > 0))
			continue;
		s->out->item_weight[s->by_rank[rank]] += w;
		count_modes(v, rank, child, w);
		s->out->by_number[here > 3 ? 3 : here] += w;
		sum += w;
		search_keep(s, w, v->at, child, rank);
	}
	return sum;
}

/* ---- one child ---------------------------------------------------------------------------------- */

/* The heavy sets of a lump are listed one by one. */
static void keep_lump(struct level *v, int child, int sig, double unit)
{
	struct search *s = v->s;

	for (int k = s->sig_first[sig]; k >= 0; k = s->sig_next[k]) {
		bool apart = k <= child;

		for (int i = 0; i < s->nalone && !apart; i++)
			apart = s->alone[i].rank == k;
		if (!apart)
			search_keep(s, unit * s->weight[k], v->at, child, k);
	}
}

static void keep_lumps(struct level *v, int child, double unit)
{
	const struct search *s = v->s;

	for (int i = 0; i < v->nactive; i++)
		if (unit * s->sig_like[i] * s->sig_most[i] > s->kept_least)
			keep_lump(v, child, i, unit * s->sig_like[i]);
}

/* All lumps behind the child; *cleared is the part that a repair has cleared. Two sums side by side are
 * faster than one. */
static double weigh_lumps(struct level *v, double unit, double *cleared)
{
	struct search *s = v->s;
	const double *restrict like = s->sig_like, *restrict weight = s->sig_weight;
	double *restrict sum = s->sig_sum, even = 0, odd = 0;
	int n = v->nactive, i;

	for (i = 0; i + 1 < n; i += 2) {
		double a = unit * like[i], b = unit * like[i + 1];

		sum[i] += a;
		sum[i + 1] += b;
		even += a * weight[i];
		odd += b * weight[i + 1];
	}
	if (i < n) {
		sum[i] += unit * like[i];
		even += unit * like[i] * weight[i];
	}
	*cleared = 0;
	for (i = 0; i < n && s->any_cleared; i++)
		*cleared += s->sig_now[i] ? 0 : unit * like[i] * weight[i];
	return even + odd;
}

static void below_child(struct level *v, int child)
{
	struct search *s = v->s;
	const struct node *node = &s->nodes[v->at];
	double unit = node->prior * s->prior[child] * s->p->count[node->count + 2];
	double sum, cleared;
	int now = v->now + s->is_now[child];

	unit *= likelihoods_beside_child(v, child);
	find_alone(v, child);
	take_out(s);
	sum = weigh_lumps(v, unit, &cleared);
	if (!(v->below <= s->kept_least)) /* where nothing is known of it, it is no number */
		keep_lumps(v, child, unit);
	put_back(s);
	s->out->by_number[now > 3 ? 3 : now] += cleared;
	s->out->by_number[now > 2 ? 3 : now + 1] += fmax(0, sum - cleared);
	s->out->looked_at += v->nactive;
	sum += weigh_alone(v, child, now, unit);
	s->out->item_weight[s->by_rank[child]] += sum;
	count_modes(v, child, -1, sum);
	v->total += sum;
}

/* ---- the whole level ------------------------------------------------------------------------- */

/* What the lumps found per unit of weight, to an item all of whose children-before were looked at. */
static void share_out(struct search *s, int rank)
{
	const struct su_item *item = &s->p->item[s->by_rank[rank]];
	int mode = s->p->kn->faults[item->fault].mode;
	double w = fmax(0, s->sig_sum[s->sig_of[rank]] - s->minus[rank]) * s->weight[rank];

	s->out->item_weight[s->by_rank[rank]] += w;
	if (item->cleared_by == SU_NEVER)
		s->out->mode_now[mode] += w;
	if (item->brought_by == KN_NONE)
		s->out->mode_was[mode] += w;
}

/* Is there so little behind the child that it is given up? */
static bool too_light(struct level *v, int child)
{
	struct search *s = v->s;

	v->below = rise_below_child(s, v->at, child, s->like[child] * s->like_all);
	return v->below <= v->spare && search_drop(s, v->below, DROP_LAST);
}

static void start_level(struct level *v, int from)
{
	struct search *s = v->s;

	for (int m = v->at; m > 0; m = s->nodes[m].parent)
		v->member[v->nmembers++] = s->nodes[m].item;
	for (v->nactive = s->nsigs; v->nactive > 0 && s->sig_last[v->nactive - 1] < from;)
		v->nactive--;
	memset(s->sig_sum, 0, sizeof(double) * (size_t)s->nsigs);
	memset(s->sig_weight, 0, sizeof(double) * (size_t)s->nsigs);
	for (int k = s->n - 1; k >= from; k--) {
		s->sig_weight[s->sig_of[k]] = s->weight[k] + s->after[k];
		s->minus[k] = 0;
	}
	v->spare = DROP_EACH * DROP_LAST * s->settings->tolerance * s->out->total /
		   ((double)s->n * (s->n + 1) / 2);
	rise_below(s, v->at, from);
	likelihoods_beside_node(v);
}

void last_two_levels(struct search *s, int at, int from, int now)
{
	struct level v = { .s = s, .at = at, .now = now };

	start_level(&v, from);
	for (int k = from; k < s->n; k++) {
		share_out(s, k);
		s->sig_weight[s->sig_of[k]] = s->after[k];
		while (v.nactive > 0 && s->sig_last[v.nactive - 1] <= k)
			v.nactive--;
		if (s->prior[k] > 0 && v.nactive > 0 && !too_light(&v, k))
			below_child(&v, k);
	}
	s->out->total += v.total;
	for (int i = 0; i < v.nmembers; i++) {
		s->out->item_weight[s->by_rank[v.member[i]]] += v.total;
		search_count_modes(s, v.member[i], v.member + i + 1, v.nmembers - i - 1, v.total);
	}
}
