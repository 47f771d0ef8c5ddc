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
#include "suspects/grow.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"

#define BUCKETS 2200          /* powers of two of a double, and zero */
#define DROP .125             /* share of the tolerance spent on nodes not even queued */

struct node {
	double prior, below;      /* product of weights; bound on everything below */
	double raised;            /* sum of search.raised over its members */
	int parent, item;         /* index of the node, rank of the item added */
	int next;                 /* in its bucket */
	short count, depth;       /* faults from the start; all items */
	bool brought;
};

struct search {
	const struct su_prior *p;
	struct su_seen *const *seen;
	int nseen;
	const struct su_settings *settings;
	struct su_grown *out;
	struct arena *arena;
	int n;                    /* items */
	int *by_rank;             /* item of a rank */
	double *weight;           /* by rank */
	bool *brought;            /* by rank */
	int *part_head, *part_next, *fault_head, *fault_next; /* ranks of a part, of a fault */
	int **bearing, *nbearing, **class_of;  /* per answer: ranks that bear, class by rank */
	double *tail, *tail_brought, *tail_all; /* sums over the ranks from k on */
	double *raised;           /* what the ranks behind k weigh more beside k */
	double *raised_tail;      /* weight of all such pairs from k on */
	struct node *nodes; int nnodes, nodes_cap;
	int head[BUCKETS]; int top;
	double pending, dropped;
	int kept_cap; double kept_least;
	double *prior, *like, *most; /* children of the node being opened, by rank */
	double like_all, most_all;   /* factors all children share */
	double *row, *row_most;      /* by class */
};

/* ---- ranking --------------------------------------------------------------------------------- */

static double alone(const struct search *s, int item)
{
	double w = s->p->item[item].weight;

	for (int g = 0; g < s->nseen; g++)
		w *= su_seen_likelihood(s->seen[g], su_seen_join(s->seen[g], 0,
								  su_seen_class(s->seen[g], item)));
	return w;
}

struct rank { double w; int item; };

static int by_weight(const void *a, const void *b)
{
	const struct rank *x = a, *y = b;

	return x->w > y->w ? -1 : x->w < y->w ? 1 : (x->item > y->item) - (x->item < y->item);
}

static void rank_items(struct search *s)
{
	struct rank *r = mem_array((size_t)s->n + 1, sizeof *r);

	for (int i = 0; i < s->n; i++)
		r[i] = (struct rank){ alone(s, i), i };
	qsort(r, (size_t)s->n, sizeof *r, by_weight);
	for (int k = 0; k < s->n; k++) {
		s->by_rank[k] = r[k].item;
		s->weight[k] = s->p->item[r[k].item].weight;
		s->brought[k] = s->p->item[r[k].item].brought_by != KN_NONE;
	}
	mem_free(r);
}

/* Lists of ranks by part and by fault, so that few are looked through. */
static void list_ranks(struct search *s)
{
	const struct kn_knowledge *kn = s->p->kn;

	for (int i = 0; i < kn->nparts; i++)
		s->part_head[i] = -1;
	for (int i = 0; i < kn->nfaults; i++)
		s->fault_head[i] = -1;
	for (int k = s->n - 1; k >= 0; k--) {
		int fault = s->p->item[s->by_rank[k]].fault, part = kn->faults[fault].part;

		s->part_next[k] = s->part_head[part];
		s->part_head[part] = k;
		s->fault_next[k] = s->fault_head[fault];
		s->fault_head[fault] = k;
	}
}

static void sum_tails(struct search *s)
{
	s->tail_all[s->n] = 1;
	for (int k = s->n - 1; k >= 0; k--) {
		double w = s->weight[k];

		s->tail[k] = s->tail[k + 1] + (s->brought[k] ? 0 : w);
		s->tail_brought[k] = s->tail_brought[k + 1] + (s->brought[k] ? w : 0);
		s->tail_all[k] = s->tail_all[k + 1] * (1 + w);
		for (const struct su_near *near = s->brought[k] ? NULL
					: s->p->near[s->p->item[s->by_rank[k]].fault];
		     near; near = near->next)
			for (int j = s->fault_head[near->fault]; j >= 0; j = s->fault_next[j])
				if (j > k && !s->brought[j])
					s->raised[k] += fmax(0, near->times - 1) * s->weight[j];
		s->raised_tail[k] = s->raised_tail[k + 1] + s->raised[k] * w;
	}
}

static void class_ranks(struct search *s)
{
	struct arena *a = s->arena;

	s->bearing = arena_array(a, (size_t)s->nseen + 1, sizeof *s->bearing);
	s->nbearing = arena_array(a, (size_t)s->nseen + 1, sizeof *s->nbearing);
	s->class_of = arena_array(a, (size_t)s->nseen + 1, sizeof *s->class_of);
	for (int g = 0; g < s->nseen; g++) {
		s->bearing[g] = arena_array(a, (size_t)s->n + 1, sizeof(int));
		s->class_of[g] = arena_array(a, (size_t)s->n + 1, sizeof(int));
		for (int k = 0; k < s->n; k++) {
			int c = su_seen_class(s->seen[g], s->by_rank[k]);

			s->class_of[g][k] = c;
			if (c)
				s->bearing[g][s->nbearing[g]++] = k;
		}
	}
}

/* ---- the queue --------------------------------------------------------------------------------- */

static int bucket_of(double bound)
{
	int e;

	if (!(bound > 0))
		return 0;
	frexp(bound, &e);
	e += 1100;
	return e < 1 ? 1 : e >= BUCKETS ? BUCKETS - 1 : e;
}

static int new_node(struct search *s, struct node node)
{
	if (s->nnodes == s->nodes_cap) {
		s->nodes_cap = s->nodes_cap ? s->nodes_cap * 2 : 4096;
		s->nodes = mem_resize_array(s->nodes, (size_t)s->nodes_cap, sizeof *s->nodes);
	}
	s->nodes[s->nnodes] = node;
	return s->nnodes++;
}

static void queue(struct search *s, struct node node)
{
	int b = bucket_of(node.below);

	if (!(node.below > 0))
		return;
	if (s->dropped + node.below < DROP * s->settings->tolerance * s->out->total) {
		s->dropped += node.below;
		return;
	}
	node.next = s->head[b];
	s->head[b] = new_node(s, node);
	s->pending += node.below;
	if (b > s->top)
		s->top = b;
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

static void keep(struct search *s, double weight, int node, int rank)
{
	struct su_grown *g = s->out;
	struct su_kept *k;

	if (!(weight > s->kept_least))
		return;
	if (g->nkept == s->kept_cap) {
		if (s->settings->tolerance > 0 && s->kept_cap >= 4 * s->settings->keep)
			cut_kept(s, s->settings->keep);
		else {
			s->kept_cap = s->kept_cap ? s->kept_cap * 2 : 1024;
			g->kept = mem_resize_array(g->kept, (size_t)s->kept_cap, sizeof *g->kept);
		}
		if (!(weight > s->kept_least))
			return;
	}
	k = &g->kept[g->nkept++];
	memset(k, 0, sizeof *k);
	k->weight = weight;
	if (rank >= 0)
		k->item[k->n++] = s->by_rank[rank];
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

/* The prior weight of all that may still be added to a set of `count` from ranks >= from; `raised`
 * is what its members make those weigh more. */
static double rest_of_prior(const struct search *s, const struct node *n, int from)
{
	const double *count = s->p->count + n->count;
	double b = n->brought ? 0 : s->tail_brought[from];
	double e1 = s->tail[from] + n->raised * s->p->raise, e2;
	int room = s->p->max_faults - n->count;

	if (s->p->kn->independent)
		return count[0] * (s->tail_all[from] - 1);
	e2 = e1 * e1 / 2 + s->raised_tail[from] * s->p->raise * s->p->raise;
	return count[0] * b + (room >= 1 ? count[1] * e1 * (1 + b) : 0) +
	       (room >= 2 ? count[2] * e2 * (1 + b) : 0) +
	       (room >= 3 ? count[3] * e1 * e2 * (1 + b) : 0);
}

/* Prior weights of the children; 0 where the item is excluded. */
static void children_priors(struct search *s, int at, int from)
{
	const struct node *node = &s->nodes[at];

	for (int k = from; k < s->n; k++) {
		bool room = s->brought[k] ? !node->brought : node->count < s->p->max_faults;

		s->prior[k] = room ? s->weight[k] : 0;
		s->like[k] = s->most[k] = 1;
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
static void multiply_answer(struct search *s, int g, int state, int from, bool one)
{
	struct su_seen *seen = s->seen[g];
	const int *class_of = s->class_of[g], *bearing = s->bearing[g];
	int nclasses = su_seen_nclasses(seen);

	for (int c = 0; c < nclasses; c++) {
		int joined = su_seen_join(seen, state, c);

		s->row[c] = su_seen_likelihood(seen, joined);
		s->row_most[c] = su_seen_bound(seen, joined, one);
	}
	if (!(s->row[0] > 1e-100) || !(s->row_most[0] > 1e-100)) {
		for (int k = from; k < s->n; k++) {
			s->like[k] *= s->row[class_of[k]];
			s->most[k] *= s->row_most[class_of[k]];
		}
		return;
	}
	s->like_all *= s->row[0];
	s->most_all *= s->row_most[0];
	for (int c = nclasses - 1; c >= 0; c--) {
		s->row[c] /= s->row[0];
		s->row_most[c] /= s->row_most[0];
	}
	for (int i = s->nbearing[g] - 1; i >= 0 && bearing[i] >= from; i--) {
		int k = bearing[i];

		s->like[k] *= s->row[class_of[k]];
		s->most[k] *= s->row_most[class_of[k]];
	}
}

static int state_at(struct search *s, int g, int at)
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
	keep(s, weight, node, rank);
}

static bool may_grow(const struct search *s, const struct node *n, int from)
{
	return from < s->n && n->depth < SU_SET_MAX &&
	       (n->count < s->p->max_faults || (!n->brought && s->tail_brought[from] > 0));
}

/* A mode at two places counts once: only if no item further up has it already. */
static void count_modes(struct search *s, int item, int above, double weight)
{
	const struct su_item *i = &s->p->item[item];
	int mode = s->p->kn->faults[i->fault].mode;
	bool now = i->cleared_by == SU_NEVER, was = i->brought_by == KN_NONE;

	for (int m = above; m > 0 && (now || was); m = s->nodes[m].parent) {
		const struct su_item *other = &s->p->item[s->by_rank[s->nodes[m].item]];

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

static void add_children(struct search *s, int at, int from, int now)
{
	const struct node node = s->nodes[at];
	double sum = 0;

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
		look_at(s, w, at, k, now + (s->p->item[s->by_rank[k]].cleared_by == SU_NEVER));
		s->out->item_weight[s->by_rank[k]] += w;
		count_modes(s, s->by_rank[k], at, w);
		sum += w;
		if (!may_grow(s, &child, k + 1))
			continue;
		child.below = child.prior * (s->most[k] * s->most_all) * rest_of_prior(s, &child, k + 1);
		queue(s, child);
	}
	for (int m = at; m > 0; m = s->nodes[m].parent) {
		s->out->item_weight[s->by_rank[s->nodes[m].item]] += sum;
		count_modes(s, s->by_rank[s->nodes[m].item], s->nodes[m].parent, sum);
	}
}

static void open_node(struct search *s, int at)
{
	const struct node *node = &s->nodes[at];
	int from = at ? node->item + 1 : 0, now = 0;
	bool work = !node->brought && s->tail_brought[from] > 0;
	/* How many items a child may still get: with one, the exact most is known. */
	bool one = s->p->max_faults - node->count - 1 + work <= 1;

	for (int m = at; m > 0; m = s->nodes[m].parent)
		now += s->p->item[s->by_rank[s->nodes[m].item]].cleared_by == SU_NEVER;
	children_priors(s, at, from);
	s->like_all = s->most_all = 1;
	for (int g = 0; g < s->nseen; g++)
		multiply_answer(s, g, state_at(s, g, at), from, one);
	add_children(s, at, from, now);
}

/* ---- the whole ----------------------------------------------------------------------------------- */

static void start(struct search *s)
{
	size_t n = (size_t)s->n + 1;
	struct arena *a = s->arena = arena_new();
	int classes = 1;

	s->by_rank = arena_array(a, n, sizeof(int));
	s->weight = arena_array(a, n, sizeof(double));
	s->brought = arena_array(a, n, sizeof(bool));
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
	for (int g = 0; g < s->nseen; g++)
		if (su_seen_nclasses(s->seen[g]) > classes)
			classes = su_seen_nclasses(s->seen[g]);
	s->row = arena_array(a, (size_t)classes, sizeof(double));
	s->row_most = arena_array(a, (size_t)classes, sizeof(double));
	for (int b = 0; b < BUCKETS; b++)
		s->head[b] = -1;
	s->out->item_weight = mem_array(n, sizeof(double));
	s->out->mode_now = mem_array((size_t)s->p->kn->nmodes + 1, sizeof(double));
	s->out->mode_was = mem_array((size_t)s->p->kn->nmodes + 1, sizeof(double));
	rank_items(s);
	list_ranks(s);
	sum_tails(s);
	class_ranks(s);
}

static double still_queued(const struct search *s)
{
	double sum = 0;

	for (int b = 0; b < BUCKETS; b++)
		for (int at = s->head[b]; at >= 0; at = s->nodes[at].next)
			sum += s->nodes[at].below;
	return sum;
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
		open_node(s, at);
		if (s->pending + s->dropped < settings->tolerance * out->total ||
		    out->looked_at >= settings->work_limit)
			break;
	}
	out->pending = still_queued(s) + s->dropped;
	cut_kept(s, settings->keep);
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
