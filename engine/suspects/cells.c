#include "suspects/cells.h"

#include <math.h>

/* The kind whose places an outcome is spread over in this table, NULL when it is one cell. */
static const struct kn_kind *spread_kind(const struct kn_knowledge *kn, const struct kn_check *c,
					 const struct kn_outcome *o, int place)
{
	if (o->rest)
		return NULL;
	if (c->per == KN_NONE)
		return o->local && o->local_kind != KN_NONE ? &kn->kinds[o->local_kind] : NULL;
	if (place != KN_NONE)
		return NULL;
	if (!c->compare)
		return &kn->kinds[c->per];
	if (!o->local)
		return NULL;
	return &kn->kinds[o->local_kind != KN_NONE ? o->local_kind : c->per];
}

static void add_cell(struct su_cells *s, int outcome, int place, double base)
{
	s->outcome[s->n] = outcome;
	s->place[s->n] = place;
	s->base[s->n] = base;
	s->n++;
}

int su_cells_make(struct su_cells *s, const struct kn_knowledge *kn, int check, int place)
{
	const struct kn_check *c = &kn->checks[check];
	/* Base rates are for the whole machine: one of n places has its share. */
	bool one_of_many = c->per != KN_NONE && !c->compare && place != KN_NONE;
	double share = one_of_many ? 1.0 / kn->kinds[c->per].nplaces : 1.0;

	s->n = 0;
	s->rest = KN_NONE;
	for (int o = 0; o < c->noutcomes; o++) {
		const struct kn_outcome *out = &c->outcomes[o];
		const struct kn_kind *kind =
			c->combine == KN_TABLE ? NULL : spread_kind(kn, c, out, place);
		int n = kind ? kind->nplaces : 1;

		if (s->n + n > SU_CELLS_MAX)
			return -1;
		if (out->rest)
			s->rest = s->n;
		for (int p = 0; p < n; p++)
			add_cell(s, o, kind ? p : KN_NONE, out->base * share / n);
	}
	s->floor = s->n ? fmin(c->floor, .2 / s->n) : 0;
	return 0;
}

static int places_met(const struct kn_kind *kind, uint32_t sites)
{
	int met = 0;

	for (int p = 0; p < kind->nplaces; p++)
		met += (kind->places[p].sites & sites) != 0;
	return met;
}

bool su_cells_votes(const struct su_cells *s, const struct kn_knowledge *kn, int check, int place,
		    int fault, double votes[SU_CELLS_MAX])
{
	const struct kn_check *c = &kn->checks[check];
	uint32_t sites = kn->faults[fault].sites;
	bool any = false;

	for (int i = 0; i < s->n; i++)
		votes[i] = NAN;
	if (c->per != KN_NONE && place != KN_NONE && !c->compare &&
	    !(kn->kinds[c->per].places[place].sites & sites))
		return false;
	for (int i = 0; i < s->n; i++) {
		const struct kn_outcome *o = &c->outcomes[s->outcome[i]];
		double vote = o->rest || !o->vote ? NAN : o->vote[fault];

		if (isnan(vote))
			continue;
		if (s->place[i] != KN_NONE) {
			const struct kn_kind *kind = spread_kind(kn, c, o, place);

			if (!kind || !(kind->places[s->place[i]].sites & sites))
				continue;
			vote /= places_met(kind, sites);
		}
		votes[i] = vote;
		any = true;
	}
	return any;
}

void su_cells_finish(const struct su_cells *s, double *v, double most)
{
	double sum = 0;

	for (int i = 0; i < s->n; i++)
		if (i != s->rest)
			sum += v[i];
	if (s->rest != KN_NONE) {
		if (sum > most) {
			for (int i = 0; i < s->n; i++)
				v[i] *= most / sum;
			sum = most;
		}
		v[s->rest] = 1 - sum;
	}
	for (int i = 0; i < s->n; i++)
		v[i] = s->floor + (1 - s->floor * s->n) * v[i];
}
