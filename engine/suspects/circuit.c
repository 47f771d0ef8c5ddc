#include "suspects/circuit.h"

#include <math.h>

/* An instrument or a person can always be wrong: this share of every reading is "anything the
 * meter can show" (knowledge 0.4): a quarter open, a quarter short, half a number, flat up to a
 * thousandth of the usual size and log-uniform from there to a thousand times it. */
#define WIDE_SHARE .01
#define WIDE_OPEN .25
#define WIDE_SHORT .25
#define WIDE_DECADES 1e6

const struct kn_model *su_circuit(const struct kn_knowledge *kn, int check, int place)
{
	const struct kn_check *c = &kn->checks[check];

	if (!c->nmodels || !c->reading)
		return NULL;
	if (c->per == KN_NONE)
		return &c->models[0];
	return place == KN_NONE || place >= c->nmodels ? NULL : &c->models[place];
}

bool su_circuit_has(const struct kn_model *m, int fault)
{
	for (int i = 0; i < m->nfaults; i++)
		if (m->faults[i] == fault)
			return true;
	return false;
}

static void leaf_states(const struct kn_knowledge *kn, const struct kn_model *m, const int *faults,
			int n, struct rd_dist *out)
{
	for (int i = 0; i < m->nleaves; i++) {
		const struct kn_leaf *leaf = &m->leaves[i];

		out[i] = kn->parts[leaf->part].values[leaf->slot].healthy;
		for (int k = 0; k < n; k++) {
			const struct kn_fault *f = &kn->faults[faults[k]];
			const struct kn_mode *mode;

			if (f->part != leaf->part || f->mode == KN_NONE)
				continue;
			if (f->place != KN_NONE && f->place != leaf->place)
				continue;
			mode = &kn->modes[f->mode];
			for (int s = 0; s < mode->nshows; s++)
				if (mode->shows[s].value_slot == leaf->slot)
					out[i] = mode->shows[s].dist;
		}
	}
}

static struct rd_meter meter_of(const struct kn_reading *r)
{
	struct rd_meter m = { r->instrument, r->repeatability, r->range, r->short_below };

	return m;
}

static double wide_scale(const struct kn_reading *r)
{
	double s = r->nominal;

	if (isnan(s) && isfinite(r->low) && isfinite(r->high))
		s = (r->low + r->high) / 2;
	if (isnan(s))
		s = isfinite(r->high) ? r->high : isfinite(r->low) ? r->low : 1;
	return fabs(s) > 1e-12 ? fabs(s) : 1;
}

/* Number part of the wide distribution between 0 and x, as a share of all numbers. */
static double wide_below(double scale, double x)
{
	double knee = scale / 1000, whole = 1 + log(WIDE_DECADES);

	if (x <= 0)
		return 0;
	if (x <= knee)
		return x / knee / whole;
	return fmin(1, (1 + log(x / knee)) / whole);
}

static double wide_density(const struct kn_reading *r, enum rd_kind kind, double value)
{
	double scale = wide_scale(r), knee = scale / 1000, x = fabs(value);
	double level = (1 - WIDE_OPEN - WIDE_SHORT) / (knee * (1 + log(WIDE_DECADES)));

	if (kind == RD_OPEN)
		return WIDE_OPEN;
	if (kind == RD_SHORT)
		return WIDE_SHORT;
	return x <= knee ? level : level * knee / x;
}

static bool number_in(const struct kn_outcome *o, double x)
{
	for (int i = 0; i < 2; i++)
		if (o->low[i] < o->high[i] && x > o->low[i] && x <= o->high[i])
			return true;
	return false;
}

/* How the votes of faults outside the model share out: by_outcome gets the strongest vote each. */
static double outside_votes(const struct kn_knowledge *kn, const struct kn_check *c,
			    const struct kn_model *m, int place, const int *faults, int n,
			    double *by_outcome)
{
	double sum = 0;
	uint32_t here = c->per == KN_NONE || place == KN_NONE
				? KN_ALL_SITES
				: kn->kinds[c->per].places[place].sites;

	for (int o = 0; o < c->noutcomes; o++) {
		by_outcome[o] = 0;
		for (int k = 0; k < n && !c->outcomes[o].rest && c->outcomes[o].vote; k++) {
			double v = c->outcomes[o].vote[faults[k]];

			if (!isnan(v) && v > c->outcomes[o].base && v > by_outcome[o] &&
			    (kn->faults[faults[k]].sites & here) && !su_circuit_has(m, faults[k]))
				by_outcome[o] = v;
		}
		sum += by_outcome[o];
	}
	if (sum > .97) {
		for (int o = 0; o < c->noutcomes; o++)
			by_outcome[o] *= .97 / sum;
		sum = .97;
	}
	return sum;
}

void su_circuit_cells(const struct kn_knowledge *kn, int check, int place, const int *faults, int n,
		      double *by_outcome)
{
	const struct kn_check *c = &kn->checks[check];
	const struct kn_model *m = su_circuit(kn, check, place);
	struct rd_meter meter = meter_of(c->reading);
	struct rd_dist leaf[RD_LEAVES_MAX];
	double outside, sum = 0, open, closed;
	int rest = KN_NONE;

	if (!m) { /* a place without a model says nothing: everything is as usual */
		for (int o = 0; o < c->noutcomes; o++)
			by_outcome[o] = c->outcomes[o].rest;
		return;
	}
	outside = outside_votes(kn, c, m, place, faults, n, by_outcome);
	leaf_states(kn, m, faults, n, leaf);
	open = rd_model_open(m->root, leaf, m->nleaves, &meter);
	closed = rd_model_short(m->root, leaf, m->nleaves, &meter);
	for (int o = 0; o < c->noutcomes; o++) {
		const struct kn_outcome *out = &c->outcomes[o];
		double p = 0;

		if (out->rest) {
			rest = o;
			continue;
		}
		for (int i = 0; i < 2; i++)
			if (out->has_range && out->low[i] < out->high[i])
				p += rd_model_between(m->root, leaf, m->nleaves, &meter, out->low[i],
						      out->high[i]);
		p += (out->on_open ? open : 0) + (out->on_short ? closed : 0);
		by_outcome[o] += (1 - outside) * p;
		sum += by_outcome[o];
	}
	if (rest != KN_NONE)
		by_outcome[rest] = fmax(0, 1 - sum);
}

double su_circuit_likelihood(const struct kn_knowledge *kn, const struct su_evidence *e,
			     const int *faults, int n)
{
	const struct kn_check *c = &kn->checks[e->check];
	const struct kn_model *m = su_circuit(kn, e->check, e->place);
	struct rd_meter meter = meter_of(c->reading);
	struct rd_dist leaf[RD_LEAVES_MAX];
	double votes[KN_OUTCOMES_MAX];
	double wide = wide_density(c->reading, e->kind, e->value), outside, p;

	if (!m)
		return wide;
	outside = outside_votes(kn, c, m, e->place, faults, n, votes);
	leaf_states(kn, m, faults, n, leaf);
	p = outside < 1 ? rd_model_likelihood(m->root, leaf, m->nleaves, &meter, e->kind, e->value,
					      e->u)
			: 0;
	p *= 1 - outside;
	/* A fault outside the model that makes the meter show outcome o shows anywhere in o. */
	for (int o = 0; o < c->noutcomes; o++) {
		const struct kn_outcome *out = &c->outcomes[o];
		double mass = 0, scale = wide_scale(c->reading);

		if (votes[o] <= 0)
			continue;
		for (int i = 0; i < 2; i++)
			if (out->low[i] < out->high[i])
				mass += (1 - WIDE_OPEN - WIDE_SHORT) *
					(wide_below(scale, out->high[i]) - wide_below(scale, out->low[i]));
		mass += (out->on_open ? WIDE_OPEN : 0) + (out->on_short ? WIDE_SHORT : 0);
		if (mass > 0 && ((e->kind == RD_OPEN && out->on_open) ||
				 (e->kind == RD_SHORT && out->on_short) ||
				 (e->kind == RD_NUMBER && number_in(out, e->value))))
			p += votes[o] * wide / mass;
	}
	return (1 - WIDE_SHARE) * p + WIDE_SHARE * wide;
}

/* The shown figure carries at least the noise u, so no density is above the top of its bell;
 * probabilities of open and short are at most 1. The part by votes is at most wide / smallest mass. */
double su_circuit_most(const struct kn_knowledge *kn, const struct su_evidence *e)
{
	const struct kn_check *c = &kn->checks[e->check];
	double wide = wide_density(c->reading, e->kind, e->value);
	double u = e->u > 0 ? e->u
			    : rd_instrument_u(c->reading->instrument, e->value, 0,
					      c->reading->repeatability);
	double top = e->kind == RD_NUMBER ? (u > 0 ? .3989422804014327 / u : INFINITY) : 1;
	double scale = wide_scale(c->reading);

	for (int o = 0; o < c->noutcomes; o++) {
		const struct kn_outcome *out = &c->outcomes[o];
		double mass = 0;

		for (int i = 0; i < 2; i++)
			if (out->low[i] < out->high[i])
				mass += (1 - WIDE_OPEN - WIDE_SHORT) *
					(wide_below(scale, out->high[i]) - wide_below(scale, out->low[i]));
		mass += (out->on_open ? WIDE_OPEN : 0) + (out->on_short ? WIDE_SHORT : 0);
		if (mass > 0)
			top = fmax(top, wide / mass);
	}
	return (1 - WIDE_SHARE) * top + WIDE_SHARE * wide;
}
