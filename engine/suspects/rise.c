/* A closer bound on what lies below a node, made when the node's turn comes (docs/method.md 4).
 *
 * With strongest votes one more item c multiplies an answer's likelihood by no more than rise(c),
 * whatever else is there, and anything more by no more than its cap beside the node.  So all that may
 * be added below the node counts with its prior weight times, over the answers it bears on, the
 * lesser of the two; items that bear on few of the answers then weigh what they are, where a cap
 * alone lets each of them explain everything. */
#include <math.h>

#include "suspects/search.h"

#define ROUNDING (1 + 1e-9)   /* must never make a bound a hair too low */

void rise_make(struct search *s)
{
	s->rise = arena_array(s->arena, (size_t)s->nseen + 1, sizeof *s->rise);
	s->cap = arena_array(s->arena, (size_t)s->nseen + 1, sizeof(double));
	s->sig_gain = arena_array(s->arena, (size_t)s->nsigs + 1, sizeof(double));
	s->gain = arena_array(s->arena, (size_t)s->n + 1, sizeof(double));
	s->gain_tail = arena_array(s->arena, (size_t)s->n + 1, sizeof(double));
	for (int g = 0; g < s->nseen; g++) {
		int n = su_seen_nclasses(s->seen[g]);

		s->rise[g] = arena_array(s->arena, (size_t)n, sizeof(double));
		for (int c = 0; c < n; c++)
			s->rise[g][c] = su_seen_rise(s->seen[g], c);
	}
}

/* cap[] beside the node; its likelihood is returned. */
static double make_caps(struct search *s, int node)
{
	double all = 1;

	for (int g = 0; g < s->nseen; g++) {
		int state = search_state(s, g, node);
		double like = su_seen_likelihood(s->seen[g], state);

		all *= like;
		s->cap[g] = like > 0 ? fmax(1, su_seen_bound(s->seen[g], state) / like) : INFINITY;
	}
	return all;
}

/* Weights of pairs behind the node that go together, beyond what they weigh apart. */
static double raised_pairs(const struct search *s, const double *gain, int from)
{
	double sum = 0;

	for (int k = from; k < s->n; k++)
		for (const struct su_near *near = s->p->near[s->p->item[s->by_rank[k]].fault]; near;
		     near = near->next)
			for (int j = s->fault_head[near->fault]; j >= 0; j = s->fault_next[j])
				sum += j > k ? fmax(0, near->times - 1) * gain[k] * gain[j] : 0;
	return sum;
}

static void make_sig_gains(struct search *s)
{
	for (int i = 0; i < s->nsigs; i++) {
		int k = s->sig_first[i];

		s->sig_gain[i] = 1;
		for (int j = 0; j < s->nbears[k]; j++) {
			int g = s->bears[k][j];

			s->sig_gain[i] *= fmin(s->rise[g][s->class_of[g][k]], s->cap[g]);
		}
	}
}

/* gain[] and its sums for what may be added to the node; the product of 1 + gain is returned. */
static double make_gains(struct search *s, int from)
{
	double any = 1;

	s->gain_tail[s->n] = 0;
	for (int k = s->n - 1; k >= from; k--) {
		s->gain[k] = s->prior[k] > 0 ? s->prior[k] * s->sig_gain[s->sig_of[k]] : 0;
		s->gain_tail[k] = s->gain_tail[k + 1] + s->gain[k];
		any *= 1 + s->gain[k];
	}
	return any;
}

double rise_below(struct search *s, int node, int from)
{
	const struct node *n = &s->nodes[node];
	const double *count = s->p->count + n->count;
	double one, two = 0, any, all;

	s->node_weight = n->prior * make_caps(s, node) * ROUNDING;
	search_children_priors(s, node, from);
	make_sig_gains(s);
	any = make_gains(s, from);
	one = s->gain_tail[from];
	if (s->p->kn->independent)
		return s->node_weight * count[0] * (any - 1);
	if (search_room(s, n) >= 2)
		two = one * one / 2 + raised_pairs(s, s->gain, from);
	all = (search_room(s, n) >= 1 ? count[1] * one : 0) + (two > 0 ? count[2] * two : 0);
	return s->node_weight * all;
}

/* What may be added behind a child, the ones it goes together with raised. */
static double behind(const struct search *s, int child)
{
	double sum = s->gain_tail[child + 1];

	for (const struct su_near *near = s->p->near[s->p->item[s->by_rank[child]].fault]; near; near = near->next)
		for (int j = s->fault_head[near->fault]; j >= 0; j = s->fault_next[j])
			sum += j > child ? fmax(0, near->times - 1) * s->gain[j] : 0;
	return sum;
}

/* How much higher the caps are beside node and child: an answer that the child has made less likely has
 * as much more to gain. */
static double caps_raised(struct search *s, int node, int child)
{
	double out = 1;

	for (int i = 0; i < s->nbears[child]; i++) {
		int g = s->bears[child][i];
		const struct rows *r = rows_from(s, g, search_state(s, g, node), false);
		double like = r->zero ? 0 : r->like[s->class_of[g][child]];

		out *= like > 0 ? fmax(1, 1 / like) : INFINITY;
	}
	return out;
}

double rise_below_child(struct search *s, int node, int child, double like)
{
	const struct node *n = &s->nodes[node];
	double apart = s->node_weight * s->gain[child];
	double known = n->prior * s->prior[child] * like * ROUNDING * caps_raised(s, node, child);

	return fmin(apart, known) * behind(s, child) * s->p->count[n->count + 2];
}
