/* Parts and the ways they fail; every mode becomes its faults at the places of this machine. */
#include <math.h>
#include <string.h>

#include "knowledge/inner.h"

/* ---- parts and their values -------------------------------------------------------------- */

/* 95 % of healthy parts lie within the band: 1.96 standard deviations on either side. */
#define SIDE_IN_SD 1.959963984540054

static int healthy_dist(struct bind *b, const struct el *e, const struct kn_value *v,
			struct rd_dist *out)
{
	double middle = v->nominal, half;

	if (isnan(middle))
		middle = (v->low + v->high) / 2;
	half = isfinite(v->low) && isfinite(v->high) ? (v->high - v->low) / 2
	       : isfinite(v->low)		     ? middle - v->low
						     : v->high - middle;
	if (!isfinite(middle) || !isfinite(half) || half <= 0)
		return el_err(b->load, e, "spec", "a part cannot take its value from \"%s\", which has "
			      "no nominal with plus-minus, low or high", v->id);
	*out = (struct rd_dist){ RD_DIST_NORMAL, middle, half / SIDE_IN_SD };
	return 0;
}

/* A figure of the trade, the same on every machine, stands in the part itself. */
static int own_figure(struct bind *b, const struct el *e, struct kn_part_value *out)
{
	bool spec = el_attr(e, "spec"), unit = el_attr(e, "unit"), nominal = el_attr(e, "nominal"),
	     half = el_attr(e, "plus-minus");

	if (spec ? unit || nominal || half : !unit || !nominal || !half)
		return el_err(b->load, e, NULL, "<value> needs one of: spec, or unit, nominal and "
						"plus-minus");
	if (spec)
		return 0;
	rd_unit_by_name(el_attr(e, "unit"), &out->unit);
	out->healthy = (struct rd_dist){ RD_DIST_NORMAL, el_number(e, "nominal", 0),
					 el_number(e, "plus-minus", 0) / SIDE_IN_SD };
	out->value = KN_NONE;
	return 0;
}

/* Values whose figure this machine does not state are left out, and what asks for them with it. */
static int bind_part_values(struct bind *b, const struct el *e, struct kn_part *p)
{
	p->values = arena_array(b->arena, (size_t)el_count(e, E_PART_VALUE), sizeof *p->values);
	for (struct el *k = el_kid(e, E_PART_VALUE); k; k = el_next(k, E_PART_VALUE)) {
		const char *spec = el_attr(k, "spec");
		struct kn_part_value *out = &p->values[p->nvalues];
		int v = spec ? value_index(b, spec) : KN_NONE;

		if (own_figure(b, k, out) < 0)
			return -1;
		if ((spec && v == KN_NONE) || !p->fitted)
			continue;
		k->index = p->nvalues++;
		out->of = el_attr(k, "of");
		if (!spec)
			continue;
		out->unit = b->kn->values[v].unit;
		out->value = v;
		if (healthy_dist(b, k, &b->kn->values[v], &out->healthy) < 0)
			return -1;
	}
	return 0;
}

static int bind_part(struct bind *b, struct el *e, struct kn_part *p)
{
	const char *per = el_attr(e, "per");

	p->id = el_id(e);
	p->title = el_attr(e, "title");
	p->kind = kind_index(b, per);
	p->fitted = option_fitted(b, el_attr(e, "needs")) && (!per || p->kind != KN_NONE);
	return bind_part_values(b, e, p);
}

/* ---- modes ------------------------------------------------------------------------------- */

static struct el *part_value(const struct el *part, const char *of)
{
	struct el *k = el_kid(part, E_PART_VALUE);

	while (k && strcmp(el_attr(k, "of"), of) != 0)
		k = el_next(k, E_PART_VALUE);
	return k;
}

static int no_such_value(struct bind *b, const struct el *e, const struct el *part, const char *attr)
{
	const char *names[24];
	struct text t = { 0 };
	int n = 0;

	for (struct el *k = el_kid(part, E_PART_VALUE); k && n < COUNT(names);
	     k = el_next(k, E_PART_VALUE))
		names[n++] = el_attr(k, "of");
	text_addf(&t, "the part \"%s\" has no value \"%s\"", el_id(part), el_attr(e, attr));
	advise(&t, el_attr(e, attr), names, n, "it has");
	el_err(b->load, e, attr, "%s", text_str(&t));
	text_free(&t);
	return -1;
}

/* A wide range is as likely near its foot as near its top only when it is seen in decades. */
static struct rd_dist between(double low, double high)
{
	if (low == high)
		return (struct rd_dist){ RD_DIST_POINT, low, 0 };
	if (low > 0 && high >= 10 * low)
		return (struct rd_dist){ RD_DIST_LOG_UNIFORM, low, high };
	return (struct rd_dist){ RD_DIST_UNIFORM, low, high };
}

static int shows_dist(struct bind *b, const struct el *e, double nominal, struct rd_dist *out)
{
	const char *as = el_attr(e, "as");
	bool plain = el_attr(e, "low") && el_attr(e, "high");
	bool times = el_attr(e, "times-low") && el_attr(e, "times-high");
	double low = times ? el_number(e, "times-low", 0) * nominal : el_number(e, "low", 0);
	double high = times ? el_number(e, "times-high", 0) * nominal : el_number(e, "high", 0);

	if (!!as + plain + times != 1 || (!plain && (el_attr(e, "low") || el_attr(e, "high"))) ||
	    (!times && (el_attr(e, "times-low") || el_attr(e, "times-high"))))
		return el_err(b->load, e, NULL, "<shows> needs one of: as, low and high, times-low and "
						"times-high");
	if (low > high)
		return el_err(b->load, e, times ? "times-low" : "low", "low is above high");
	*out = as ? (struct rd_dist){ !strcmp(as, "open") ? RD_DIST_OPEN : RD_DIST_SHORT, 0, 0 }
		  : between(low, high);
	return 0;
}

static int bind_shows(struct bind *b, const struct el *e, const struct kn_part *p, struct kn_mode *m)
{
	m->shows = arena_array(b->arena, (size_t)el_count(e, E_SHOWS), sizeof *m->shows);
	for (struct el *k = el_kid(e, E_SHOWS); k; k = el_next(k, E_SHOWS)) {
		struct el *v = part_value(e->parent, el_attr(k, "of"));
		struct rd_dist dist;

		if (!v)
			return no_such_value(b, k, e->parent, "of");
		for (struct el *first = el_kid(e, E_SHOWS); first != k; first = el_next(first, E_SHOWS))
			if (!strcmp(el_attr(first, "of"), el_attr(k, "of")))
				return el_err(b->load, k, NULL, "\"%s\" is shown twice; first on line %d",
					      el_attr(k, "of"), first->tag->line);
		/* Without the value on this machine only the form is checked. */
		if (shows_dist(b, k, v->index == KN_NONE ? 1 : p->values[v->index].healthy.a, &dist) < 0)
			return -1;
		if (v->index != KN_NONE)
			m->shows[m->nshows++] = (struct kn_shows){ v->index, dist };
	}
	return 0;
}

static int bind_mode(struct bind *b, struct el *e, int part, struct kn_mode *m)
{
	struct el *refitted = names_find(b->load, E_HISTORY, "refitted");

	m->id = el_id(e);
	m->title = el_attr(e, "title");
	m->ref = arena_printf(b->arena, "%s.%s", el_id(e->parent), m->id);
	m->part = part;
	m->consequence = el_yes(e, "consequence");
	m->history = (uint32_t)name_bits(b, e, "raised-by", E_HISTORY);
	m->after_work = refitted && (m->history >> refitted->index & 1);
	if (!el_attr(e->parent, "per") && (el_attr(e, "spread") || el_attr(e, "weight-all")))
		return el_err(b->load, e, el_attr(e, "spread") ? "spread" : "weight-all",
			      "the part \"%s\" exists once, so there is nothing to spread",
			      el_id(e->parent));
	if (el_attr(e, "weight-all") && el_attr(e, "spread") && strcmp(el_attr(e, "spread"), "each") != 0)
		return el_err(b->load, e, "spread", "with weight-all the weight is spread over each place");
	return bind_shows(b, e, &b->kn->parts[part], m);
}

/* ---- faults ---------------------------------------------------------------------------------- */

static void add_fault(struct bind *b, int mode, int place, bool all, uint32_t sites, double weight)
{
	struct kn_knowledge *kn = b->kn;

	kn->faults[kn->nfaults++] = (struct kn_fault){
		.part = kn->modes[mode].part, .mode = mode, .place = place, .all = all,
		.sites = sites, .weight = weight,
	};
}

enum { SPREAD_BOTH, SPREAD_EACH, SPREAD_ALL };

/* How much of the weight goes to the places together, how much to "all of them". */
static void shares(const struct el *e, double *each, double *all)
{
	double weight = el_number(e, "weight", 0);
	int spread = el_choice(e, "spread", spreads, SPREAD_BOTH);

	if (el_attr(e, "weight-all")) {
		*each = weight;
		*all = el_number(e, "weight-all", 0);
		return;
	}
	*all = spread == SPREAD_ALL ? weight : spread == SPREAD_BOTH ? weight / 2 : 0;
	*each = weight - *all;
}

static void add_faults(struct bind *b, const struct el *e, int mode)
{
	const struct kn_part *p = &b->kn->parts[b->kn->modes[mode].part];
	const struct kn_kind *k = p->kind == KN_NONE ? NULL : &b->kn->kinds[p->kind];
	double each, all;
	uint32_t sites = 0;

	if (!p->fitted)
		return;
	if (!k) {
		add_fault(b, mode, KN_NONE, false, KN_ALL_SITES, el_number(e, "weight", 0));
		return;
	}
	shares(e, &each, &all);
	/* One place: there it is, and "all of them" is the same thing. */
	if (k->nplaces == 1) {
		add_fault(b, mode, 0, false, k->places[0].sites, each + all);
		return;
	}
	for (int i = 0; i < k->nplaces; i++) {
		sites |= k->places[i].sites;
		if (each > 0 || all <= 0)
			add_fault(b, mode, i, false, k->places[i].sites, each / k->nplaces);
	}
	if (all > 0)
		add_fault(b, mode, KN_NONE, true, sites, all);
}

static int bind_scale(struct bind *b)
{
	for (struct el *e = el_kid(b->machine, E_SCALE); e; e = el_next(e, E_SCALE)) {
		struct mode_ref ref = mode_of(b, el_attr(e, "mode"));

		for (int i = 0; i < b->fault_count[ref.mode]; i++)
			if (fault_meant(b, b->first_fault[ref.mode] + i, ref.narrow))
				b->kn->faults[b->first_fault[ref.mode] + i].weight *=
					el_number(e, "times", 1);
	}
	return 0;
}

static int check_probability(struct bind *b, const struct el *e, int mode)
{
	for (int i = 0; b->kn->independent && i < b->fault_count[mode]; i++)
		if (b->kn->faults[b->first_fault[mode] + i].weight > 1)
			return el_err(b->load, e, "weight",
				      "with an independent prior weights are probabilities, at most 1");
	return 0;
}

/* ---- all of them ------------------------------------------------------------------------- */

/* Part 0, mode 0, fault 0. */
static void add_something_else(struct bind *b)
{
	struct kn_knowledge *kn = b->kn;
	double weight = kn->independent ? 0 : 25;
	struct el *prior;
	int i = 0;

	if (!kn->something_else)
		return;
	if ((prior = top_after(b, &i, E_PRIOR)))
		weight = el_number(prior, "something-else", weight);
	kn->parts[kn->nparts++] = (struct kn_part){ .id = "unlisted", .title = "something",
						    .kind = KN_NONE, .fitted = true };
	kn->modes[kn->nmodes++] = (struct kn_mode){ .id = "something-else",
						    .title = "something not on this list",
						    .ref = "unlisted.something-else" };
	b->fault_count[0] = 1;
	add_fault(b, 0, KN_NONE, false, KN_ALL_SITES, weight);
}

static void make_room(struct bind *b)
{
	struct kn_knowledge *kn = b->kn;
	int modes = 1, faults = 1, i = 0;
	struct el *e;

	while ((e = top_after(b, &i, E_PART))) {
		int n = el_count(e, E_MODE);

		modes += n;
		faults += n * (el_attr(e, "per") ? RD_PLACES_MAX + 1 : 1);
	}
	kn->parts = arena_array(b->arena, (size_t)top_count(b, E_PART) + 1, sizeof *kn->parts);
	kn->modes = arena_array(b->arena, (size_t)modes, sizeof *kn->modes);
	kn->faults = arena_array(b->arena, (size_t)faults, sizeof *kn->faults);
	b->first_fault = arena_array(b->load->scratch, (size_t)modes, sizeof(int));
	b->fault_count = arena_array(b->load->scratch, (size_t)modes, sizeof(int));
}

static int bind_modes(struct bind *b, const struct el *part, int p)
{
	struct kn_knowledge *kn = b->kn;

	for (struct el *m = el_kid(part, E_MODE); m; m = el_next(m, E_MODE)) {
		m->index = kn->nmodes++;
		if (bind_mode(b, m, p, &kn->modes[m->index]) < 0)
			return -1;
		b->first_fault[m->index] = kn->nfaults;
		add_faults(b, m, m->index);
		b->fault_count[m->index] = kn->nfaults - b->first_fault[m->index];
		if (kn->nfaults > FAULTS_MAX)
			return el_too_many(b->load, m, FAULTS_MAX, "faults");
	}
	return 0;
}

static int check_probabilities(struct bind *b)
{
	struct el *e;

	for (int i = 0; (e = top_after(b, &i, E_PART));)
		for (struct el *m = el_kid(e, E_MODE); m; m = el_next(m, E_MODE))
			if (check_probability(b, m, m->index) < 0)
				return -1;
	return 0;
}

/* ---- together ----------------------------------------------------------------------------- */

static bool meet(const struct kn_fault *a, const struct kn_fault *b)
{
	return a->mode == b->mode || (a->sites & b->sites) != 0;
}

static void add_together(struct bind *b, struct mode_ref x, struct mode_ref y, double times)
{
	struct kn_knowledge *kn = b->kn;

	for (int i = 0; i < b->fault_count[x.mode]; i++)
		for (int k = 0; k < b->fault_count[y.mode]; k++) {
			int f = b->first_fault[x.mode] + i, g = b->first_fault[y.mode] + k;

			if (f == g || (x.mode == y.mode && g < f) || kn_exclude(kn, f, g) ||
			    !meet(&kn->faults[f], &kn->faults[g]) || !fault_meant(b, f, x.narrow) ||
			    !fault_meant(b, g, y.narrow))
				continue;
			kn->together[kn->ntogether++] =
				(struct kn_together){ f < g ? f : g, f < g ? g : f, times };
		}
}

static int bind_together(struct bind *b)
{
	struct kn_knowledge *kn = b->kn;
	struct el *e, *first;
	size_t most = 0;
	int n = 0;

	for (int i = 0; (e = top_after(b, &i, E_TOGETHER));) {
		struct mode_ref x = mode_of(b, el_attr(e, "a")), y = mode_of(b, el_attr(e, "b"));

		if (n++ == TOGETHER_MAX)
			return el_too_many(b->load, e, TOGETHER_MAX, "pairs that go together");
		most += (size_t)b->fault_count[x.mode] * (size_t)b->fault_count[y.mode];
		for (int k = 0; (first = top_after(b, &k, E_TOGETHER)) != e;) {
			struct mode_ref fx = mode_of(b, el_attr(first, "a"));
			struct mode_ref fy = mode_of(b, el_attr(first, "b"));

			if ((fx.mode == x.mode && fy.mode == y.mode) ||
			    (fx.mode == y.mode && fy.mode == x.mode))
				return el_err(b->load, e, NULL, "this pair is there twice; first at %s:%d",
					      first->source->path, first->tag->line);
		}
	}
	kn->together = arena_array(b->arena, most, sizeof *kn->together);
	for (int i = 0; (e = top_after(b, &i, E_TOGETHER));)
		add_together(b, mode_of(b, el_attr(e, "a")), mode_of(b, el_attr(e, "b")),
			     el_number(e, "times", 1));
	return 0;
}

int bind_parts(struct bind *b)
{
	struct kn_knowledge *kn = b->kn;
	struct el *e;

	make_room(b);
	add_something_else(b);
	for (int i = 0; (e = top_after(b, &i, E_PART));) {
		e->index = kn->nparts++;
		if (bind_part(b, e, &kn->parts[e->index]) < 0 || bind_modes(b, e, e->index) < 0)
			return -1;
	}
	kn->max_faults = kn->independent ? kn->nfaults : 3;
	bind_scale(b);
	if (check_probabilities(b) < 0)
		return -1;
	return bind_together(b);
}

/* ---- references ------------------------------------------------------------------------------ */

struct mode_ref mode_of(const struct bind *b, const char *ref)
{
	char id[2 * ID_MAX + 2];
	size_t n = strcspn(ref, "@");

	memcpy(id, ref, n);
	id[n] = '\0';
	return (struct mode_ref){ names_find(b->load, E_MODE, id)->index,
				  !ref[n]		       ? ANY_PLACE
				  : !strcmp(ref + n, "@all") ? ALL_PLACES
							       : ONE_PLACE };
}

/* The fault is one of the mode that was named; is it at the places that were meant? The only place
 * of its kind is both one of them and all of them. */
bool fault_meant(const struct bind *b, int fault, enum narrow narrow)
{
	const struct kn_fault *f = &b->kn->faults[fault];
	int kind = b->kn->parts[f->part].kind;
	bool only = kind != KN_NONE && b->kn->kinds[kind].nplaces == 1;

	return narrow == ANY_PLACE || only || (narrow == ALL_PLACES) == f->all;
}
