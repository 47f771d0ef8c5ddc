/* How far the frequency of the first suspect, or the likelihood of an answer where it is present, would
 * have to be overrated before another step is the best one.
 *
 * What a step costs is linear in the weights of the fault sets as long as what is done behind it stays
 * the same, so its value is a quotient of linear functions of the factor; but what is done behind it
 * changes with the factor.  So the plan is made anew at a few factors and the first change is
 * enclosed: below the factor told the step stays, above it the step told is the better one. */
#include <math.h>

#include "plan/options.h"

#define FIRM 5.0              /* as for the first suspect (docs/method.md 5) */
#define LEANING 2.0
#define HALVINGS 4            /* of the interval with the change: 1.06 to one at the widest */

static const double factors[] = { 1.25, 1.6, 2, 2.5, 3.2, 4, 5, 7, PL_FIRM_MOST };

struct first { enum pl_kind kind; int index, place; };

static bool has_mode(const struct kn_knowledge *kn, const struct pl_set *s, int mode)
{
	for (int i = 0; i < s->n; i++)
		if (kn->faults[s->fault[i]].mode == mode)
			return true;
	return false;
}

/* The belief if sets with the mode weighed one `factor`th. */
static void overrated(const struct pl_options *o, int mode, double factor, struct pl_belief *out)
{
	double sum = 0;

	out->n = 0;
	for (int i = 0; i < o->belief.n; i++) {
		bool has = has_mode(o->kn, &o->problem.set[o->belief.set[i]], mode);
		double w = has ? o->belief.w[i] / factor : o->belief.w[i];

		pl_belief_add(out, o->belief.set[i], w);
		sum += w;
	}
	for (int i = 0; i < out->n; i++)
		out->w[i] /= sum;
}

/* The first step of the advice at this belief, as pl_next() takes it. */
static struct first first_step(struct pl_options *o, const struct pl_situation *now,
			       const struct pl_belief *b)
{
	struct pl_choice c;

	o->problem.work = 0;
	if (!pl_advised(o, now, b, now->open, 0, &c))
		return (struct first){ PL_HAND_OVER, KN_NONE, KN_NONE };
	if (c.check)
		return (struct first){ PL_CHECK, o->problem.check[c.option].check,
				       o->problem.check[c.option].place };
	return (struct first){ PL_REMEDY, o->problem.remedy[c.option].remedy,
			       o->problem.remedy[c.option].place };
}

/* Does another check or remedy come first? The place alone is no other step. */
static bool changed(struct pl_options *o, const struct pl_situation *now, struct first was, int mode,
		    double factor, struct pl_firmness *out)
{
	struct pl_belief b = { 0 };
	struct first f;

	overrated(o, mode, factor, &b);
	f = first_step(o, now, &b);
	pl_belief_free(&b);
	if (f.kind == was.kind && f.index == was.index)
		return false;
	*out = (struct pl_firmness){ mode, factor, f.kind, f.index, f.place, "", true };
	return true;
}

static void enclose(struct pl_options *o, const struct pl_situation *now, struct first was, int mode,
		    double low, struct pl_firmness *out)
{
	for (int i = 0; i < HALVINGS; i++) {
		double middle = sqrt(low * out->factor);

		if (!changed(o, now, was, mode, middle, out))
			low = middle;
	}
}

void pl_firm(const struct pl_situation *now, struct pl_firmness *out)
{
	size_t n = sizeof factors / sizeof *factors, i = 0;
	int mode = su_likeliest(now->suspects);
	struct pl_options o;
	struct first was;

	*out = (struct pl_firmness){ mode, PL_FIRM_MOST, PL_HAND_OVER, KN_NONE, KN_NONE, "firm", false };
	pl_options_make(&o, now);
	pl_limits(&o.problem);
	was = first_step(&o, now, &o.belief);
	out->kind = was.kind;
	while (i < n && !changed(&o, now, was, mode, factors[i], out))
		i++;
	if (i < n)
		enclose(&o, now, was, mode, i ? factors[i - 1] : 1, out);
	out->changes = i < n;
	out->word = !out->changes || out->factor >= FIRM ? "firm"
		    : out->factor >= LEANING ? "leaning" : "open";
	pl_options_free(&o);
}
