/* Henrion's search idea (UAI 1991), with bounds of our own.  docs/method.md 4 has the argument.
 *
 * Items are ranked by the weight they have alone.  A node is a set; its children add one item of
 * higher rank, so every set is met once.  When a node is opened all its children are weighed; a
 * child that may grow further goes into a queue with a bound on everything below it:
 *
 *   weight so far x  product of each answer's most from here on
 *                 x  sum over the numbers of items that may still come of their prior weights.
 *
 * The queue is sorted by powers of two of the bound, last in first out within one: no float ever
 * decides by a hair's breadth, so every machine opens the nodes in the same order. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "suspects/search.h"

#define DROP .125             /* share of the tolerance spent on nodes not even queued */

/* ---- the queue --------------------------------------------------------------------------------- */

static int bucket_of(double bound)
{
	int e;

	if (!(bound > 0))
		return 0;
	frexp(bound, &e);
	e += BUCKETS / 2;
	return e < 1 ? 1 : e >= BUCKETS ? BUCKETS - 1 : e;
}

static int new_node(struct search *s, struct node node)
{
	if (s->nnodes == s->nodes_cap) {
		s->nodes_cap = s->nodes_cap ? s->nodes_cap * 2 : 64;
		s->nodes = mem_resize_array(s->nodes, (size_t)s->nodes_cap, sizeof *s->nodes);
	}
	s->nodes[s->nnodes] = node;
	return s->nnodes++;
}

bool search_drop(struct search *s, double below, double share)
{
	if (!(below > 0))
		return true;
	if (!(s->dropped + below < share * s->settings->tolerance * s->out->total))
		return false;
	s->dropped += below;
	return true;
}

static void put_in_bucket(struct search *s, int at)
{
	struct node *node = &s->nodes[at];
	int b = bucket_of(node->below);

	node->next = s->head[b];
	s->head[b] = at;
	s->pending += node->below;
	if (b > s->top)
		s->top = b;
}

static void queue(struct search *s, struct node node)
{
	if (!search_drop(s, node.below, DROP))
		put_in_bucket(s, new_node(s, node));
}

static int unqueue(struct search *s)
{
	int at;

	while (s->top > 0 && s->head[s->top] < 0)
		s->top--;
	if (s->top <= 0)
		return -1;
	at = s->head[s->top];
	s->head[s->top] = s->nodes[at].next;
	s->pending -= s->nodes[at].below;
	return at;
}

/* ---- what was looked at ------------------------------------------------------------------------- */

static int by_set(const struct su_kept *x, const struct su_kept *y)
{
	if (x->weight != y->weight)
		return x->weight > y->weight ? -1 : 1;
	if (x->n != y->n)
		return x->n < y->n ? -1 : 1;
	for (int i = 0; i < x->n; i++)
		if (x->item[i] != y->item[i])
			return x->item[i] < y->item[i] ? -1 : 1;
	return 0;
}

static int by_set_void(const void *a, const void *b) { return by_set(a, b); }

/* Keeps the heaviest: when the list is four times too long it is sorted and cut. */
static void cut_kept(struct search *s, int most)
{
	struct su_grown *g = s->out;

	qsort(g->kept, (size_t)g->nkept, sizeof *g->kept, by_set_void);
	if (s->settings->tolerance > 0 && g->nkept > most) {
		g->nkept = most;
		s->kept_least = g->kept[most - 1].weight;
	}
}

/* Makes room; false when the set is too light to be listed after all. */
static bool room_to_keep(struct search *s, double weight)
{
	struct su_grown *g = s->out;

	if (g->nkept < s->kept_cap)
		return true;
	if (s->settings->tolerance > 0 && s->kept_cap >= 4 * s->settings->keep)
		cut_kept(s, s->settings->keep);
	else {
		s->kept_cap = s->kept_cap ? s->kept_cap * 2 : 64;
		g->kept = mem_resize_array(g->kept, (size_t)s->kept_cap, sizeof *g->kept);
	}
	return weight > s->kept_least;
}

void search_keep(struct search *s, double weight, int node, int rank, int other)
{
	struct su_kept *k;

	if (!(weight > s->kept_least) || !room_to_keep(s, weight))
		return;
	k = &s->out->kept[s->out->nkept++];
	memset(k, 0, sizeof *k);
	k->weight = weight;
	if (rank >= 0)
		k->item[k->n++] = s->by_rank[rank];
	if (other >= 0)
		k->item[k->n++] = s->by_rank[other];
	for (; node > 0; node = s->nodes[node].parent)
		k->item[k->n++] = s->by_rank[s->nodes[node].item];
	for (int i = 1; i < k->n; i++) /* items ascending, so that ties are broken by them */
		for (int j = i; j > 0 && k->item[j] < k->item[j - 1]; j--) {
			int t = k->item[j];

			k->item[j] = k->item[j - 1];
			k->item[j - 1] = t;
		}
}

/* ---- opening a node ------------------------------------------------------------------------------ */

/* Faults from the start a set may have: fewer beside one that work brought. */
static int most_from_start(const struct search *s, const struct node *n)
{
	return n->brought && s->p->max_faults > SU_BESIDE_BROUGHT ? SU_BESIDE_BROUGHT : s->p->max_faults;
}

int search_room(const struct search *s, const struct node *n)
{
	return most_from_start(s, n) - n->count;
}

/* The prior weight of all that may still be added to a set of `count` from ranks >= from; `raised`
 * is what its members make those weigh more. */
static double rest_of_prior(const struct search *s, const struct node *n, int from)
{
	const double *count = s->p->count + n->count;
	double b = n->brought ? 0 : s->tail_brought[from];
	double e1 = s->tail[from] + n->raised * s->p->raise, e2;
	int room = search_room(s, n);

	if (s->p->kn->independent)
		return count[0] * (s->tail_all[from] - 1);
	e2 = e1 * e1 / 2 + s->raised_tail[from] * s->p->raise * s->p->raise;
	/* What work brought stands beside at most one other. */
	return (n->count <= SU_BESIDE_BROUGHT ? count[0] * b : 0) +
	       (room >= 1 ? count[1] * e1 * (n->count < SU_BESIDE_BROUGHT ? 1 + b : 1) : 0) +
	       (room >= 2 ? count[2] * e2 : 0) + (room >= 3 ? count[3] * e1 * e2 : 0);
}

/* Prior weights of the children; 0 where the item is excluded. */
void search_children_priors(struct search *s, int at, int from)
{
	const struct node *node = &s->nodes[at];

	for (int k = from; k < s->n; k++) {
		bool room = s->brought[k] ? !node->brought && node->count <= SU_BESIDE_BROUGHT
					  : node->count < most_from_start(s, node);

		s->prior[k] = room ? s->weight[k] : 0;
	}
	for (int m = at; m > 0; m = s->nodes[m].parent) {
		int a = s->by_rank[s->nodes[m].item], fault = s->p->item[a].fault;

		for (int k = s->part_head[s->p->kn->faults[fault].part]; k >= 0; k = s->part_next[k])
			if (k >= from && su_items_exclude(s->p, a, s->by_rank[k]))
				s->prior[k] = 0;
		if (s->brought[s->nodes[m].item])
			continue;
		for (const struct su_near *near = s->p->near[fault]; near; near = near->next)
			for (int k = s->fault_head[near->fault]; k >= 0; k = s->fault_next[k])
				if (k >= from && !s->brought[k])
					s->prior[k] *= near->times;
	}
}

/* One answer's likelihoods of all children, from the state the node has in it. */
static void multiply_answer(struct search *s, int g, const struct rows *r, int from)
{
	const int *class_of = s->class_of[g], *bearing = s->bearing[g];

	if (r->zero) {
		for (int k = from; k < s->n; k++) {
			s->like[k] *= r->like[class_of[k]];
			s->most[k] *= r->most[class_of[k]];
		}
		return;
	}
	s->like_all *= r->base;
	s->most_all *= r->base_most;
	for (int i = s->nbearing[g] - 1; i >= 0 && bearing[i] >= from; i--) {
		int k = bearing[i];

		s->like[k] *= r->like[class_of[k]];
		s->most[k] *= r->most[class_of[k]];
	}
}

int search_state(struct search *s, int g, int at)
{
	int state = 0, path[SU_SET_MAX + 1], n = 0;

	for (int m = at; m > 0; m = s->nodes[m].parent)
		path[n++] = s->nodes[m].item;
	while (n > 0)
		state = su_seen_join(s->seen[g], state, s->class_of[g][path[--n]]);
	return state;
}

static void look_at(struct search *s, double weight, int node, int rank, int now)
{
	s->out->total += weight;
	s->out->looked_at++;
	s->out->by_number[now > 3 ? 3 : now] += weight;
	search_keep(s, weight, node, rank, -1);
}

static bool may_grow(const struct search *s, const struct node *n, int from)
{
	return from < s->n && n->depth < SU_SET_MAX &&
	       (n->count < most_from_start(s, n) ||
		(!n->brought && n->count <= SU_BESIDE_BROUGHT && s->tail_brought[from] > 0));
}

void search_count_modes(struct search *s, int rank, const int *above, int n, double weight)
{
	const struct su_item *i = &s->p->item[s->by_rank[rank]];
	int mode = s->p->kn->faults[i->fault].mode;
	bool now = i->cleared_by == SU_NEVER, was = i->brought_by == KN_NONE;

	for (int m = 0; m < n && (now || was); m++) {
		const struct su_item *other = &s->p->item[s->by_rank[above[m]]];

		if (s->p->kn->faults[other->fault].mode == mode) {
			now = now && other->cleared_by != SU_NEVER;
			was = was && other->brought_by != KN_NONE;
		}
	}
	if (now)
		s->out->mode_now[mode] += weight;
	if (was)
		s->out->mode_was[mode] += weight;
}

/* The children by themselves; those that may grow are queued, unless all below is weighed at once. */
static void add_children(struct search *s, int at, int from, int now, bool queued)
{
	const struct node node = s->nodes[at];
	int members[SU_SET_MAX + 1], n = 0;
	double sum = 0;

	for (int m = at; m > 0; m = s->nodes[m].parent)
		members[n++] = s->nodes[m].item;
	for (int k = from; k < s->n; k++) {
		struct node child = node;
		double w;

		if (!(s->prior[k] > 0))
			continue;
		child.parent = at;
		child.item = k;
		child.depth++;
		child.prior *= s->prior[k];
		child.raised += s->raised[k];
		if (s->brought[k])
			child.brought = true;
		else
			child.count++;
		w = child.prior * (s->like[k] * s->like_all) * s->p->count[child.count];
		look_at(s, w, at, k, now + s->is_now[k]);
		s->out->item_weight[s->by_rank[k]] += w;
		search_count_modes(s, k, members, n, w);
		sum += w;
		if (!queued || !may_grow(s, &child, k + 1))
			continue;
		child.below = child.prior * (s->most[k] * s->most_all) * rest_of_prior(s, &child, k + 1);
		queue(s, child);
	}
	for (int m = 0; m < n; m++) {
		s->out->item_weight[s->by_rank[members[m]]] += sum;
		search_count_modes(s, members[m], members + m + 1, n - m - 1, sum);
	}
}

static void open_node(struct search *s, int at)
{
	const struct node *node = &s->nodes[at];
	int from = at ? node->item + 1 : 0, now = 0;
	/* What work brought ranks first, so that none of it comes behind what was there before. */
	bool two_left = node->count + 2 == most_from_start(s, node) && !s->p->kn->independent &&
			s->settings->tolerance > 0 && from >= s->first;
	bool may_grow = !two_left && node->count + 1 < most_from_start(s, node);

	for (int m = at; m > 0; m = s->nodes[m].parent)
		now += s->is_now[s->nodes[m].item];
	search_children_priors(s, at, from);
	s->like_all = s->most_all = 1;
	for (int k = from; k < s->n; k++)
		s->like[k] = s->most[k] = 1;
	for (int g = 0; g < s->nseen; g++)
		multiply_answer(s, g, rows_from(s, g, search_state(s, g, at), may_grow), from);
	add_children(s, at, from, now, !two_left);
	if (two_left)
		last_two_levels(s, at, from, now);
}

/* ---- the whole ----------------------------------------------------------------------------------- */

static void start(struct search *s)
{
	size_t n = (size_t)s->n + 1;
	struct arena *a = s->arena = arena_new();

	s->by_rank = arena_array(a, n, sizeof(int));
	s->weight = arena_array(a, n, sizeof(double));
	s->brought = arena_array(a, n, sizeof(bool));
	s->is_now = arena_array(a, n, sizeof(bool));
	s->part_head = arena_array(a, (size_t)s->p->kn->nparts + 1, sizeof(int));
	s->fault_head = arena_array(a, (size_t)s->p->kn->nfaults + 1, sizeof(int));
	s->part_next = arena_array(a, n, sizeof(int));
	s->fault_next = arena_array(a, n, sizeof(int));
	s->tail = arena_array(a, n, sizeof(double));
	s->tail_brought = arena_array(a, n, sizeof(double));
	s->tail_all = arena_array(a, n, sizeof(double));
	s->raised = arena_array(a, n, sizeof(double));
	s->raised_tail = arena_array(a, n, sizeof(double));
	s->prior = arena_array(a, n, sizeof(double));
	s->like = arena_array(a, n, sizeof(double));
	s->most = arena_array(a, n, sizeof(double));
	for (int b = 0; b < BUCKETS; b++)
		s->head[b] = -1;
	s->out->item_weight = mem_array(n, sizeof(double));
	s->out->mode_now = mem_array((size_t)s->p->kn->nmodes + 1, sizeof(double));
	s->out->mode_was = mem_array((size_t)s->p->kn->nmodes + 1, sizeof(double));
	ranks_make(s);
	rise_make(s);
}

static double still_queued(const struct search *s)
{
	double sum = 0;

	for (int b = 0; b <= s->top; b++)
		for (int at = s->head[b]; at >= 0; at = s->nodes[at].next)
			sum += s->nodes[at].below;
	return sum;
}

/* The first bounds may be a million times what is left at the end: what was taken away from such a sum
 * leaves its rounding behind, so it is counted anew each time it has shrunk a thousandfold. */
static void count_pending(struct search *s)
{
	s->counted = fmax(s->counted, s->pending);
	if (s->pending > s->counted / 1000)
		return;
	s->pending = s->counted = still_queued(s);
}

/* A node whose turn has come goes back when a closer bound shows that it was not. */
static bool goes_back(struct search *s, int at)
{
	struct node *node = &s->nodes[at];
	double below;

	if (at == 0 || node->tightened || node->item + 1 < s->first || !(s->settings->tolerance > 0))
		return false;
	node->tightened = true;
	below = rise_below(s, at, node->item + 1);
	if (!(below < node->below / 2))
		return false;
	node->below = below;
	if (!search_drop(s, below, DROP))
		put_in_bucket(s, at);
	return true;
}

static void free_slots(struct search *s, int answer)
{
	mem_free(s->rows[answer].at);
	mem_free(s->rows_last[answer].at);
	mem_free(s->ratios[answer].at);
}

void su_grow(const struct su_prior *p, struct su_seen *const *seen, int n,
	     const struct su_settings *settings, struct su_grown *out)
{
	struct search *s = mem_alloc(sizeof *s);
	double empty = p->count[0];
	int at;

	memset(out, 0, sizeof *out);
	s->p = p;
	s->seen = seen;
	s->nseen = n;
	s->settings = settings;
	s->out = out;
	s->n = p->nitems;
	s->kept_least = -1;
	start(s);
	new_node(s, (struct node){ .prior = 1, .parent = -1, .next = -1 });
	for (int g = 0; g < n; g++)
		empty *= su_seen_likelihood(seen[g], 0);
	if (p->count[0] > 0)
		look_at(s, empty, 0, -1, 0);
	for (at = 0; at >= 0; at = unqueue(s)) {
		if (!goes_back(s, at))
			open_node(s, at);
		count_pending(s);
		if (s->pending + s->dropped < settings->tolerance * out->total ||
		    out->looked_at >= settings->work_limit)
			break;
	}
	out->pending = still_queued(s) + s->dropped;
	cut_kept(s, settings->keep);
	for (int g = 0; g < n; g++)
		free_slots(s, g);
	mem_free(s->nodes);
	arena_free(s->arena);
	mem_free(s);
}

void su_grown_free(struct su_grown *g)
{
	mem_free(g->item_weight);
	mem_free(g->mode_now);
	mem_free(g->mode_was);
	mem_free(g->kept);
}
