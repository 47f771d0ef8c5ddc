#include "plan/words.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define WORTH_SAYING .03
#define SEEN .005            /* a change that shows in whole percent */

/* "Something else" tells nobody where to look: it is named only where it is likelier there than absent. */
static double worth_naming(const struct kn_knowledge *kn, const double *mass, int mode)
{
	return kn_not_listed(kn, mode) && mass[mode] <= .5 ? 0 : mass[mode];
}

/* The likeliest mode under a belief that is worth naming, and P(it is present); labels are modes. */
static int likeliest(const struct kn_knowledge *kn, const struct pl_problem *p, const struct pl_belief *b,
		     double *mass, double *p_mode)
{
	int best = 0;

	pl_belief_labels(p, b, mass);
	for (int m = 1; m < p->nlabels; m++)
		if (worth_naming(kn, mass, m) > worth_naming(kn, mass, best))
			best = m;
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

/* The answer that moves one suspect most, in words. */
static void say_check(struct pl_step *s, const struct kn_knowledge *kn, const double *before)
{
	const struct kn_check *c = &kn->checks[s->index];
	const struct pl_reason *best = NULL;
	struct text title = { 0 };

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
	kn_mode_title(&title, kn, best->mode);
	snprintf(s->why, sizeof s->why, "\"%.60s\" (%.0f %%) would make %.80s %s: %.0f %% instead of %.0f %%.",
		 c->outcomes[best->outcome].title, 100 * best->p,
		 text_str(&title),
		 best->p_mode >= before[best->mode] ? "likelier" : "less likely", 100 * best->p_mode,
		 100 * before[best->mode]);
	text_free(&title);
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
	struct text title = { 0 };
	int best = KN_NONE;

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
	kn_mode_title(&title, kn, best);
	snprintf(s->why, sizeof s->why, "It clears %.80s (%.0f %%); the chance that it alone cures the bike is %.0f %%.",
		 text_str(&title), 100 * now->suspects->mode_now[best],
		 100 * cured);
	text_free(&title);
}
