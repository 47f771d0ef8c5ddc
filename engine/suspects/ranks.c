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
		s->is_now[k] = s->p->item[r[k].item].cleared_by == SU_NEVER;
		s->first += s->brought[k];
		s->any_cleared = s->any_cleared || !s->is_now[k];
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

/* ---- what stands apart ---------------------------------------------------------------------------- */

static void add_apart(struct search *s, struct apart *list, int *n, int rank, int other)
{
	int a = s->by_rank[rank], b = s->by_rank[other];
	const struct kn_fault *faults = s->p->kn->faults;
	struct apart new = { other, su_items_exclude(s->p, a, b) ? 0 : su_item_times(s->p, a, b), 0 };

	if (other == rank || s->brought[other] || (new.times == 1 && faults[s->p->item[a].fault].mode !=
							faults[s->p->item[b].fault].mode))
		return;
	for (int i = 0; i < *n; i++)
		if (list[i].rank == other)
			return;
	list[(*n)++] = new;
}

static void find_apart(struct search *s)
{
	struct apart *list = mem_array(2 * (size_t)s->n + 1, sizeof *list);

	s->apart = arena_array(s->arena, (size_t)s->n + 1, sizeof *s->apart);
	s->napart = arena_array(s->arena, (size_t)s->n + 1, sizeof(int));
	for (int k = s->first; k < s->n; k++) {
		int fault = s->p->item[s->by_rank[k]].fault, n = 0;

		for (int j = s->part_head[s->p->kn->faults[fault].part]; j >= 0; j = s->part_next[j])
			add_apart(s, list, &n, k, j);
		for (const struct su_near *near = s->p->near[fault]; near; near = near->next)
			for (int j = s->fault_head[near->fault]; j >= 0; j = s->fault_next[j])
				add_apart(s, list, &n, k, j);
		s->napart[k] = n;
		s->apart[k] = arena_array(s->arena, (size_t)n + 1, sizeof *list);
		memcpy(s->apart[k], list, sizeof *list * (size_t)n);
	}
	mem_free(list);
}

static void list_answers(struct search *s)
{
	s->bears = arena_array(s->arena, (size_t)s->n + 1, sizeof *s->bears);
	s->nbears = arena_array(s->arena, (size_t)s->n + 1, sizeof(int));
	for (int k = s->first; k < s->n; k++) {
		s->bears[k] = arena_array(s->arena, (size_t)s->nseen + 1, sizeof(int));
		for (int g = 0; g < s->nseen; g++)
			if (s->class_of[g][k])
				s->bears[k][s->nbears[k]++] = g;
	}
}

/* ---- signatures ---------------------------------------------------------------------------------- */

static bool alike(const struct search *s, int a, int b)
{
	if (s->is_now[a] != s->is_now[b] || s->nbears[a] != s->nbears[b])
		return false;
	for (int i = 0; i < s->nbears[a]; i++) {
		int g = s->bears[a][i];

		if (s->class_of[g][a] != s->class_of[g][b])
			return false;
	}
	return true;
}

/* From the last rank to the first: the signature met first has the last rank. */
static void find_signatures(struct search *s)
{
	size_t n = (size_t)s->n + 1;

	s->sig_of = arena_array(s->arena, n, sizeof(int));
	s->sig_first = arena_array(s->arena, n, sizeof(int));
	s->sig_last = arena_array(s->arena, n, sizeof(int));
	s->sig_next = arena_array(s->arena, n, sizeof(int));
	s->sig_most = arena_array(s->arena, n, sizeof(double));
	s->sig_now = arena_array(s->arena, n, sizeof(bool));
	s->after = arena_array(s->arena, n, sizeof(double));
	for (int k = s->n - 1; k >= s->first; k--) {
		int g = 0;

		while (g < s->nsigs && !alike(s, s->sig_last[g], k))
			g++;
		if (g == s->nsigs) {
			s->nsigs++;
			s->sig_last[g] = k;
			s->sig_now[g] = s->is_now[k];
			s->sig_next[k] = -1;
		} else {
			int behind = s->sig_first[g];

			s->sig_next[k] = behind;
			s->after[k] = s->weight[behind] + s->after[behind];
		}
		s->sig_first[g] = k;
		s->sig_of[k] = g;
		s->sig_most[g] = fmax(s->sig_most[g], s->weight[k]);
	}
}

static void number_classes(struct search *s, int g, int *number)
{
	struct bearing *b = &s->sig[g];
	size_t wide = (size_t)s->nsigs + 1;

	b->sig = arena_array(s->arena, wide, sizeof(int));
	b->class_of = arena_array(s->arena, wide, sizeof(int));
	b->nclasses = arena_array(s->arena, wide, sizeof(int));
	b->class_no = arena_array(s->arena, wide, sizeof(int));
	for (int i = 0, n = 0; i < s->nsigs; i++) {
		int class_no = s->class_of[g][s->sig_first[i]];

		if (!class_no)
			continue;
		if (number[class_no] < 0) {
			b->class_no[n] = class_no;
			number[class_no] = n++;
		}
		b->sig[b->n] = i;
		b->class_of[b->n++] = number[class_no];
		b->nclasses[b->n] = n;
	}
	b->inverse = arena_array(s->arena, (size_t)b->n + 1, sizeof(double));
}

static void class_signatures(struct search *s)
{
	s->sig = arena_array(s->arena, (size_t)s->nseen + 1, sizeof *s->sig);
	for (int g = 0; g < s->nseen; g++) {
		size_t n = (size_t)su_seen_nclasses(s->seen[g]);
		int *number = mem_array(n, sizeof(int));

		memset(number, -1, n * sizeof(int));
		number_classes(s, g, number);
		mem_free(number);
	}
}

static void room_for_levels(struct search *s)
{
	size_t wide = (size_t)s->nsigs + 1, n = (size_t)s->n + 1, answers = (size_t)s->nseen + 1;

	s->state = arena_array(s->arena, answers, sizeof(int));
	s->base = arena_array(s->arena, answers, sizeof(double));
	s->sig_base = arena_array(s->arena, wide, sizeof(double));
	s->sig_like = arena_array(s->arena, wide, sizeof(double));
	s->sig_weight = arena_array(s->arena, wide, sizeof(double));
	s->sig_sum = arena_array(s->arena, wide, sizeof(double));
	s->minus = arena_array(s->arena, n, sizeof(double));
	s->alone = arena_array(s->arena, n, sizeof *s->alone);
	s->alone_at = arena_array(s->arena, n, sizeof(int));
	for (int k = 0; k < s->n; k++)
		s->alone_at[k] = -1;
}

void ranks_make(struct search *s)
{
	size_t answers = (size_t)s->nseen + 1;

	rank_items(s);
	list_ranks(s);
	sum_tails(s);
	class_ranks(s);
	find_apart(s);
	list_answers(s);
	find_signatures(s);
	class_signatures(s);
	room_for_levels(s);
	s->rows = arena_array(s->arena, answers, sizeof *s->rows);
	s->rows_last = arena_array(s->arena, answers, sizeof *s->rows_last);
	s->ratios = arena_array(s->arena, answers, sizeof *s->ratios);
}

/* ---- rows ------------------------------------------------------------------------------------------ */

void **slot(struct slots *s, int at)
{
	if (at >= s->n) {
		int n = s->n ? s->n : 64;

		while (n <= at)
			n *= 2;
		s->at = mem_resize_array(s->at, (size_t)n, sizeof *s->at);
		while (s->n < n)
			s->at[s->n++] = NULL;
	}
	return &s->at[at];
}

static struct rows *make_rows(struct search *s, int answer, int state, bool may_grow)
{
	struct su_seen *seen = s->seen[answer];
	size_t n = (size_t)su_seen_nclasses(seen);
	struct rows *r = arena_alloc(s->arena, sizeof *r);

	r->like = arena_array(s->arena, 2 * n, sizeof(double));
	r->most = r->like + n;
	for (size_t c = 0; c < n; c++) {
		r->like[c] = su_seen_likelihood_with(seen, state, (int)c);
		r->most[c] = may_grow ? su_seen_bound(seen, su_seen_join(seen, state, (int)c)) : 1;
	}
	r->base = r->like[0];
	r->base_most = r->most[0];
	r->zero = !(r->base > 1e-100) || !(r->base_most > 1e-100);
	for (size_t c = 0; c < n && !r->zero; c++) {
		r->like[c] /= r->base;
		r->most[c] /= r->base_most;
	}
	return r;
}

const struct rows *rows_from(struct search *s, int answer, int state, bool may_grow)
{
	void **at = slot(may_grow ? &s->rows[answer] : &s->rows_last[answer], state);

	if (!*at)
		*at = make_rows(s, answer, state, may_grow);
	return *at;
}
