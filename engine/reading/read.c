#include "reading/parse.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "reading/battery.h"
#include "reading/normal.h"
#include "reading/settle.h"

#define LEADS_MATTER_OHM 100  /* above this, leads of a fraction of an ohm do not */
#define LEADS_UNKNOWN_U .2    /* ohm: what leads that were not measured may be wrong by */
#define SLIP_LEAST 200.0      /* between these two factors an answer looks like the wrong prefix */
#define SLIP_MOST 5000.0
#define REPEATS_MAX 8         /* readings of one place in a list */
#define SURE .95              /* conformance probability that decides: JCGM 106 9.2, common choice */

void rd_setup_init(struct rd_setup *s)
{
	memset(s, 0, sizeof *s);
	s->low = -INFINITY;
	s->high = INFINITY;
	s->leads = s->part_degC = s->reference_degC = s->altitude_m = s->ambient = s->typical = NAN;
	s->cranking_degC = NAN;
}

static void note(struct rd_result *r, const char *format, ...) __attribute__((format(printf, 2, 3)));
static void note(struct rd_result *r, const char *format, ...)
{
	char text[120];
	va_list args;

	if (r->nnotes < 0) /* wordless */
		return;
	va_start(args, format);
	vsnprintf(text, sizeof text, format, args);
	va_end(args);
	for (int i = 0; i < r->nnotes; i++)
		if (strcmp(r->note[i], text) == 0)
			return;
	if (r->nnotes < RD_NOTES_MAX)
		strcpy(r->note[r->nnotes++], text);
}

/* ---- one figure: corrections ----------------------------------------------------------------- */

static double through_ohm(const struct rd_setup *s, double ohm)
{
	return rd_unit_convert(ohm, RD_OHM, s->unit);
}

/* Is this a reading from which the leads must be taken? */
static bool leads_matter(const struct rd_setup *s, const struct rd_item *i)
{
	return s->through_leads && i->kind == RD_NUMBER && !i->difference &&
	       rd_unit_convertible(RD_OHM, s->unit) &&
	       fabs(rd_unit_convert(i->value, s->unit, RD_OHM)) < LEADS_MATTER_OHM;
}

static int without_leads(const struct rd_setup *s, const struct rd_item *i, double *value, double *u,
			 struct rd_result *r, struct hs_err *err)
{
	if (!leads_matter(s, i)) {
		if (s->through_leads && i->difference)
			note(r, "leads: off already, as typed");
		return 0;
	}
	if (isnan(s->leads)) {
		*u = hypot(*u, through_ohm(s, LEADS_UNKNOWN_U));
		note(r, "leads not measured: nothing subtracted, uncertainty enlarged by %.1f ohm",
		     LEADS_UNKNOWN_U);
		return 0;
	}
	*value -= through_ohm(s, s->leads);
	*u = hypot(*u, through_ohm(s, s->leads_u));
	note(r, "leads %.2f ohm subtracted", s->leads);
	if (*value < -2 * *u)
		return err_set(err, HS_BAD_INPUT, "That is less than the leads alone (%.2f ohm). Measure the "
			       "leads again, then this.", s->leads);
	return 0;
}

/* Corrections return what the figure was multiplied by. */

/* IEC 60028: copper, 234.5 degC below zero its resistance would vanish. */
static double to_reference(const struct rd_setup *s, double *value, double *u, struct rd_result *r)
{
	double times;

	if (isnan(s->part_degC) || isnan(s->reference_degC) || s->part_degC < -50)
		return 1;
	times = (234.5 + s->reference_degC) / (234.5 + s->part_degC);
	*u = hypot(*u * times, *value * times * s->part_degC_u / (234.5 + s->part_degC));
	*value *= times;
	if (fabs(times - 1) > .001)
		note(r, "copper carried from %.0f degC to %.0f degC", s->part_degC, s->reference_degC);
	return times;
}

/* ISO 2533 standard atmosphere, below 11 km. */
static double to_sea_level(const struct rd_setup *s, double *value, double *u, struct rd_result *r)
{
	double share;

	if (isnan(s->altitude_m))
		return 1;
	share = pow(1 - 2.25577e-5 * s->altitude_m, 5.25588);
	*value /= share;
	*u /= share;
	note(r, "carried from %.0f m to sea level: divided by %.3f", s->altitude_m, share);
	return 1 / share;
}

/* A cold battery may sag further: what it shows is carried to 20 degC, for which its limit is given. */
static void to_room(const struct rd_setup *s, double *value, struct rd_result *r)
{
	double more;

	if (isnan(s->cranking_degC))
		return;
	more = rd_unit_convert(rd_cranking_limit(20) - rd_cranking_limit(s->cranking_degC), RD_VOLT, s->unit);
	*value += more;
	if (more > 0)
		note(r, "carried from %.0f degC to 20 degC: %.2f %s added", s->cranking_degC, more,
		     rd_unit_name(s->unit));
}

struct figure { enum rd_kind kind; double raw, value, u, u_random, resolution, carried; };

/* Several readings of one thing: mean, Type A (JCGM 100 4.2) or the method's own, the larger. */
static struct rd_item pooled(const struct rd_setup *s, const struct rd_item *i, int n, double *u,
			     double *u_random)
{
	struct rd_item out = i[0];
	double sum = 0, square = 0, type_a = 0;

	for (int k = 0; k < n; k++) {
		sum += i[k].value;
		out.loose = fmax(out.loose, i[k].loose);
		out.resolution = fmin(out.resolution, i[k].resolution);
	}
	out.value = sum / n;
	for (int k = 0; k < n; k++)
		square += (i[k].value - out.value) * (i[k].value - out.value);
	if (n > 1)
		type_a = sqrt(square / (n - 1) / n);
	*u_random = hypot(fmax(type_a, s->repeatability / sqrt(n)), out.loose / sqrt(3.0 * n));
	*u = rd_instrument_u(s->instrument, out.value, out.resolution, *u_random);
	return out;
}

/* Readings of one thing do not differ tenfold: a blank as thousands separator, or two things. */
static bool one_thing(const struct rd_item *items, int n)
{
	double low = INFINITY, high = 0;

	for (int k = 0; k < n; k++) {
		low = fmin(low, fabs(items[k].value));
		high = fmax(high, fabs(items[k].value));
	}
	return n < 2 || low == 0 || high <= 10 * low;
}

static int figure(const struct rd_setup *s, const struct rd_item *items, int n, struct figure *f,
		  struct rd_result *r, struct hs_err *err)
{
	struct rd_item i;

	for (int k = 1; k < n; k++)
		if (items[k].kind != items[0].kind)
			return err_set(err, HS_BAD_INPUT, "Open and a number in one reading. Measure again: a "
				       "contact comes and goes, or the probes did.");
	if (items[0].kind == RD_NUMBER && !one_thing(items, n) && !rd_unit_convertible(s->unit, RD_DEGC))
		return err_set(err, HS_BAD_INPUT, "These readings of one thing differ more than tenfold. Type "
			       "them apart; thousands are written without a blank.");
	i = pooled(s, items, n, &f->u, &f->u_random);
	f->kind = i.kind;
	f->raw = f->value = i.value;
	f->resolution = n > 1 ? i.resolution / 10 : i.resolution;
	if (i.kind != RD_NUMBER) {
		f->u = f->u_random = f->resolution = f->carried = 0;
		return 0;
	}
	if (without_leads(s, &i, &f->value, &f->u, r, err) < 0)
		return -1;
	f->carried = to_reference(s, &f->value, &f->u, r);
	f->carried *= to_sea_level(s, &f->value, &f->u, r);
	to_room(s, &f->value, r);
	f->u_random *= f->carried;
	if (n > 1)
		note(r, "mean of %d readings", n);
	return 0;
}

/* ---- verdict --------------------------------------------------------------------------------- */

enum rd_verdict rd_judge(double low, double high, enum rd_kind kind, double value, double u,
			 double *p_inside)
{
	double p;

	if (isinf(low) && isinf(high))
		p = 1;
	else if (kind == RD_OPEN)
		p = isinf(high) ? 1 : 0;
	else if (kind == RD_SHORT)
		p = low <= 0 ? 1 : 0;
	else if (u > 0)
		p = normal_between((low - value) / u, (high - value) / u);
	else
		p = value >= low && value <= high;
	*p_inside = p;
	if (isinf(low) && isinf(high))
		return RD_NO_BAND;
	return p >= SURE ? RD_INSIDE : p <= 1 - SURE ? RD_OUTSIDE : RD_TOO_CLOSE;
}

static enum rd_verdict judge(const struct rd_setup *s, enum rd_kind kind, double value, double u,
			     double *p)
{
	return rd_judge(s->low, s->high, kind, value, u, p);
}

/* ---- lists ----------------------------------------------------------------------------------- */

/* Sorts items by place: labelled ones as they say, a bare list in order. */
static int by_place(const struct rd_setup *s, struct rd_typed *t, int count[RD_PLACES_MAX],
		    struct rd_item at[RD_PLACES_MAX][REPEATS_MAX], struct hs_err *err)
{
	bool labels = t->n > 0 && t->item[0].place >= 0;

	memset(count, 0, sizeof(int) * RD_PLACES_MAX);
	for (int i = 1; i < t->n; i++)
		if (!labels && t->item[i].place >= 0)
			return err_set(err, HS_BAD_INPUT, "Some numbers have a place before them and some have "
				       "not. Type them all like %s:12.4.", s->places[0]);
	if (!labels && t->n != s->nplaces)
		return err_set(err, HS_BAD_INPUT, "%d numbers for %d places. Type one for each, or name them, "
			       "like %s:12.4.", t->n, s->nplaces, s->places[0]);
	for (int i = 0; i < t->n; i++) {
		int place = t->item[i].place;

		if (!labels)
			place = i;
		else if (place < 0 && i)
			place = t->item[i].place = t->item[i - 1].place; /* repeats behind one label */
		if (place < 0 || place >= RD_PLACES_MAX || count[place] == REPEATS_MAX)
			return err_set(err, HS_BAD_INPUT, "More than %d numbers for one place.", REPEATS_MAX);
		at[place][count[place]++] = t->item[i];
	}
	return 0;
}

static bool against_others(enum rd_derive d) { return d != RD_AS_READ && d != RD_EACH; }

/* ---- places against each other --------------------------------------------------------------- */

/* What is independent from place to place: digits and repeats, carried like the figure itself.  The
 * error of the instrument's gain is in all places alike (JCGM 100 5.2: fully correlated). */
static double independent_u(const struct rd_setup *s, const struct rd_place_result *p)
{
	struct rd_instrument digits_only;

	if (!s->instrument)
		return p->u;
	digits_only = *s->instrument;
	digits_only.percent = 0;
	return hypot(p->carried * rd_instrument_u(&digits_only, p->raw, p->resolution, 0), p->u_random);
}

/* Places with the highest and the lowest figure. */
struct ends { int high, low, given, open; };

static struct ends ends_of(const struct rd_result *r)
{
	struct ends e = { -1, -1, 0, 0 };

	for (int i = 0; i < r->nplaces; i++) {
		const struct rd_place_result *p = &r->at[i];

		if (!p->given)
			continue;
		e.given++;
		e.open += p->kind != RD_NUMBER;
		if (p->kind != RD_NUMBER)
			continue;
		if (e.high < 0 || p->value > r->at[e.high].value)
			e.high = i;
		if (e.low < 0 || p->value < r->at[e.low].value)
			e.low = i;
	}
	return e;
}

/* The gain's error is in a difference as well: percent of the difference. */
static void spread(const struct rd_setup *s, struct rd_result *r, const struct ends *e)
{
	const struct rd_place_result *high = &r->at[e->high], *low = &r->at[e->low];
	double gain = s->instrument ? s->instrument->percent / 100 / sqrt(3) : 0;

	r->raw = r->value = high->value - low->value;
	r->u_random = hypot(high->u_random, low->u_random);
	r->u = hypot(hypot(independent_u(s, high), independent_u(s, low)), gain * r->value);
	note(r, "spread: %g highest less %g lowest", high->value, low->value);
}

/* x / y with the gain cancelled. */
static double ratio_u(double x, double u_x, double y, double u_y)
{
	return hypot(u_x, x / y * u_y) / fabs(y);
}

static int ratios(const struct rd_setup *s, struct rd_result *r, const struct ends *e, struct hs_err *err)
{
	double zero = s->derive == RD_EACH_OVER_HIGHEST && !isnan(s->ambient) ? s->ambient : 0;
	double high = r->at[e->high].value - zero, u_high = independent_u(s, &r->at[e->high]);
	double low = r->at[e->low].value - zero;

	if (!(high > 0))
		return err_set(err, HS_BAD_INPUT, "The highest is not above %g: there is nothing to compare with.",
			       zero);
	r->raw = r->value = low / high;
	r->u = ratio_u(low, independent_u(s, &r->at[e->low]), high, u_high);
	r->u_random = ratio_u(low, r->at[e->low].u_random, high, r->at[e->high].u_random);
	note(r, "%g lowest over %g highest", r->at[e->low].value, r->at[e->high].value);
	for (int i = 0; i < r->nplaces && s->derive == RD_EACH_OVER_HIGHEST; i++) {
		struct rd_place_result *at = &r->at[i];

		if (!at->given || at->kind != RD_NUMBER)
			continue;
		/* the highest over itself is 1, whatever it is uncertain by */
		at->u = i == e->high ? 0 : ratio_u(at->value - zero, independent_u(s, at), high, u_high);
		at->value = (at->value - zero) / high;
	}
	for (int i = 0; i < r->nplaces && s->derive == RD_EACH_OVER_HIGHEST; i++)
		if (r->at[i].given)
			r->at[i].verdict = judge(s, r->at[i].kind, r->at[i].value, r->at[i].u, &r->at[i].p_inside);
	return 0;
}

static int derive_from_all(const struct rd_setup *s, struct rd_result *r, struct hs_err *err)
{
	struct ends e = ends_of(r);

	r->repeats = 0;
	if (e.given < 2)
		return err_set(err, HS_BAD_INPUT, "Places are compared here: type two or more, like %s:12.4 %s:12.1.",
			       s->places[0], s->nplaces > 1 ? s->places[1] : s->places[0]);
	if (e.open)
		return err_set(err, HS_BAD_INPUT, "Open and short cannot be compared with numbers. Look to that "
			       "place first.");
	r->kind = RD_NUMBER;
	if (s->derive != RD_SPREAD)
		return ratios(s, r, &e, err);
	spread(s, r, &e);
	return 0;
}

static int read_list(const struct rd_setup *s, struct rd_typed *t, struct rd_result *r,
		     struct hs_err *err)
{
	struct rd_item at[RD_PLACES_MAX][REPEATS_MAX];
	int count[RD_PLACES_MAX], worst = -1;

	if (by_place(s, t, count, at, err) < 0)
		return -1;
	r->nplaces = s->nplaces;
	for (int i = 0; i < s->nplaces; i++) {
		struct rd_place_result *p = &r->at[i];
		struct figure f;

		if (!count[i])
			continue;
		if (figure(s, at[i], count[i], &f, r, err) < 0)
			return -1;
		*p = (struct rd_place_result){ true, f.kind, f.raw, f.value, f.u, RD_NO_BAND, 1,
					       f.resolution, f.u_random, f.carried };
		if (!against_others(s->derive))
			p->verdict = judge(s, p->kind, p->value, p->u, &p->p_inside);
		if (worst < 0 || p->p_inside < r->at[worst].p_inside)
			worst = i;
	}
	r->kind = r->at[worst].kind;
	r->raw = r->at[worst].raw;
	r->value = r->at[worst].value;
	r->u = r->at[worst].u;
	r->u_random = r->at[worst].u_random;
	r->resolution = r->at[worst].resolution;
	r->repeats = count[worst];
	return against_others(s->derive) ? derive_from_all(s, r, err) : 0;
}

/* ---- before reading: questions to ask back --------------------------------------------------- */

static enum rd_status ask_back(const struct rd_setup *s, const struct rd_typed *t, struct hs_err *err)
{
	for (int i = 0; i < t->n; i++)
		if (leads_matter(s, &t->item[i]) && isnan(s->leads) && !s->leads_waived) {
			err_set(err, HS_BAD_INPUT, "The meter's leads are part of this reading and have not been "
				"measured yet.");
			return RD_ASK_LEADS;
		}
	for (int i = 0; i < t->n && !s->slip_confirmed && s->typical > 0; i++) {
		double ratio = fabs(t->item[i].value) / s->typical;
		struct text shown = { 0 };

		if (t->item[i].kind != RD_NUMBER || ratio == 0)
			continue;
		if (!(ratio > SLIP_LEAST && ratio < SLIP_MOST) &&
		    !(1 / ratio > SLIP_LEAST && 1 / ratio < SLIP_MOST))
			continue;
		rd_format(&shown, RD_NUMBER, t->item[i].value, t->item[i].resolution, s->unit);
		err_set(err, HS_BAD_INPUT, "%s is about a thousand times %s than expected here. Is the meter "
			"on another range?", text_str(&shown), ratio > 1 ? "more" : "less");
		text_free(&shown);
		return RD_ASK_SLIP;
	}
	return RD_OK;
}

static void echo(const struct rd_setup *s, struct rd_result *r)
{
	struct text t = { 0 };

	text_addf(&t, "read as ");
	if (r->nplaces) {
		for (int i = 0, first = 1; i < r->nplaces; i++)
			if (r->at[i].given) {
				text_addf(&t, "%s%s: ", first ? "" : ", ", s->places[i]);
				rd_format(&t, r->at[i].kind, r->at[i].raw, r->at[i].resolution, s->unit);
				first = 0;
			}
	} else
		rd_format(&t, r->kind, r->raw, r->resolution, s->unit);
	snprintf(r->echo, sizeof r->echo, "%.159s", text_str(&t));
	text_free(&t);
}

static void note_what_settles(const struct rd_setup *s, struct rd_result *r)
{
	struct rd_settle settle;

	rd_settle(s, r, &settle);
	if (settle.by != RD_SETTLED)
		note(r, "%s", settle.words);
}

static int correct_and_judge(const struct rd_setup *s, struct rd_typed *t, struct rd_result *out,
			     struct hs_err *err)
{
	bool list = s->nplaces > 0 && s->derive != RD_AS_READ;
	struct figure f;

	for (int i = 0; i < t->n; i++)
		list = list || t->item[i].place >= 0;
	if (list ? read_list(s, t, out, err) < 0 : figure(s, t->item, t->n, &f, out, err) < 0)
		return -1;
	if (!list) {
		out->kind = f.kind;
		out->raw = f.raw;
		out->value = f.value;
		out->u = f.u;
		out->u_random = f.u_random;
		out->resolution = f.resolution;
		out->repeats = f.kind == RD_NUMBER ? t->n : 0;
	}
	out->verdict = judge(s, out->kind, out->value, out->u, &out->p_inside);
	return 0;
}

enum rd_status rd_read(const struct rd_setup *s, const char *text, struct rd_result *out,
		       struct hs_err *err)
{
	struct rd_typed t;
	enum rd_status status;

	memset(out, 0, sizeof *out);
	out->nnotes = s->wordless ? -1 : 0;
	t.n = 0;
	status = rd_parse(s, text, &t, err) < 0 ? RD_REFUSED : ask_back(s, &t, err);
	if (status == RD_OK && correct_and_judge(s, &t, out, err) < 0)
		status = RD_REFUSED;
	if (status == RD_OK && !s->wordless) {
		if (out->verdict == RD_TOO_CLOSE)
			note_what_settles(s, out);
		echo(s, out);
	}
	if (out->nnotes < 0)
		out->nnotes = 0;
	return status;
}
