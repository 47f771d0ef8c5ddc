#include "plan/closing.h"

#include <string.h>

#include "plan/options.h"

#define FREE_MINUTES 12       /* more than that is not nearly free */
#define SAVES_LEAST 15        /* minutes */
#define CHANCE_LEAST .02      /* of clearing something */
#define LOST_BITS .01

/* What the step has open while it is done, and what is still open after it. */
struct span { uint64_t during, after; };

static struct span span_of(const struct pl_options *o, const struct pl_situation *now,
			   const struct pl_step *step)
{
	const struct pl_problem *p = &o->problem;
	struct span s = { now->open, now->open };

	for (int i = 0; step->kind == PL_CHECK && i < p->nchecks; i++)
		if (p->check[i].check == step->index && p->check[i].place == step->place) {
			s.after = pl_after_check(p, now->open, i);
			return s;
		}
	for (int i = 0; step->kind == PL_REMEDY && i < p->nremedies; i++)
		if (p->remedy[i].remedy == step->index && p->remedy[i].place == step->place) {
			s.during = now->open | p->access[p->remedy[i].access].path;
			s.after = pl_after_remedy(p, now->open, i);
			return s;
		}
	return s;
}

static bool among_step(const struct pl_step *step, const struct pl_spare *x)
{
	for (int i = 0; i < step->nalso; i++)
		if (x->kind == PL_REMEDY && step->also[i] == x->index)
			return true;
	return step->kind == x->kind && step->index == x->index;
}

static void keep(struct pl_closing *out, const struct pl_step *step, const struct pl_spare *x)
{
	double worth = x->chance * (x->later_minutes - x->now_minutes);
	int at = out->n;

	if (among_step(step, x))
		return;
	for (int i = 0; i < out->n; i++)
		if (out->spare[i].kind == x->kind && out->spare[i].index == x->index)
			return;
	while (at > 0 && out->spare[at - 1].chance *
			     (out->spare[at - 1].later_minutes - out->spare[at - 1].now_minutes) < worth)
		at--;
	if (at == PL_SPARE_MOST)
		return;
	out->n += out->n < PL_SPARE_MOST;
	for (int i = out->n - 1; i > at; i--)
		out->spare[i] = out->spare[i - 1];
	out->spare[at] = *x;
}

static void offer(struct pl_closing *out, const struct pl_step *step, const struct pl_problem *p,
		  const struct span *s, int access, struct pl_spare x)
{
	x.later_minutes = x.now_minutes + pl_open_cost(p, s->after, access);
	if (pl_open_cost(p, s->during, access) <= 0 && x.now_minutes <= FREE_MINUTES &&
	    x.later_minutes - x.now_minutes >= SAVES_LEAST)
		keep(out, step, &x);
}

static double cleared(const struct pl_options *o, const struct su_suspects *s, int remedy)
{
	const struct pl_remedy_option *r = &o->problem.remedy[remedy];
	double sum = 0;

	for (int i = 0; i < r->nclears; i++)
		sum += s->now[r->clears[i].fault] * r->clears[i].p;
	return sum < 1 ? sum : 1;
}

/* Checks that look at what the step's own work takes away: deposits before cleaning and the like. */
static void what_is_lost(struct pl_options *o, const struct pl_step *step, const struct span *s,
			 struct pl_closing *out)
{
	struct pl_problem *p = &o->problem;

	for (int i = 0; step->kind == PL_REMEDY && i < p->nchecks; i++) {
		const struct kn_check *c = &o->kn->checks[p->check[i].check];
		bool there = false;

		for (int k = 0; k < out->nlost; k++)
			there = there || out->lost[k] == p->check[i].check;
		if (c->before && !there && out->nlost < PL_SPARE_MOST && c->access > 0 &&
		    pl_open_cost(p, s->during, p->check[i].access) <= 0 &&
		    pl_information(p, &o->belief, i) > LOST_BITS)
			out->lost[out->nlost++] = p->check[i].check;
	}
}

void pl_before_closing(const struct pl_situation *now, const struct pl_step *step, struct pl_closing *out)
{
	struct pl_options o;
	struct pl_problem *p = &o.problem;
	struct span s;

	memset(out, 0, sizeof *out);
	if (step->kind == PL_HAND_OVER)
		return;
	pl_options_make(&o, now);
	s = span_of(&o, now, step);
	out->closes = s.during & ~s.after;
	for (int i = 0; out->closes && i < p->nchecks; i++) {
		double bits = pl_information(p, &o.belief, i);

		if (bits >= PL_BITS_LEAST && !p->check[i].engine)
			offer(out, step, p, &s, p->check[i].access, (struct pl_spare){ PL_CHECK,
				p->check[i].check, p->check[i].place, p->check[i].cost, 0, bits });
	}
	for (int i = 0; out->closes && i < p->nremedies; i++) {
		double chance = cleared(&o, now->suspects, i);

		if (chance >= CHANCE_LEAST)
			offer(out, step, p, &s, p->remedy[i].access, (struct pl_spare){ PL_REMEDY,
				p->remedy[i].remedy, p->remedy[i].place, p->remedy[i].cost, 0, chance });
	}
	what_is_lost(&o, step, &s, out);
	pl_options_free(&o);
}

void pl_check_bits(const struct pl_situation *now, double *bits)
{
	struct pl_options o;

	pl_options_make(&o, now);
	for (int c = 0; c < o.kn->nchecks; c++)
		bits[c] = 0;
	for (int i = 0; i < o.problem.nchecks; i++) {
		double b = pl_information(&o.problem, &o.belief, i);
		double *most = &bits[o.problem.check[i].check];

		*most = b > *most ? b : *most;
	}
	pl_options_free(&o);
}
