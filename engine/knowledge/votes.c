/* Votes: from <when> and <cause> to one number per fault and outcome.
 *
 * A mode's own vote beats those of the gates above it, and the narrower reference the wider one.
 * A gate that is a pure OR votes through its members: of several such gates the largest vote if
 * any is above the base, otherwise the smallest.  Any other gate keeps its vote for itself. */
#include <math.h>
#include <string.h>

#include "knowledge/inner.h"

struct vote { const struct el *el; const char *mode, *gate; double p; };

struct votes { int n; struct vote *vote; };

static int add(struct bind *b, struct votes *v, const struct el *e)
{
	struct vote new = { e, el_attr(e, "mode"), NULL, el_number(e, "p", 0) };

	if (!new.mode)
		new.gate = el_attr(e, "gate");
	for (int i = 0; i < v->n; i++) {
		const struct vote *old = &v->vote[i];

		if ((new.mode && old->mode && !strcmp(new.mode, old->mode)) ||
		    (new.gate && old->gate && !strcmp(new.gate, old->gate)))
			return el_err(b->load, e, NULL, "a second number for \"%s\"; the first one is on "
				      "line %d", new.mode ? new.mode : new.gate, old->el->tag->line);
	}
	v->vote[v->n++] = new;
	return 0;
}

/* own[f]: how narrow the reference was that gave fault f its own vote, plus one; 0: none yet. */
static void own_vote(const struct bind *b, struct mode_ref m, double p, double *vote,
		     unsigned char *own)
{
	for (int i = 0; i < b->fault_count[m.mode]; i++) {
		int f = b->first_fault[m.mode] + i;

		if (!fault_meant(b, f, m.narrow) || own[f] > m.narrow + 1)
			continue;
		vote[f] = p;
		own[f] = (unsigned char)(m.narrow + 1);
	}
}

static void own_votes(const struct bind *b, const struct votes *v, double *vote, unsigned char *own)
{
	for (int i = 0; i < v->n; i++)
		if (v->vote[i].mode)
			own_vote(b, mode_of(b, v->vote[i].mode), v->vote[i].p, vote, own);
}

static void through_gate(const struct kn_gate *g, double p, double base, double *vote,
			 const unsigned char *own)
{
	for (int i = 0; i < g->nreach; i++) {
		int f = g->reach[i];

		if (own[f])
			continue;
		if (isnan(vote[f]))
			vote[f] = p;
		else
			vote[f] = p > base || vote[f] > base ? fmax(vote[f], p) : fmin(vote[f], p);
	}
}

static double *no_votes(struct bind *b)
{
	size_t nfaults = (size_t)b->kn->nfaults;
	double *vote = arena_array(b->arena, nfaults + 1, sizeof *vote);

	for (size_t f = 0; f < nfaults; f++)
		vote[f] = NAN;
	return vote;
}

static int apply(struct bind *b, const struct votes *v, struct kn_outcome *o)
{
	unsigned char *own;

	if (v->n == 0) { /* most outcomes: they share one row */
		if (!b->no_votes)
			b->no_votes = no_votes(b);
		o->vote = b->no_votes;
		return 0;
	}
	if (++b->nvoted * (long)b->kn->nfaults > VOTES_MAX)
		return el_too_many(b->load, v->vote[0].el, VOTES_MAX, "faults times outcomes");
	own = arena_alloc(b->load->scratch, (size_t)b->kn->nfaults + 1);
	o->vote = no_votes(b);
	o->gate_votes = arena_array(b->arena, (size_t)v->n, sizeof *o->gate_votes);
	own_votes(b, v, o->vote, own);
	for (int i = 0; i < v->n; i++) {
		int gate;

		if (!v->vote[i].gate)
			continue;
		gate = names_find(b->load, E_GATE, v->vote[i].gate)->index;
		if (b->kn->gates[gate].pure_or)
			through_gate(&b->kn->gates[gate], v->vote[i].p, o->base, o->vote, own);
		else
			o->gate_votes[o->ngate_votes++] = (struct kn_gate_vote){ gate, v->vote[i].p };
	}
	return 0;
}

int bind_votes(struct bind *b, const struct el *e, enum el_kind kind, struct kn_outcome *o)
{
	struct votes v = { 0 };

	v.vote = arena_array(b->load->scratch, (size_t)el_count(e, kind), sizeof *v.vote);
	for (struct el *k = el_kid(e, kind); k; k = el_next(k, kind))
		if (add(b, &v, k) < 0)
			return -1;
	return apply(b, &v, o);
}

int bind_symptom_votes(struct bind *b, const struct el *e, struct kn_outcome *o)
{
	struct votes v = { 0 };
	size_t most = 0;

	for (struct el *k = el_kid(e, E_BRANCH); k; k = el_next(k, E_BRANCH))
		most += (size_t)el_count(k, E_CAUSE);
	v.vote = arena_array(b->load->scratch, most, sizeof *v.vote);
	for (struct el *k = el_kid(e, E_BRANCH); k; k = el_next(k, E_BRANCH))
		for (struct el *c = el_kid(k, E_CAUSE); c; c = el_next(c, E_CAUSE))
			if (add(b, &v, c) < 0)
				return -1;
	return apply(b, &v, o);
}

/* Something else gives a symptom as its listed causes do on average, by weight. */
void something_elses_vote(struct bind *b, struct kn_outcome *yes)
{
	double weight = 0, sum = 0;

	for (int f = 1; b->kn->something_else && f < b->kn->nfaults; f++)
		if (!isnan(yes->vote[f])) {
			weight += b->kn->faults[f].weight;
			sum += b->kn->faults[f].weight * yes->vote[f];
		}
	if (weight > 0)
		yes->vote[0] = sum / weight;
}
