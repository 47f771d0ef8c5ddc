/* Writing one machine as XML. */
#include "knowledge/own.h"

#include <ctype.h>
#include <math.h>
#include <string.h>

#define ID_LETTERS 40

bool kn_own_id(const char *title, char id[65])
{
	size_t n = 0;

	for (; *title && n < ID_LETTERS; title++) {
		unsigned char c = (unsigned char)*title;

		if (c < 0x80 && isalnum(c))
			id[n++] = (char)tolower(c);
		else if (n > 0 && id[n - 1] != '-')
			id[n++] = '-';
	}
	while (n > 0 && id[n - 1] == '-')
		n--;
	id[n] = '\0';
	return n > 0;
}

bool kn_own_option_follows(const struct kn_own *o, const char *option, bool *fitted)
{
	if (strcmp(option, "several-cylinders") == 0)
		*fitted = o->ncylinders > 1;
	else if (strcmp(option, "carburettor-bank") == 0)
		*fitted = o->ncarburettors > 1;
	else if (strcmp(option, "twin-ended-coils") == 0)
		*fitted = o->ncoils > 0 && o->ncoils * 2 == o->ncylinders;
	else if ((strcmp(option, "heater-pins") == 0 && o->ncarburettors < 2) ||
		 (strcmp(option, "heater-bullets") == 0 && o->ncarburettors != 2))
		*fitted = false; /* what the trees know of them is for two, or for pairs */
	else
		return false;
	return true;
}

static bool has(const struct kn_own *o, const char *option)
{
	for (int i = 0; i < o->like->noptions; i++)
		if (strcmp(o->like->options[i].id, option) == 0)
			return o->fitted >> i & 1;
	return false;
}

/* ---- places --------------------------------------------------------------------------------- */

static void attribute(struct text *out, const char *name, const char *value)
{
	text_addf(out, " %s=\"", name);
	text_html(out, value);
	text_addc(out, '"');
}

static void open_positions(struct text *out, const char *kind, const char *title)
{
	text_add(out, "\t\t<positions");
	attribute(out, "kind", kind);
	attribute(out, "title", title);
	text_add(out, ">\n");
}

/* Cylinders first, first + step ... (n of them) as "1 4" or, as a name, "1+4". */
static void cylinders(struct text *out, int first, int step, int n, char between)
{
	for (int i = 0; i < n; i++) {
		if (i)
			text_addc(out, between);
		text_addf(out, "%d", first + i * step);
	}
}

/* n places, each with its share of the cylinders in order: 1 2 | 3 4. */
static void shared_out(struct text *out, const struct kn_own *o, const char *kind, const char *title,
		       int n)
{
	open_positions(out, kind, title);
	for (int i = 0; i < n; i++) {
		int from = i * o->ncylinders / n, to = (i + 1) * o->ncylinders / n;

		text_addf(out, "\t\t\t<position id=\"%d\" sites=\"", i + 1);
		if (to <= from) /* more places than cylinders: two to a cylinder */
			cylinders(out, from + 1, 1, 1, ' ');
		else
			cylinders(out, from + 1, 1, to - from, ' ');
		text_add(out, "\"/>\n");
	}
	text_add(out, "\t\t</positions>\n");
}

/* Coils with two leads fire cylinders whose pistons rise together: 1+2 of two, 1+4 and 2+3 of four. */
static void twin_ended(struct text *out, const struct kn_own *o)
{
	open_positions(out, "coil", "coil");
	for (int i = 0; i < o->ncoils; i++) {
		int step = o->ncylinders - 1 - 2 * i;

		text_add(out, "\t\t\t<position id=\"");
		cylinders(out, i + 1, step, 2, '+');
		text_add(out, "\" sites=\"");
		cylinders(out, i + 1, step, 2, ' ');
		text_add(out, "\"/>\n");
	}
	text_add(out, "\t\t</positions>\n");
}

static const struct kn_kind *kind_of(const struct kn_knowledge *kn, const char *id)
{
	for (int i = 0; i < kn->nkinds; i++)
		if (strcmp(kn->kinds[i].id, id) == 0)
			return &kn->kinds[i];
	return NULL;
}

static void copied(struct text *out, const struct kn_kind *k)
{
	open_positions(out, k->id, k->title);
	for (int i = 0; i < k->nplaces; i++) {
		text_add(out, "\t\t\t<position");
		attribute(out, "id", k->places[i].id);
		text_add(out, " sites=\"");
		for (int s = 0, n = 0; s < 32; s++)
			if (k->places[i].sites >> s & 1)
				text_addf(out, "%s%d", n++ ? " " : "", s + 1);
		text_add(out, "\"/>\n");
	}
	text_add(out, "\t\t</positions>\n");
}

static void places(struct text *out, const struct kn_own *o)
{
	static const char *const as_there[] = {"stator-winding", "stator-pair"};
	const struct kn_kind *k = kind_of(o->like, "solenoid");

	shared_out(out, o, "carburettor", "carburettor", o->ncarburettors);
	shared_out(out, o, "cylinder", "cylinder", o->ncylinders);
	if (has(o, "twin-ended-coils"))
		twin_ended(out, o);
	else if (o->ncoils > 0)
		shared_out(out, o, "coil", "coil", o->ncoils);
	if (has(o, "cut-off-solenoid"))
		shared_out(out, o, "solenoid", "solenoid", k && k->nplaces == 1 ? 1 : o->ncarburettors);
	if (has(o, "heater-pins"))
		shared_out(out, o, "heater-pin", "heater pin", 2);
	for (int i = 0; i < 2; i++)
		if ((k = kind_of(o->like, as_there[i])))
			copied(out, k);
}

/* ---- figures --------------------------------------------------------------------------------- */

static void number(struct text *out, const char *name, double v)
{
	if (isfinite(v))
		text_addf(out, " %s=\"%.6g\"", name, v);
}

static struct rd_figure figure_of(const struct kn_own_value *v)
{
	if (v->given)
		return v->figure;
	return (struct rd_figure){.nominal = v->of->nominal, .low = v->of->low, .high = v->of->high,
				  .at_degC = v->of->at_degC};
}

static void one_value(struct text *out, const struct kn_own_value *v)
{
	struct rd_figure f = figure_of(v);
	double up = f.high - f.nominal, down = f.nominal - f.low;

	text_add(out, "\t\t<value");
	attribute(out, "id", v->of->id);
	attribute(out, "title", v->of->title);
	attribute(out, "unit", rd_unit_name(v->of->unit));
	number(out, "nominal", f.nominal);
	if (isfinite(up) && fabs(up - down) <= 1e-9 * fabs(f.nominal)) {
		number(out, "plus-minus", up);
	} else {
		number(out, "low", f.low);
		number(out, "high", f.high);
	}
	number(out, "at", isnan(f.at_degC) ? v->of->at_degC : f.at_degC);
	text_add(out, !v->given && v->of->generic ? " generic=\"yes\"/>\n" : "/>\n");
}

static void values(struct text *out, const struct kn_own *o)
{
	text_add(out, "\n\t\t<!-- Figures of the owner's manual. -->\n");
	for (int i = 0; i < o->nvalues; i++)
		if (o->values[i].given)
			one_value(out, &o->values[i]);
	text_add(out, "\t\t<!-- Not known: common practice, no source. -->\n");
	for (int i = 0; i < o->nvalues; i++)
		if (!o->values[i].given && !o->values[i].left_out)
			one_value(out, &o->values[i]);
}

/* ---- access ----------------------------------------------------------------------------------- */

static void access_states(struct text *out, const struct kn_knowledge *like)
{
	static const char *const runs[] = {"no", "bottle", "yes"};

	text_addf(out, "\n\t\t<!-- Minutes as on %s. -->\n", like->machine);
	for (int i = 1; i < like->naccesses; i++) {
		const struct kn_access *a = &like->accesses[i];

		if (!a->reachable)
			continue;
		text_add(out, "\t\t<reach");
		attribute(out, "access", a->id);
		attribute(out, "parent", like->accesses[a->parent].id);
		text_addf(out, " open=\"%.6g\" close=\"%.6g\"", a->open_min, a->close_min);
		if (a->consumes) {
			attribute(out, "consumes", a->consumes);
			text_addf(out, " consumes-cost=\"%.6g\"", a->consumes_cost);
		}
		attribute(out, "runs", runs[a->runs]);
		text_add(out, "/>\n");
	}
}

void kn_own_write(const struct kn_own *o, struct text *out)
{
	text_add(out, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
		      "<!-- Written by `halfsplit machine new`; docs/trees-howto.md says what else may "
		      "stand here. -->\n<knowledge version=\"1\">\n\t<machine");
	attribute(out, "id", o->id);
	attribute(out, "title", o->title);
	text_add(out, ">\n");
	places(out, o);
	text_addc(out, '\n');
	for (int i = 0; i < o->like->noptions; i++)
		if (o->fitted >> i & 1)
			text_addf(out, "\t\t<fitted option=\"%s\"/>\n", o->like->options[i].id);
	values(out, o);
	access_states(out, o->like);
	text_add(out, "\t</machine>\n</knowledge>\n");
}
