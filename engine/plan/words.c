#include "plan/words.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define WORTH_SAYING .03
#define SEEN .005            /* a change that shows in whole percent */

/* The likeliest mode under a belief, and P(it is present); labels are modes.  "Something else" tells nobody where to
 * look: it is named only where it is likelier there than absent. */
static int likeliest(const struct kn_knowledge *kn, const struct pl_problem *p, const struct pl_belief *b,
		     double *mass, double *p_mode)
{
	int other = kn->something_else ? kn->faults[0].mode : KN_NONE, best = KN_NONE;

	pl_belief_labels(p, b, mass);
	for (int m = 0; m < p->nlabels; m++)
		if ((m != other || mass[m] > .5) && (best == KN_NONE || mass[m] > mass[best]))
			best = m;
	best = best == KN_NONE ? other : best;
	*p_mode = mass[best];
	return best;
}

static void add_reason(struct pl_step *s, struct pl_reason r)
{
	int at = s->nreasons;

	while (at > 0 && s->reason[at - 1].p < r.p)
		at--;
	if (at >= PL_REASONS_MAX)
		return;
	if (s->nreasons < PL_REASONS_MAX)
		s->nreasons++;
	for (int i = s->nreasons - 1; i > at; i--)
		s->reason[i] = s->reason[i - 1];
	s->reason[at] = r;
}

static const char *mode_title(const struct kn_knowledge *kn, int mode, char *out, size_t size)
{
	snprintf(out, size, "%s %s", kn->parts[kn->modes[mode].part].title, kn->modes[mode].title);
	if (kn->something_else && mode == kn->faults[0].mode)
		snprintf(out, size, "something not on this list");
	return out;
}

/* The answer that moves one suspect most, in words. */
static void say_check(struct pl_step *s, const struct kn_knowledge *kn, const double *before)
{
	const struct kn_check *c = &kn->checks[s->index];
	const struct pl_reason *best = NULL;
	char title[100];

	for (int i = 0; i < s->nreasons; i++) {
		const struct pl_reason *r = &s->reason[i];

		if (!best || fabs(r->p_mode - before[r->mode]) * r->p >
				     fabs(best->p_mode - before[best->mode]) * best->p)
			best = r;
	}
	if (!best)
		return;
	if (fabs(best->p_mode - before[best->mode]) < SEEN) {
		strcpy(s->why, "Whatever it shows, the first suspect stays where it is.");
		return;
	}
	snprintf(s->why, sizeof s->why, "\"%.60s\" (%.0f %%) would make %.80s %s: %.0f %% instead of %.0f %%.",
		 c->outcomes[best->outcome].title, 100 * best->p,
		 mode_title(kn, best->mode, title, sizeof title),
		 best->p_mode >= before[best->mode] ? "likelier" : "less likely", 100 * best->p_mode,
		 100 * before[best->mode]);
}

void pl_words_check(struct pl_step *s, struct pl_options *o, const struct pl_situation *now,
		    int option)
{
	const struct kn_knowledge *kn = now->suspects->kn;
	const struct pl_check_option *c = &o->problem.check[option];
	struct su_table *t = su_tables_get(o->tables, c->check, c->place);
	struct pl_belief after = { 0 };
	double *mass = mem_array((size_t)o->problem.nlabels + 1, sizeof *mass);

	for (int cell = 0; cell < c->ncells; cell++) {
		struct pl_reason r = { su_table_cell_outcome(t, cell), su_table_cell_place(t, cell), 0,
				       0, 0 };

		r.p = pl_belief_cell(&o->problem, &o->belief, option, cell, &after);
		if (r.p < WORTH_SAYING)
			continue;
		r.mode = likeliest(kn, &o->problem, &after, mass, &r.p_mode);
		add_reason(s, r);
	}
	pl_belief_free(&after);
	mem_free(mass);
	say_check(s, kn, now->suspects->mode_now);
}

void pl_words_remedy(struct pl_step *s, struct pl_options *o, const struct pl_situation *now,
		     int option)
{
	const struct kn_knowledge *kn = now->suspects->kn;
	const struct pl_remedy_option *r = &o->problem.remedy[option];
	double cured = 0, most = 0;
	int best = KN_NONE;
	char title[100];

	for (int i = 0; i < r->nclears; i++) {
		int f = r->clears[i].fault;

		if (now->suspects->now[f] > most) {
			most = now->suspects->now[f];
			best = kn->faults[f].mode;
		}
	}
	for (int i = 0; i < o->belief.n; i++) {
		const struct pl_set *set = &o->problem.set[o->belief.set[i]];
		double all = set->n ? 1 : 0;

		for (int f = 0; f < set->n; f++) {
			double stays = 1;

			for (int c = 0; c < r->nclears; c++)
				if (r->clears[c].fault == set->fault[f])
					stays *= 1 - r->clears[c].p;
			all *= 1 - stays;
		}
		cured += o->belief.w[i] * all;
	}
	if (best == KN_NONE)
		return;
	snprintf(s->why, sizeof s->why, "It clears %.80s (%.0f %%); it alone cures the bike with %.0f %%.",
		 mode_title(kn, best, title, sizeof title), 100 * now->suspects->mode_now[best],
		 100 * cured);
}
