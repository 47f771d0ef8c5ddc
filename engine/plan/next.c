#include <math.h>
#include <string.h>

#include "plan/options.h"
#include "plan/words.h"

#define AS_GOOD_MIN 1.0
#define WANTED_MOST 6         /* checks with a missing tool that are weighed */

static double opening_minutes(const struct pl_situation *now, int access)
{
	const struct kn_knowledge *kn = now->suspects->kn;
	double sum = 0;

	for (; access != KN_NONE; access = kn->accesses[access].parent)
		if (kn->accesses[access].parent != KN_NONE && !(now->open >> access & 1))
			sum += kn->accesses[access].open_min;
	return sum;
}

static double check_minutes(const struct pl_situation *now, int check, int place)
{
	return pl_check_work(now, check, place) +
	       opening_minutes(now, now->suspects->kn->checks[check].access);
}

double pl_check_minutes(const struct pl_situation *now, int check)
{
	return check_minutes(now, check, KN_NONE);
}

double pl_remedy_minutes(const struct pl_situation *now, int remedy, int place, double *money)
{
	return pl_remedy_work(now, remedy, place, money) +
	       opening_minutes(now, now->suspects->kn->remedies[remedy].access);
}

static void fill_step(struct pl_step *s, struct pl_options *o, const struct pl_situation *now,
		      const struct pl_choice *c)
{
	memset(s, 0, sizeof *s);
	s->kind = c->check ? PL_CHECK : PL_REMEDY;
	s->expected_total = c->value;
	if (c->check) {
		const struct pl_check_option *k = &o->problem.check[c->option];

		s->index = k->check;
		s->place = k->place;
		s->minutes = check_minutes(now, k->check, k->place);
		pl_words_check(s, o, now, c->option);
	} else {
		const struct pl_remedy_option *r = &o->problem.remedy[c->option];

		s->index = r->remedy;
		s->place = r->place;
		s->minutes = pl_remedy_minutes(now, r->remedy, r->place, &s->money);
		for (int i = 1; i < c->group.n; i++)
			s->also[s->nalso++] = o->problem.remedy[c->group.remedy[i]].remedy;
		pl_words_remedy(s, o, now, c->option);
	}
}

/* One line per check and remedy: of a check's places the best is enough. */
static bool already_there(const struct pl_plan *out, const struct pl_options *o,
			  const struct pl_choice *c)
{
	for (int i = 0; i < out->nsteps; i++)
		if (c->check ? out->step[i].kind == PL_CHECK &&
				       out->step[i].index == o->problem.check[c->option].check
			     : out->step[i].kind == PL_REMEDY &&
				       out->step[i].index == o->problem.remedy[c->option].remedy)
			return true;
	return false;
}

/* Expected cost had the fault been known: for each set, remedies and nothing else. */
static double known_cost(struct pl_problem *p, const struct pl_belief *b, uint64_t open)
{
	double sum = 0;

	for (int i = 0; i < b->n; i++) {
		struct pl_belief one = { 0 };

		pl_belief_add(&one, b->set[i], 1);
		sum += b->w[i] * pl_base(p, &one, open, NULL);
		pl_belief_free(&one);
	}
	return sum;
}

/* The best value a check could have if it were possible, looked at with one step. */
static double value_if(struct pl_options *o, const struct pl_situation *now, int check)
{
	struct pl_problem *p = &o->problem;
	struct pl_belief after = { 0 };
	double value;
	int at = p->nchecks;

	if (!pl_add_check(o, now, check, KN_NONE))
		return INFINITY;
	value = pl_check_cost(p, now->open, at) * pl_belief_uncured(&o->belief);
	for (int c = 0; c < p->check[at].ncells; c++) {
		double share = pl_belief_cell(p, &o->belief, at, c, &after);

		if (share > 1e-9)
			value += share * pl_base(p, &after, pl_after_check(p, now->open, at), NULL);
	}
	pl_belief_free(&after);
	mem_free(p->check[at].rows);
	p->nchecks--;
	return value;
}

static void tool_that_would_help(struct pl_options *o, const struct pl_situation *now,
				 struct pl_plan *out)
{
	const struct kn_knowledge *kn = now->suspects->kn;
	double best = out->nsteps ? out->step[0].expected_total : INFINITY;

	for (int i = 0; i < o->nwanting && i < WANTED_MOST; i++) {
		double value = value_if(o, now, o->wanting[i]);
		uint64_t missing = kn->checks[o->wanting[i]].tools & ~now->tools;

		if (value >= best - AS_GOOD_MIN || best - value <= out->tool_saves)
			continue;
		for (int t = 0; t < kn->ntools; t++)
			if (missing >> t & 1)
				out->tool_wanted = t;
		out->tool_saves = best - value;
	}
}

static void hold_in_the_way(struct pl_options *o, const struct pl_situation *now, struct pl_plan *out)
{
	double best = out->nsteps ? out->step[0].expected_total : INFINITY;

	for (int i = 0; i < o->nblocked && i < 2 * WANTED_MOST && out->blocked_by == KN_NONE; i++)
		if (value_if(o, now, o->blocked[i]) < best - AS_GOOD_MIN)
			out->blocked_by = o->blocked_by;
}

static void hand_over_step(struct pl_plan *out, double value)
{
	struct pl_step *s = &out->step[out->nsteps++];

	memset(s, 0, sizeof *s);
	s->kind = PL_HAND_OVER;
	s->index = s->place = KN_NONE;
	s->expected_total = value;
	strcpy(s->why, "No check or repair left here is likely to pay for itself.");
}

static void fill_plan(struct pl_options *o, const struct pl_situation *now, struct pl_plan *out)
{
	struct pl_choice c[24];
	double over = pl_belief_uncured(&o->belief) * now->rates.hand_over;
	int n = pl_first_steps(&o->problem, &o->belief, now->open, c, 24, &out->repair_only);

	for (int i = 0; i < n && out->nsteps < 3; i++) {
		if (out->nsteps == 0 && c[i].value >= over)
			break;
		if (!already_there(out, o, &c[i]))
			fill_step(&out->step[out->nsteps++], o, now, &c[i]);
	}
	if (out->nsteps == 0)
		hand_over_step(out, over);
	for (int i = 0; i < out->nsteps; i++) {
		double other = i ? out->step[0].expected_total
				 : out->nsteps > 1 ? out->step[1].expected_total : out->repair_only;

		out->step[i].saves = other - out->step[i].expected_total;
		out->as_good += i == 0 || -out->step[i].saves < AS_GOOD_MIN;
	}
	out->any_as_good = out->as_good > 1;
}

int pl_next(const struct pl_situation *now, struct pl_plan *out, struct hs_err *err)
{
	struct pl_options o;

	(void)err;
	memset(out, 0, sizeof *out);
	out->blocked_by = out->tool_wanted = KN_NONE;
	pl_options_make(&o, now);
	pl_limits(&o.problem);
	fill_plan(&o, now, out);
	tool_that_would_help(&o, now, out);
	hold_in_the_way(&o, now, out);
	out->known_cost = known_cost(&o.problem, &o.belief, now->open);
	out->work = o.problem.work;
	pl_options_free(&o);
	return 0;
}
