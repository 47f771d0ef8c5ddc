/* The last level of the search: sets of the largest size, lumped.
 *
 * Items that no answer tells apart add the same likelihood to a set, so their weights are summed
 * first (search.sig_tail, over the ranks that may still come).  Items of a part the set already has,
 * or that go together with one of its members, are taken out of the lumps and weighed one by one.
 * The slow way (tolerance 0) has no lumps; tests compare the two. */
#include <math.h>
#include <string.h>

#include "suspects/search.h"

static void likelihoods(struct search *s, int at)
{
	s->like_all = 1;
	for (int i = 0; i < s->nsigs; i++)
		s->sig_like[i] = 1;
	for (int g = 0; g < s->nseen; g++) {
		const struct rows *r = rows_from(s, g, search_state(s, g, at), ROWS_LAST);
		const int *class_of = s->sig_class[g];

		if (r->zero) {
			for (int i = 0; i < s->nsigs; i++)
				s->sig_like[i] *= r->like[class_of[i]];
			continue;
		}
		s->like_all *= r->base;
		for (int i = 0; i < s->nsig_bearing[g]; i++)
			s->sig_like[s->sig_bearing[g][i]] *= r->like[class_of[s->sig_bearing[g][i]]];
	}
}

static void set_apart(struct search *s, int rank)
{
	for (int i = 0; i < s->nalone; i++)
		if (s->alone[i] == rank)
			return;
	s->alone[s->nalone++] = rank;
}

static void find_alone(struct search *s, int at, int from)
{
	s->nalone = 0;
	for (int m = at; m > 0; m = s->nodes[m].parent) {
		int fault = s->p->item[s->by_rank[s->nodes[m].item]].fault;

		for (int k = s->part_head[s->p->kn->faults[fault].part]; k >= 0; k = s->part_next[k])
			if (k >= from)
				set_apart(s, k);
		for (const struct su_near *near = s->p->near[fault]; near; near = near->next)
			for (int k = s->fault_head[near->fault]; k >= 0; k = s->fault_next[k])
				if (k >= from)
					set_apart(s, k);
	}
}

/* The factor of one more item beside the node's members; 0 when it is excluded. */
static double factor(const struct search *s, int at, int rank)
{
	double times = 1;

	for (int m = at; m > 0; m = s->nodes[m].parent) {
		if (su_items_exclude(s->p, s->by_rank[s->nodes[m].item], s->by_rank[rank]))
			return 0;
		times *= su_item_times(s->p, s->by_rank[s->nodes[m].item], s->by_rank[rank]);
	}
	return times;
}

static void one_alone(struct search *s, int at, int rank, double unit, int now, double *sum)
{
	int item = s->by_rank[rank], total;
	int mode = s->p->kn->faults[s->p->item[item].fault].mode;
	double plain = unit * s->weight[rank], w = plain * factor(s, at, rank);
	bool here = s->p->item[item].cleared_by == SU_NEVER;

	/* share_out() will give it the plain weight with its lump: take that off again. */
	s->out->item_weight[item] += w - plain;
	if (here)
		s->out->mode_now[mode] -= plain;
	if (s->p->item[item].brought_by == KN_NONE)
		s->out->mode_was[mode] -= plain;
	search_count_modes(s, item, at, w);
	total = now + here;
	s->out->by_number[total > 3 ? 3 : total] += w;
	s->out->looked_at++;
	*sum += w;
	if (w > 0)
		search_keep(s, w, at, rank);
}

/* The heavy sets of a lump are listed one by one. */
static void keep_lump(struct search *s, int at, int sig, int from, double unit)
{
	for (int k = s->sig_first[sig]; k >= 0; k = s->sig_next[k]) {
		bool apart = k < from;

		for (int i = 0; i < s->nalone && !apart; i++)
			apart = s->alone[i] == k;
		if (!apart)
			search_keep(s, unit * s->weight[k], at, k);
	}
}

void last_level(struct search *s, int at, int from, int now)
{
	const struct node *node = &s->nodes[at];
	double *sums = s->sig_sum + (size_t)from * (size_t)s->nsigs, sum = 0, all;
	double by_now[2] = { 0, 0 };

	likelihoods(s, at);
	find_alone(s, at, from);
	all = node->prior * s->like_all * s->p->count[node->count + 1];
	memcpy(s->sig_weight, s->sig_tail + (size_t)from * (size_t)s->nsigs,
	       sizeof(double) * (size_t)s->nsigs);
	for (int i = 0; i < s->nalone; i++)
		s->sig_weight[s->sig_of[s->alone[i]]] -= s->weight[s->alone[i]];
	for (int g = 0; g < s->nsigs; g++) {
		double unit = all * s->sig_like[g], w;

		if (s->sig_brought[g])
			continue;
		sums[g] += unit;
		w = s->sig_weight[g] > 0 ? unit * s->sig_weight[g] : 0;
		by_now[s->sig_now[g]] += w;
		if (unit * s->sig_most[g] > s->kept_least)
			keep_lump(s, at, g, from, unit);
	}
	for (int more = 0; more < 2; more++) {
		s->out->by_number[now + more > 3 ? 3 : now + more] += by_now[more];
		sum += by_now[more];
	}
	s->out->looked_at += s->nsigs;
	for (int i = 0; i < s->nalone; i++)
		one_alone(s, at, s->alone[i], all * s->sig_like[s->sig_of[s->alone[i]]], now, &sum);
	s->out->total += sum;
	for (int m = at; m > 0; m = s->nodes[m].parent) {
		s->out->item_weight[s->by_rank[s->nodes[m].item]] += sum;
		search_count_modes(s, s->by_rank[s->nodes[m].item], s->nodes[m].parent, sum);
	}
}
