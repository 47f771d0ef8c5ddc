#include "reading/settle.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* The parts u is made of, all carried to where the figure is judged. */
struct parts { double random, instrument, leads, temperature, rest; };

static const struct { const char *from, *to; } better[] = {
	{ "cheap-meter", "good-meter" },          { "clamp-meter", "good-meter" },
	{ "rule", "vernier" },                    { "clear-tube", "vernier" },
	{ "feeler", "dial-gauge" },               { "feeler-gauge", "dial-gauge" },
	{ "vacuum-gauge", "vacuum-column" },      { "vacuum-gauges", "vacuum-column" },
	{ "vacuum-pump-gauge", "vacuum-column" }, { "ir-thermometer", "contact-thermometer" },
};

static const struct rd_instrument *better_than(const struct rd_instrument *m)
{
	for (size_t i = 0; m && i < sizeof better / sizeof *better; i++)
		if (strcmp(better[i].from, m->id) == 0)
			return rd_instrument_by_id(better[i].to);
	return NULL;
}

static bool decides(const struct rd_setup *s, const struct rd_result *r, double u)
{
	double p;

	return rd_judge(s->low, s->high, r->kind, r->value, u, &p) != RD_TOO_CLOSE;
}

/* Largest u that decides, by halving; 0 when the figure stands on the limit itself. */
static double needed(const struct rd_setup *s, const struct rd_result *r)
{
	double low = 0, high = r->u;

	for (int i = 0; i < 60; i++) {
		double u = (low + high) / 2;

		if (decides(s, r, u))
			low = u;
		else
			high = u;
	}
	return low > 1e-6 * r->u ? low : 0;
}

static double without(double u, double part) { return sqrt(fmax(0, u * u - part * part)); }

static double typed_resolution(const struct rd_result *r)
{
	return r->repeats > 1 ? 10 * r->resolution : r->resolution;
}

static bool from_places(const struct rd_setup *s, const struct rd_result *r)
{
	return r->nplaces && s->derive != RD_AS_READ && s->derive != RD_EACH;
}

static struct parts parts_of(const struct rd_setup *s, const struct rd_result *r)
{
	struct parts p = { .random = r->u_random };
	bool leads = s->through_leads && rd_unit_convertible(RD_OHM, s->unit) && r->value != r->raw;
	double off = leads && !isnan(s->leads) ? rd_unit_convert(s->leads, RD_OHM, s->unit) : 0;
	double carried = r->raw - off != 0 ? fabs(r->value / (r->raw - off)) : 1;

	if (!from_places(s, r)) {
		p.instrument = carried * rd_instrument_u(s->instrument, r->raw, typed_resolution(r), 0);
		if (leads && !isnan(s->leads))
			p.leads = carried * rd_unit_convert(s->leads_u, RD_OHM, s->unit);
		if (!isnan(s->part_degC) && !isnan(s->reference_degC))
			p.temperature = fabs(r->value) * s->part_degC_u / (234.5 + s->part_degC);
	}
	p.rest = without(without(without(without(r->u, p.random), p.instrument), p.leads), p.temperature);
	if (s->through_leads && isnan(s->leads)) {
		p.leads = p.rest; /* waived: what they may be wrong by is all that is left */
		p.rest = 0;
	}
	return p;
}

/* Readings it takes in all when the rest of the uncertainty is `fixed`; 0: more than anybody takes. */
static int readings_for(const struct rd_result *r, double random, double fixed, double u_needed)
{
	int now = r->repeats > 0 ? r->repeats : 1;
	double room = u_needed * u_needed - fixed * fixed, n;

	if (!(room > 0))
		return 0;
	n = ceil(now * random * random / room - 1e-9);
	return n <= RD_SETTLE_READINGS_MAX ? (int)fmax(n, 1) : 0;
}

static bool by_repeats(const struct rd_result *r, const struct parts *p, struct rd_settle *out)
{
	if (!(p->random > 0))
		return false;
	out->readings = readings_for(r, p->random, without(r->u, p->random), out->u_needed);
	if (!out->readings)
		return false;
	out->by = RD_SETTLE_REPEAT;
	snprintf(out->words, sizeof out->words, "to settle it: %d readings in all, typed together",
		 out->readings);
	return true;
}

static bool by_part(const struct rd_result *r, double part, enum rd_settle_by by, const char *words,
		    struct rd_settle *out)
{
	if (!(part > 0) || without(r->u, part) > out->u_needed)
		return false;
	out->by = by;
	out->readings = 1;
	snprintf(out->words, sizeof out->words, "to settle it: %s", words);
	return true;
}

static bool by_instrument(const struct rd_setup *s, const struct rd_result *r, const struct parts *p,
			  struct rd_settle *out)
{
	const struct rd_instrument *m = better_than(s->instrument);
	double carried = p->instrument / fmax(rd_instrument_u(s->instrument, r->raw, typed_resolution(r), 0),
					      1e-300);
	double fixed, digit = typed_resolution(r);

	if (!m || !(p->instrument > 0))
		return false;
	digit = digit > 0 ? fmin(digit, m->least_count) : m->least_count;
	fixed = hypot(without(without(r->u, p->random), p->instrument),
		      carried * rd_instrument_u(m, r->raw, digit, 0));
	out->readings = readings_for(r, p->random, fixed, out->u_needed);
	if (!out->readings)
		return false;
	out->by = RD_SETTLE_INSTRUMENT;
	out->instrument = m;
	if (out->readings > 1)
		snprintf(out->words, sizeof out->words, "to settle it: a %s, and %d readings", m->title,
			 out->readings);
	else
		snprintf(out->words, sizeof out->words, "to settle it: a %s", m->title);
	return true;
}

void rd_settle(const struct rd_setup *s, const struct rd_result *r, struct rd_settle *out)
{
	struct parts p;

	memset(out, 0, sizeof *out);
	if (r->kind != RD_NUMBER || decides(s, r, r->u))
		return;
	p = parts_of(s, r);
	out->u_needed = needed(s, r);
	if (by_repeats(r, &p, out) ||
	    by_part(r, p.leads, RD_SETTLE_LEADS, isnan(s->leads) ? "measure the leads" : "measure at the part, "
		    "with the leads measured again", out) ||
	    by_part(r, p.temperature, RD_SETTLE_TEMPERATURE, "measure the temperature of the part itself", out) ||
	    by_instrument(s, r, &p, out))
		return;
	out->by = RD_SETTLE_NOT;
	out->readings = 0;
	strcpy(out->words, "no reading with these tools settles it: it lies at the limit");
}
