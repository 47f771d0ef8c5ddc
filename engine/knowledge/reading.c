/* What a check reads: unit, band, instrument; and which numbers belong to which outcome. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "knowledge/inner.h"

/* ---- the reading ---------------------------------------------------------------------------- */

static bool is_ratio(enum rd_derive d)
{
	return d == RD_LEAST_OVER_MOST || d == RD_EACH_OVER_HIGHEST;
}

/* The band comes from the machine's value; what is written here counts more. */
static int take_value(struct bind *b, const struct el *e, struct kn_reading *r)
{
	const struct kn_value *v = &b->kn->values[r->value];
	enum rd_unit unit = is_ratio(r->derive) ? RD_NO_UNIT : r->unit;

	if (v->unit != unit && !rd_unit_convertible(v->unit, unit))
		return el_err(b->load, e, "value", "\"%s\" is in \"%s\", the reading in \"%s\"", v->id,
			      rd_unit_name(v->unit), rd_unit_name(unit));
	r->low = rd_unit_convert(v->low, v->unit, unit);
	r->high = rd_unit_convert(v->high, v->unit, unit);
	r->nominal = rd_unit_convert(v->nominal, v->unit, unit);
	if (v->unit == unit) {
		r->low = v->low;
		r->high = v->high;
		r->nominal = v->nominal;
	}
	r->reference_degC = v->at_degC;
	return 0;
}

/* Good for what it reads; a file that cares names its own. */
static const struct rd_instrument *usual_instrument(enum rd_unit unit)
{
	static const struct { enum rd_unit unit; const char *id; } usual[] = {
		{ RD_OHM, "good-meter" }, { RD_VOLT, "good-meter" }, { RD_AMPERE, "good-meter" },
		{ RD_MM, "vernier" },
	};

	for (int i = 0; i < COUNT(usual); i++)
		if (usual[i].unit == unit || rd_unit_convertible(unit, usual[i].unit))
			if (rd_instrument_by_id(usual[i].id))
				return rd_instrument_by_id(usual[i].id);
	return rd_instrument_count() ? rd_instrument_at(0) : NULL;
}

static int bind_figures(struct bind *b, const struct el *e, struct kn_check *c, struct kn_reading *r)
{
	const char *value = el_attr(e, "value");

	r->low = -INFINITY;
	r->high = INFINITY;
	r->nominal = r->reference_degC = NAN;
	r->value = value_index(b, value);
	if (value && r->value == KN_NONE)
		c->offered = false;
	if (r->value != KN_NONE && take_value(b, e, r) < 0)
		return -1;
	r->low = el_number(e, "low", r->low);
	r->high = el_number(e, "high", r->high);
	r->nominal = el_number(e, "nominal", r->nominal);
	r->reference_degC = el_number(e, "at", r->reference_degC);
	if (r->low > r->high)
		return el_err(b->load, e, el_attr(e, "low") ? "low" : "high", "low is above high");
	return 0;
}

int bind_reading(struct bind *b, const struct el *check, struct kn_check *c)
{
	const struct el *e = el_kid(check, E_READING);
	struct kn_reading *r;
	const char *s;

	if (!e)
		return 0;
	c->reading = r = arena_alloc(b->arena, sizeof *r);
	if ((s = el_attr(e, "unit")) && *s)
		rd_unit_by_name(s, &r->unit);
	r->derive = c->per == KN_NONE ? RD_AS_READ : RD_EACH;
	if ((s = el_attr(e, "derive")))
		rd_derive_by_name(s, &r->derive);
	s = el_attr(e, "instrument");
	r->instrument = s ? rd_instrument_by_id(s) : usual_instrument(r->unit);
	r->repeatability = el_number(e, "repeatability", 0);
	r->leads = el_yes(e, "leads");
	r->copper = el_yes(e, "copper");
	r->sea_level = el_yes(e, "sea-level");
	r->range = el_number(e, "range", INFINITY);
	r->short_below = el_number(e, "short-below", 0);
	return bind_figures(b, e, c, r);
}

/* ---- bands ---------------------------------------------------------------------------------- */

enum { INSIDE, BELOW, ABOVE, OUTSIDE, OPEN, SHORT };

static unsigned sides_of(const struct el *e)
{
	const char *at = el_attr(e, "side");
	unsigned bits = 0;
	char w[16];

	while (at && value_word(&at, w, sizeof w))
		for (int i = 0; sides[i]; i++)
			if (!strcmp(sides[i], w))
				bits |= i == OUTSIDE ? 1u << BELOW | 1u << ABOVE : 1u << i;
	return bits;
}

static bool takes_numbers(unsigned bits)
{
	return bits & (1u << INSIDE | 1u << BELOW | 1u << ABOVE);
}

/* Neighbours become one interval; an empty one has low >= high. */
static void set_sides(struct kn_outcome *o, unsigned bits, const struct kn_reading *r)
{
	bool in = bits >> INSIDE & 1, below = bits >> BELOW & 1, above = bits >> ABOVE & 1;

	o->has_range = in || below || above;
	o->low[0] = below ? -INFINITY : in ? r->low : r->high;
	o->high[0] = above && (in || !below) ? INFINITY : in ? r->high : r->low;
	o->low[1] = o->high[1] = 0;
	if (below && above && !in) {
		o->low[1] = r->high;
		o->high[1] = INFINITY;
	}
	if (!o->has_range)
		o->low[0] = o->high[0] = 0;
}

static int set_range(struct bind *b, const struct el *e, struct kn_outcome *o,
		     const struct kn_check *c, bool has_band)
{
	unsigned bits = sides_of(e);
	bool numbers = el_attr(e, "from") || el_attr(e, "to");

	if ((bits || numbers) && !c->reading)
		return el_err(b->load, e, bits ? "side" : NULL, "numbers need a <reading>");
	if (numbers && takes_numbers(bits))
		return el_err(b->load, e, "side", "either a side or from and to");
	if (takes_numbers(bits) && !has_band)
		return el_err(b->load, e, "side", "the reading has no band: value, low or high");
	if (!c->reading)
		return 0;
	set_sides(o, bits, c->reading);
	o->on_open = bits >> OPEN & 1;
	o->on_short = bits >> SHORT & 1;
	if (!numbers)
		return 0;
	o->has_range = true;
	o->low[0] = el_number(e, "from", -INFINITY);
	o->high[0] = el_number(e, "to", INFINITY);
	return o->low[0] < o->high[0] ? 0 : el_err(b->load, e, "from", "from is not below to");
}

struct piece { double low, high; bool local; const struct el *el; };

static int by_low(const void *a, const void *b)
{
	const struct piece *x = a, *y = b;

	return (x->low > y->low) - (x->low < y->low);
}

static int collect_pieces(const struct el *check, const struct kn_check *c, struct piece *out)
{
	int n = 0, i = 0;

	for (struct el *e = el_kid(check, E_OUTCOME); e; e = el_next(e, E_OUTCOME), i++)
		for (int k = 0; k < 2 && c->outcomes[i].has_range; k++)
			if (c->outcomes[i].low[k] < c->outcomes[i].high[k])
				out[n++] = (struct piece){ c->outcomes[i].low[k], c->outcomes[i].high[k],
							   el_yes(e, "local"), e };
	qsort(out, (size_t)n, sizeof *out, by_low);
	return n;
}

/* The intervals no piece covers, at most `most`; how many there are. */
static int gaps(const struct piece *p, int n, int most, double *low, double *high)
{
	double from = -INFINITY;
	int found = 0;

	for (int i = 0; i <= n; i++) {
		double to = i < n ? p[i].low : INFINITY;

		if (from < to && found < most) {
			low[found] = from;
			high[found] = to;
		}
		found += from < to;
		from = i < n && p[i].high > from ? p[i].high : from;
	}
	return found;
}

/* What the others leave. */
static int give_rest(struct bind *b, const struct el *e, struct kn_outcome *rest,
		     const struct piece *p, int n)
{
	int found = gaps(p, n, 2, rest->low, rest->high);

	if (found > 2)
		return el_err(b->load, e, NULL, "the rest would be in more than two pieces");
	rest->has_range = found > 0;
	return 0;
}

/* One number, one outcome; only that one place is off and that all are may look alike. */
static int check_pieces(struct bind *b, const struct el *check, const struct piece *p, int n)
{
	double low, high;

	for (int i = 1; i < n; i++)
		for (int k = 0; k < i; k++)
			if (p[i].low < p[k].high && p[i].local == p[k].local)
				return el_err(b->load, p[i].el, NULL,
					      "numbers from %g to %g belong to \"%s\" as well", p[i].low,
					      fmin(p[i].high, p[k].high), el_id(p[k].el));
	if (n && gaps(p, n, 1, &low, &high) > 0)
		return el_err(b->load, el_kid(check, E_READING), NULL,
			      "numbers from %g to %g belong to no outcome", low, high);
	return 0;
}

/* Without an own outcome open is far above, short far below. */
static void open_and_short(struct kn_check *c)
{
	int highest = KN_NONE, lowest = KN_NONE;
	bool open = false, shorted = false;

	for (int i = 0; i < c->noutcomes; i++) {
		const struct kn_outcome *o = &c->outcomes[i];

		open = open || o->on_open;
		shorted = shorted || o->on_short;
		for (int k = 0; k < 2 && o->has_range; k++) {
			if (o->low[k] < o->high[k] && o->high[k] == INFINITY)
				highest = i;
			if (o->low[k] < o->high[k] && o->low[k] == -INFINITY)
				lowest = i;
		}
	}
	if (!open && highest != KN_NONE)
		c->outcomes[highest].on_open = true;
	if (!shorted && lowest != KN_NONE)
		c->outcomes[lowest].on_short = true;
}

int bind_bands(struct bind *b, const struct el *check, struct kn_check *c)
{
	const struct el *reading = el_kid(check, E_READING);
	bool has_band = reading && (el_attr(reading, "value") || el_attr(reading, "low") ||
				    el_attr(reading, "high"));
	struct piece pieces[2 * KN_OUTCOMES_MAX];
	int i = 0, n;

	if (el_yes(check, "codes")) /* lamp codes are no numbers on a scale */
		return reading ? el_err(b->load, reading, NULL, "lamp codes are not read as numbers") : 0;
	for (struct el *e = el_kid(check, E_OUTCOME); e; e = el_next(e, E_OUTCOME), i++)
		if (set_range(b, e, &c->outcomes[i], c, has_band) < 0)
			return -1;
	if (!reading)
		return 0;
	n = collect_pieces(check, c, pieces);
	i = 0;
	for (struct el *e = el_kid(check, E_OUTCOME); e; e = el_next(e, E_OUTCOME), i++)
		if (c->outcomes[i].rest && !c->outcomes[i].has_range &&
		    give_rest(b, e, &c->outcomes[i], pieces, n) < 0)
			return -1;
	n = collect_pieces(check, c, pieces);
	/* A value this machine does not have leaves no band to hold the sides against. */
	if (c->offered && check_pieces(b, check, pieces, n) < 0)
		return -1;
	open_and_short(c);
	return 0;
}
