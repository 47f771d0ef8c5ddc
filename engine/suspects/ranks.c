/* The order of the items, sums over what is still to come, and which items look alike. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "suspects/search.h"

/* ---- ranking --------------------------------------------------------------------------------- */

static double alone(const struct search *s, int item)
{
	double w = s->p->item[item].weight;

	for (int g = 0; g < s->nseen; g++)
		w *= su_seen_likelihood(s->seen[g], su_seen_join(s->seen[g], 0,
								  su_seen_class(s->seen[g], item)));
	return w;
}

struct rank { double w; int item; bool brought; };

static int by_weight(const void *a, const void *b)
{
	const struct rank *x = a, *y = b;

	if (x->brought != y->brought)
		return x->brought ? -1 : 1;
	return x->w > y->w ? -1 : x->w < y->w ? 1 : (x->item > y->item) - (x->item < y->item);
}

static void rank_items(struct search *s)
{
	struct rank *r = mem_array((size_t)s->n + 1, sizeof *r);

	for (int i = 0; i < s->n; i++)
		r[i] = (struct rank){ alone(s, i), i, s->p->item[i].brought_by != KN_NONE };
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

/* ---- signatures ---------------------------------------------------------------------------------- */

static bool alike(const struct search *s, int a, int b)
{
	const struct su_item *x = &s->p->item[s->by_rank[a]], *y = &s->p->item[s->by_rank[b]];

	if ((x->cleared_by == SU_NEVER) != (y->cleared_by == SU_NEVER) || s->brought[a] != s->brought[b] ||
	    (x->brought_by == KN_NONE) != (y->brought_by == KN_NONE))
		return false;
	for (int g = 0; g < s->nseen; g++)
		if (s->class_of[g][a] != s->class_of[g][b])
			return false;
	return true;
}

static void find_signatures(struct search *s)
{
	size_t n = (size_t)s->n + 1;
	int *last = mem_array(n, sizeof(int));

	s->sig_of = arena_array(s->arena, n, sizeof(int));
	s->sig_first = arena_array(s->arena, n, sizeof(int));
	s->sig_next = arena_array(s->arena, n, sizeof(int));
	s->sig_most = arena_array(s->arena, n, sizeof(double));
	s->sig_now = arena_array(s->arena, n, sizeof(bool));
	s->sig_brought = arena_array(s->arena, n, sizeof(bool));
	for (int k = 0; k < s->n; k++) {
		int g = 0;

		while (g < s->nsigs && !alike(s, s->sig_first[g], k))
			g++;
		if (g == s->nsigs) {
			s->nsigs++;
			s->sig_first[g] = k;
			s->sig_now[g] = s->p->item[s->by_rank[k]].cleared_by == SU_NEVER;
			s->sig_brought[g] = s->brought[k];
		} else
			s->sig_next[last[g]] = k;
		s->sig_next[k] = -1;
		last[g] = k;
		s->sig_of[k] = g;
		s->sig_most[g] = fmax(s->sig_most[g], s->weight[k]);
	}
	mem_free(last);
}

static void sum_signatures(struct search *s)
{
	size_t wide = (size_t)s->nsigs, rows = (size_t)s->n + 1;

	s->sig_tail = arena_array(s->arena, rows * wide + 1, sizeof(double));
	s->sig_sum = arena_array(s->arena, rows * wide + 1, sizeof(double));
	s->sig_like = arena_array(s->arena, wide + 1, sizeof(double));
	s->sig_weight = arena_array(s->arena, wide + 1, sizeof(double));
	s->alone = arena_array(s->arena, rows, sizeof(int));
	for (int k = s->n - 1; k >= 0; k--) {
		double *row = s->sig_tail + (size_t)k * wide;

		memcpy(row, row + wide, wide * sizeof(double));
		row[s->sig_of[k]] += s->weight[k];
	}
	s->sig_class = arena_array(s->arena, (size_t)s->nseen + 1, sizeof(int *));
	s->sig_bearing = arena_array(s->arena, (size_t)s->nseen + 1, sizeof(int *));
	s->nsig_bearing = arena_array(s->arena, (size_t)s->nseen + 1, sizeof(int));
	for (int g = 0; g < s->nseen; g++) {
		s->sig_class[g] = arena_array(s->arena, wide + 1, sizeof(int));
		s->sig_bearing[g] = arena_array(s->arena, wide + 1, sizeof(int));
		for (int i = 0; i < s->nsigs; i++) {
			s->sig_class[g][i] = s->class_of[g][s->sig_first[i]];
			if (s->sig_class[g][i])
				s->sig_bearing[g][s->nsig_bearing[g]++] = i;
		}
	}
}

void ranks_make(struct search *s)
{
	rank_items(s);
	list_ranks(s);
	sum_tails(s);
	class_ranks(s);
	find_signatures(s);
	sum_signatures(s);
	s->rows = arena_array(s->arena, (size_t)s->nseen + 1, sizeof *s->rows);
	s->nrows_kept = arena_array(s->arena, (size_t)s->nseen + 1, sizeof(int));
}

/* ---- rows ------------------------------------------------------------------------------------------ */

static struct rows *make_rows(struct search *s, int answer, int state, enum rows_for what)
{
	struct su_seen *seen = s->seen[answer];
	size_t n = (size_t)su_seen_nclasses(seen);
	struct rows *r = arena_alloc(s->arena, sizeof *r);

	r->like = arena_array(s->arena, 2 * n, sizeof(double));
	r->most = r->like + n;
	memcpy(r->like, su_seen_row(seen, state), n * sizeof(double));
	for (size_t c = 0; c < n; c++)
		r->most[c] = what == ROWS_LAST ? 1
			     : su_seen_bound(seen, su_seen_join(seen, state, (int)c), what == ROWS_ONE);
	r->base = r->like[0];
	r->base_most = r->most[0];
	r->zero = !(r->base > 1e-100) || !(r->base_most > 1e-100);
	for (size_t c = 0; c < n && !r->zero; c++) {
		r->like[c] /= r->base;
		r->most[c] /= r->base_most;
	}
	return r;
}

const struct rows *rows_from(struct search *s, int answer, int state, enum rows_for what)
{
	int at = 3 * state + (int)what;

	if (at >= s->nrows_kept[answer]) {
		int cap = s->nrows_kept[answer] ? s->nrows_kept[answer] : 64;

		while (cap <= at)
			cap *= 2;
		s->rows[answer] = mem_resize_array(s->rows[answer], (size_t)cap, sizeof **s->rows);
		for (int i = s->nrows_kept[answer]; i < cap; i++)
			s->rows[answer][i] = NULL;
		s->nrows_kept[answer] = cap;
	}
	if (!s->rows[answer][at])
		s->rows[answer][at] = make_rows(s, answer, state, what);
	return s->rows[answer][at];
}
