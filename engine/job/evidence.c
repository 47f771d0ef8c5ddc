/* What an understood answer says about the bike, as rows the suspects are weighed with. */
#include <math.h>
#include <string.h>

#include "job/inner.h"
#include "reading/normal.h"

/* Share of the reading's spread that falls into the outcome. */
static double share_in(const struct kn_outcome *o, enum rd_kind kind, double value, double u)
{
	double p = 0;

	if (kind == RD_OPEN)
		return o->on_open;
	if (kind == RD_SHORT)
		return o->on_short;
	for (int i = 0; o->has_range && i < 2; i++) {
		if (!(o->low[i] < o->high[i]))
			continue;
		if (u > 0)
			p += normal_between((o->low[i] - value) / u, (o->high[i] - value) / u);
		else
			p += value > o->low[i] && value <= o->high[i];
	}
	return p;
}

int job_outcome_of(const struct kn_check *c, const struct rd_result *r)
{
	double best = 0;
	int out = KN_NONE;

	for (int o = 0; o < c->noutcomes; o++) {
		double p = share_in(&c->outcomes[o], r->kind, r->value, r->u);

		if (p > best) {
			best = p;
			out = o;
		}
	}
	return out;
}

/* The place a comparison points to: the one farthest from where most are. */
static int odd_one(const struct rd_result *r, enum rd_derive derive)
{
	int best = KN_NONE;
	double most = -1, sum = 0, n = 0;

	for (int p = 0; p < r->nplaces; p++)
		if (r->at[p].given) {
			sum += r->at[p].value;
			n++;
		}
	for (int p = 0; p < r->nplaces; p++) {
		double off = derive == RD_SPREAD ? fabs(r->at[p].value - sum / n) : -r->at[p].value;

		if (r->at[p].given && (best == KN_NONE || off > most)) {
			best = p;
			most = off;
		}
	}
	return best;
}

static int cell_for(struct su_table *t, int outcome, int place)
{
	int cell = su_table_cell(t, outcome, place);

	return cell == KN_NONE ? su_table_cell(t, outcome, KN_NONE) : cell;
}

/* A number judged by bands: each outcome gets its share; local ones at the odd place. */
static bool by_bands(struct su_table *t, const struct kn_check *c, enum rd_kind kind, double value,
		     double u, int place, struct su_evidence *e)
{
	double sum = 0;

	e->ncells = su_table_ncells(t);
	for (int o = 0; o < c->noutcomes; o++) {
		int cell = cell_for(t, o, place);

		if (cell != KN_NONE)
			sum += e->share[cell] += share_in(&c->outcomes[o], kind, value, u);
	}
	for (int i = 0; i < e->ncells && sum > 0; i++)
		e->share[i] /= sum;
	return sum > 0;
}

static bool number_row(struct job *j, const struct kn_check *c, enum rd_kind kind, double value,
		       double u, int odd, struct su_evidence *e)
{
	struct su_table *t = su_tables_get(j->tables, e->check, e->place);

	if (c->nmodels && !c->compare && (c->per == KN_NONE || e->place != KN_NONE)) {
		e->by_model = true;
		e->kind = kind;
		e->value = value;
		e->u = u;
		return true;
	}
	return t && by_bands(t, c, kind, value, u, odd, e);
}

static bool word_row(struct job *j, int outcome, int outcome_place, struct su_evidence *e)
{
	struct su_table *t = su_tables_get(j->tables, e->check, e->place);
	int cell = t ? cell_for(t, outcome, outcome_place) : KN_NONE;

	if (cell == KN_NONE)
		return false;
	e->ncells = su_table_ncells(t);
	e->share[cell] = 1;
	return true;
}

static struct su_evidence blank(const struct job_finding *f, double exponent, int epoch, int place)
{
	struct su_evidence e;

	memset(&e, 0, sizeof e);
	e.check = f->check;
	e.place = place;
	e.epoch = epoch;
	e.exponent = exponent;
	return e;
}

int job_evidence(struct job *j, const struct job_finding *f, double exponent, int epoch,
		 struct su_evidence *out, int most)
{
	const struct kn_check *c = &j->kn->checks[f->check];
	const struct job_understood *u = &f->understood;
	const struct rd_result *r = &u->reading;
	int n = 0;

	if (c->leads_null || most < RD_PLACES_MAX)
		return 0;
	if (u->nplaces || (u->number && r->nplaces && !c->compare)) {
		int places = u->nplaces ? u->nplaces : r->nplaces;

		for (int p = 0; p < places; p++) {
			out[n] = blank(f, exponent, epoch, p);
			if (u->nplaces ? u->at[p] != KN_NONE && word_row(j, u->at[p], KN_NONE, &out[n])
				       : r->at[p].given && number_row(j, c, r->at[p].kind, r->at[p].value,
								      r->at[p].u, KN_NONE, &out[n]))
				n++;
		}
		return n;
	}
	for (int i = 0; i < u->ncodes; i++) { /* each code of a list is seen by itself; a stored one is history */
		out[n] = blank(f, exponent * rd_blink_worth(u->code_state[i] != RD_CODE_STORED, NAN), epoch,
			       f->place);
		n += word_row(j, u->code_outcome[i], KN_NONE, &out[n]);
	}
	if (u->ncodes)
		return n;
	out[0] = blank(f, exponent, epoch, f->place);
	if (!u->number)
		return word_row(j, u->outcome, u->outcome_place, &out[0]);
	return number_row(j, c, r->kind, r->value, r->u,
			  r->nplaces ? odd_one(r, c->reading->derive) : KN_NONE, &out[0]);
}
