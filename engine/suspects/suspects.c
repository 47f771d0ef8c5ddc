#include "suspects/suspects.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "suspects/grow.h"

struct su_settings su_settings_default(void)
{
	return (struct su_settings){ 1e-4, 60000000, 1024 };
}

/* ---- the answers in one order, whatever order they came in ------------------------------------ */

static int three_way(double a, double b) { return (a > b) - (a < b); }

static int canonical(const void *pa, const void *pb)
{
	const struct su_evidence *a = pa, *b = pb;
	int d;

	if ((d = a->check - b->check) || (d = a->place - b->place) || (d = a->epoch - b->epoch) ||
	    (d = three_way(a->exponent, b->exponent)) || (d = a->by_model - b->by_model) ||
	    (d = (int)a->kind - (int)b->kind) || (d = three_way(a->value, b->value)))
		return d;
	for (int i = 0; i < a->ncells && i < b->ncells; i++)
		if ((d = three_way(a->share[i], b->share[i])))
			return d;
	return 0;
}

/* Not met before at the same epoch: answers at several places are one. */
static bool first_of_check(const struct su_evidence *e, int k)
{
	for (int i = k - 1; i >= 0 && e[i].check == e[k].check; i--)
		if (e[i].epoch == e[k].epoch)
			return false;
	return true;
}

/* Checks that share a fact count with 1/sqrt(n) each (knowledge 0.3). */
static double group_exponent(const struct kn_knowledge *kn, const struct su_evidence *e, int n, int i)
{
	int group = kn->checks[e[i].check].same_fact, members = 0;

	if (group == KN_NONE)
		return 1;
	for (int k = 0; k < n; k++) /* sorted: a check's answers are adjacent */
		if (kn->checks[e[k].check].same_fact == group && e[k].epoch == e[i].epoch &&
		    first_of_check(e, k))
			members++;
	return members > 1 ? 1 / sqrt(members) : 1;
}

/* The answers that count, sorted. */
static struct su_evidence *in_order(const struct kn_knowledge *kn, const struct su_case *c, int *n)
{
	struct su_evidence *e = mem_array((size_t)c->nevidence + 1, sizeof *e);
	double *times = mem_array((size_t)c->nevidence + 1, sizeof *times);

	*n = 0;
	for (int i = 0; i < c->nevidence; i++)
		if (c->evidence[i].exponent > 0)
			e[(*n)++] = c->evidence[i];
	qsort(e, (size_t)*n, sizeof *e, canonical);
	for (int i = 0; i < *n; i++)
		times[i] = group_exponent(kn, e, *n, i);
	for (int i = 0; i < *n; i++)
		e[i].exponent *= times[i];
	mem_free(times);
	return e;
}

/* One su_seen for each check and place; -1 when a check has too many cells. */
static int see(const struct su_prior *p, const struct su_evidence *e, int n, struct su_seen **out,
	       struct hs_err *err)
{
	int made = 0;

	for (int i = 0, next; i < n; i = next) {
		const struct su_evidence *chain[64];
		int len = 0;

		for (next = i; next < n && e[next].check == e[i].check && e[next].place == e[i].place;
		     next++)
			if (len < 64)
				chain[len++] = &e[next];
		out[made] = su_seen_new(p, chain, len);
		if (!out[made]) {
			err_set(err, HS_LIMIT, "The check %s has more than %d answers over its places; "
				"split it.", p->kn->checks[e[i].check].id, SU_CELLS_MAX);
			while (made > 0)
				su_seen_free(out[--made]);
			return -1;
		}
		made++;
	}
	return made;
}

static double share_of_yes(const struct kn_knowledge *kn, const struct su_evidence *e)
{
	return e->share[kn->checks[e->check].outcomes[0].rest ? 1 : 0];
}

/* Was this told of as the job began? */
static bool complained_of(const struct kn_knowledge *kn, const struct su_evidence *e, int n, int check)
{
	for (int i = 0; i < n; i++)
		if (e[i].check == check && e[i].epoch == 0 && share_of_yes(kn, &e[i]) > .5)
			return true;
	return false;
}

/* The complaint repeated after a repair and still there: the latest few; NULL when there is none. */
static struct su_seen *still_wrong(const struct su_prior *p, const struct su_evidence *e, int n)
{
	int epoch[SU_STILL_MAX], found = 0;
	double still[SU_STILL_MAX];

	for (int i = n - 1; i >= 0 && found < SU_STILL_MAX; i--)
		if (p->kn->checks[e[i].check].kind == KN_SYMPTOM && e[i].epoch > 0 &&
		    share_of_yes(p->kn, &e[i]) > 0 && complained_of(p->kn, e, n, e[i].check)) {
			epoch[found] = e[i].epoch;
			still[found++] = share_of_yes(p->kn, &e[i]);
		}
	return found ? su_seen_still_wrong(p, epoch, still, found) : NULL;
}

/* ---- results ------------------------------------------------------------------------------------ */

static int by_int(const void *a, const void *b) { return *(const int *)a - *(const int *)b; }

static void set_of(struct su_suspects *s, const struct su_prior *p, const struct su_kept *k,
		   double total, struct su_set *out)
{
	int *now = arena_array(s->arena, 2 * (size_t)k->n + 1, sizeof(int)), *was = now + k->n;

	for (int i = 0; i < k->n; i++) {
		const struct su_item *item = &p->item[k->item[i]];

		if (item->cleared_by == SU_NEVER)
			now[out->nnow++] = item->fault;
		if (item->brought_by == KN_NONE)
			was[out->nwas++] = item->fault;
	}
	qsort(now, (size_t)out->nnow, sizeof(int), by_int);
	qsort(was, (size_t)out->nwas, sizeof(int), by_int);
	out->weight = k->weight / total;
	out->now = now;
	out->was = was;
}

static struct su_suspects *results(const struct su_prior *p, const struct su_grown *g)
{
	struct su_suspects *s = mem_alloc(sizeof *s);
	size_t n = (size_t)p->kn->nfaults + 1;

	s->kn = p->kn;
	s->arena = arena_new();
	s->now = arena_array(s->arena, n, sizeof(double));
	s->was = arena_array(s->arena, n, sizeof(double));
	s->sets = arena_array(s->arena, (size_t)g->nkept + 1, sizeof *s->sets);
	for (int i = 0; i < p->nitems; i++) {
		double share = g->item_weight[i] / g->total;

		if (p->item[i].cleared_by == SU_NEVER)
			s->now[p->item[i].fault] += share;
		if (p->item[i].brought_by == KN_NONE)
			s->was[p->item[i].fault] += share;
	}
	s->mode_now = arena_array(s->arena, (size_t)p->kn->nmodes + 1, sizeof(double));
	s->mode_was = arena_array(s->arena, (size_t)p->kn->nmodes + 1, sizeof(double));
	for (int m = 0; m < p->kn->nmodes; m++) {
		s->mode_now[m] = g->mode_now[m] / g->total;
		s->mode_was[m] = g->mode_was[m] / g->total;
	}
	for (int i = 0; i < g->nkept; i++) {
		set_of(s, p, &g->kept[i], g->total, &s->sets[i]);
		s->listed += s->sets[i].weight;
	}
	s->nsets = g->nkept;
	s->left_out = g->pending / (g->total + g->pending);
	s->log_evidence = log(g->total);
	for (int i = 0; i < 4; i++)
		s->number[i] = g->by_number[i] / g->total;
	s->p_none = s->number[0];
	s->looked_at = g->looked_at;
	return s;
}

struct su_suspects *su_weigh(const struct kn_knowledge *kn, const struct su_case *c,
			     const struct su_settings *settings, struct hs_err *err)
{
	struct su_settings by_default = su_settings_default();
	int nevidence, n;
	struct su_evidence *e = in_order(kn, c, &nevidence);
	struct su_seen **seen = mem_array((size_t)c->nevidence + 2, sizeof *seen);
	struct su_suspects *s = NULL;
	struct su_grown grown;
	struct su_prior p;

	su_prior_make(&p, kn, c);
	n = see(&p, e, nevidence, seen, err);
	if (n >= 0) {
		seen[n] = still_wrong(&p, e, nevidence);
		n += seen[n] != NULL;
		su_grow(&p, seen, n, settings ? settings : &by_default, &grown);
		if (grown.total > 0) {
			s = results(&p, &grown);
			for (int i = 0; i < n; i++)
				s->log_evidence += su_seen_log_scale(seen[i]);
		} else
			err_set(err, HS_BAD_INPUT, "No fault in these files can give all these answers. "
				"Take back the one you trust least.");
		su_grown_free(&grown);
	}
	for (int i = 0; i < n; i++)
		su_seen_free(seen[i]);
	su_prior_free(&p);
	mem_free(seen);
	mem_free(e);
	return s;
}

void su_free(struct su_suspects *s)
{
	if (!s)
		return;
	arena_free(s->arena);
	mem_free(s);
}

void su_predict(const struct su_suspects *s, struct su_table *t, double *cells)
{
	int n = su_table_ncells(t);

	for (int i = 0; i < n; i++)
		cells[i] = 0;
	for (int k = 0; k < s->nsets; k++) {
		int state = su_table_none(t);
		const double *row;

		for (int i = 0; i < s->sets[k].nnow; i++)
			state = su_table_join(t, state, s->sets[k].now[i]);
		row = su_table_row(t, state);
		for (int i = 0; i < n; i++)
			cells[i] += s->sets[k].weight / s->listed * row[i];
	}
}
