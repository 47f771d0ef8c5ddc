/* What a person sees: one line per part and mode, with the place once it is decided. */
#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "suspects/suspects.h"

#define DECIDED .8
#define AHEAD 3               /* times as likely as what is not named */

static void add_fault(struct su_line *l, int fault, double p)
{
	int cap = (int)(sizeof l->fault / sizeof *l->fault);

	if (l->nfaults == cap)
		return;
	l->fault[l->nfaults] = fault;
	l->by_fault[l->nfaults++] = p;
}

/* The next likeliest, where the two hold enough, are clearly ahead of the others and narrow the places down. */
static int second(const struct su_line *l, const struct kn_knowledge *kn, double best, double sum)
{
	const struct kn_part *part = &kn->parts[kn->modes[l->mode].part];
	double most = -1, next = 0;
	int second = KN_NONE;

	for (int i = 0; i < l->nfaults; i++) {
		if (l->fault[i] == l->best_fault)
			continue;
		next = fmax(next, fmin(most, l->by_fault[i]));
		if (l->by_fault[i] > most) {
			most = l->by_fault[i];
			second = l->fault[i];
		}
	}
	if (second == KN_NONE || best + most < DECIDED * sum || most < AHEAD * next)
		return KN_NONE;
	return kn->kinds[part->kind].nplaces > 2 || l->all || kn->faults[second].all ? second : KN_NONE;
}

static void decide(struct su_line *l, const struct kn_knowledge *kn)
{
	double best = -1, sum = 0;

	for (int i = 0; i < l->nfaults; i++) {
		sum += l->by_fault[i];
		if (l->by_fault[i] > best) {
			best = l->by_fault[i];
			l->best_fault = l->fault[i];
		}
	}
	if (l->best_fault == KN_NONE)
		return;
	l->all = kn->faults[l->best_fault].all;
	l->undecided = l->nfaults > 1 && best < DECIDED * sum;
	if (l->undecided)
		l->second_fault = second(l, kn, best, sum);
	l->place = l->undecided ? KN_NONE : kn->faults[l->best_fault].place;
}

struct sortable { struct su_line line; int index; };

static int by_p(const void *a, const void *b)
{
	const struct sortable *x = a, *y = b;

	return x->line.p > y->line.p ? -1 : x->line.p < y->line.p ? 1 : x->index - y->index;
}

int su_likeliest(const struct su_suspects *s)
{
	int best = 0;

	for (int m = 1; m < s->kn->nmodes; m++)
		if (s->mode_now[m] > s->mode_now[best])
			best = m;
	return best;
}

int su_lines(const struct su_suspects *s, struct su_line **out)
{
	const struct kn_knowledge *kn = s->kn;
	struct sortable *all = mem_array((size_t)kn->nmodes + 1, sizeof *all);
	int n = 0;

	for (int m = 0; m < kn->nmodes; m++) {
		all[m].index = m;
		all[m].line.mode = m;
		all[m].line.best_fault = all[m].line.second_fault = all[m].line.place = KN_NONE;
	}
	for (int f = 0; f < kn->nfaults; f++)
		add_fault(&all[kn->faults[f].mode].line, f, s->now[f]);
	for (int m = 0; m < kn->nmodes; m++) {
		all[m].line.p = s->mode_now[m];
		decide(&all[m].line, kn);
	}
	qsort(all, (size_t)kn->nmodes, sizeof *all, by_p);
	*out = mem_array((size_t)kn->nmodes + 1, sizeof **out);
	for (int m = 0; m < kn->nmodes; m++) {
		if (all[m].line.best_fault == KN_NONE)
			continue; /* a mode without a fault: not fitted here */
		if (kn->something_else && all[m].line.best_fault == 0)
			all[m].line.mode = KN_NONE;
		(*out)[n++] = all[m].line;
	}
	mem_free(all);
	return n;
}
