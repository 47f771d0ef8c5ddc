/* Models of the reading, bound to the places of a check. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "knowledge/inner.h"

struct build {
	struct bind *b;
	const struct kn_check *c;
	struct kn_model *m;
	int place;              /* of the check; KN_NONE: it has none */
	int free;               /* depth of ratios and products: units of leaves are their own there */
	bool free_known; enum rd_unit free_unit;
	bool missing;           /* this machine lacks something the model needs */
	bool said_error;
};

static const struct rd_node *build(struct build *w, const struct el *e);

/* ---- leaves ---------------------------------------------------------------------------------- */

static int leaf_number(struct build *w, const struct el *e, int part, int slot, int place)
{
	struct kn_model *m = w->m;

	for (int i = 0; i < m->nleaves; i++)
		if (m->leaves[i].part == part && m->leaves[i].slot == slot &&
		    m->leaves[i].place == place)
			return i;
	if (m->nleaves == RD_LEAVES_MAX) {
		el_too_many(w->b->load, e, RD_LEAVES_MAX, "values in one model");
		w->said_error = true;
		return 0;
	}
	m->leaves[m->nleaves] = (struct kn_leaf){ part, slot, place };
	return m->nleaves++;
}

/* Figures are carried to the unit of the reading; inside ratios and products to that of the first
 * one met. The factor, 0 when the units do not go together. */
static double unit_factor(struct build *w, const struct el *e, enum rd_unit unit)
{
	enum rd_unit want = w->c->reading->unit;

	if (w->free && !w->free_known) {
		w->free_known = true;
		w->free_unit = unit;
	}
	if (w->free)
		want = w->free_unit;
	if (unit == want)
		return 1;
	if (rd_unit_convertible(unit, want) && rd_unit_convert(0, unit, want) == 0)
		return rd_unit_convert(1, unit, want);
	el_err(w->b->load, e, NULL, "this is in \"%s\", the reading in \"%s\"", rd_unit_name(unit),
	       rd_unit_name(want));
	w->said_error = true;
	return 0;
}

static struct rd_node *new_node(struct build *w, enum rd_op op)
{
	struct rd_node *n = arena_alloc(w->b->arena, sizeof *n);

	n->op = op;
	return n;
}

static const struct rd_node *times(struct build *w, double factor, const struct rd_node *of)
{
	const struct rd_node **kids;
	struct rd_node *n, *constant;

	if (factor == 1)
		return of;
	n = new_node(w, RD_OP_PRODUCT);
	constant = new_node(w, RD_OP_CONSTANT);
	constant->constant = factor;
	kids = arena_array(w->b->arena, 2, sizeof *kids);
	kids[0] = constant;
	kids[1] = of;
	n->kids = kids;
	n->nkids = 2;
	return n;
}

static const struct rd_node *leaf(struct build *w, const struct el *e, int part, int slot, int place)
{
	struct rd_node *n = new_node(w, RD_OP_LEAF);

	n->leaf = leaf_number(w, e, part, slot, place);
	return times(w, unit_factor(w, e, w->b->kn->parts[part].values[slot].unit), n);
}

static int find_slot(struct build *w, const struct el *e, const struct el *part)
{
	const char *names[24];
	struct text t = { 0 };
	int n = 0;

	for (struct el *k = el_kid(part, E_PART_VALUE); k; k = el_next(k, E_PART_VALUE)) {
		if (!strcmp(el_attr(k, "of"), el_attr(e, "value"))) {
			w->missing = w->missing || k->index == KN_NONE;
			return k->index;
		}
		if (n < COUNT(names))
			names[n++] = el_attr(k, "of");
	}
	text_addf(&t, "the part \"%s\" has no value \"%s\"", el_id(part), el_attr(e, "value"));
	advise(&t, el_attr(e, "value"), names, n, "it has");
	el_err(w->b->load, e, "value", "%s", text_str(&t));
	text_free(&t);
	w->said_error = true;
	return KN_NONE;
}

/* Does place p of the part's kind belong to what the leaf names? */
static bool place_meant(const struct build *w, const char *at, const struct kn_kind *k, int p)
{
	if (!at || !strcmp(at, "here"))
		return w->place == KN_NONE ||
		       (w->b->kn->kinds[w->c->per].places[w->place].sites & k->places[p].sites);
	return !strcmp(at, "all") || !strcmp(at, k->places[p].id);
}

static void no_such_place(struct build *w, const struct el *e, const struct kn_kind *k)
{
	const char *names[RD_PLACES_MAX];
	struct text t = { 0 };

	for (int p = 0; p < k->nplaces; p++)
		names[p] = k->places[p].id;
	text_addf(&t, "there is no %s \"%s\" on this machine", k->title, el_attr(e, "at"));
	advise(&t, el_attr(e, "at"), names, k->nplaces, "there are");
	el_err(w->b->load, e, "at", "%s", text_str(&t));
	text_free(&t);
	w->said_error = true;
}

/* One <of> stands for its places, one after the other; into `out`. */
static int leaves(struct build *w, const struct el *e, const struct rd_node **out)
{
	const struct el *part = names_find(w->b->load, E_PART, el_attr(e, "part"));
	const struct kn_part *p = &w->b->kn->parts[part->index];
	const struct kn_kind *k = p->kind == KN_NONE ? NULL : &w->b->kn->kinds[p->kind];
	int slot = find_slot(w, e, part), n = 0;

	if (slot == KN_NONE || !p->fitted) {
		w->missing = true;
		return 0;
	}
	if (!k) {
		out[n++] = leaf(w, e, part->index, slot, KN_NONE);
		return n;
	}
	for (int i = 0; i < k->nplaces; i++)
		if (place_meant(w, el_attr(e, "at"), k, i))
			out[n++] = leaf(w, e, part->index, slot, i);
	if (n == 0 && !w->said_error)
		no_such_place(w, e, k);
	return n;
}

/* ---- operators ------------------------------------------------------------------------------- */

static enum rd_op operator_of(enum el_kind kind)
{
	switch (kind) {
	case E_SERIES: return RD_OP_SERIES;
	case E_PARALLEL: return RD_OP_PARALLEL;
	case E_SUM: return RD_OP_SUM;
	case E_DIFFERENCE: return RD_OP_DIFFERENCE;
	case E_RATIO: return RD_OP_RATIO;
	case E_PRODUCT: return RD_OP_PRODUCT;
	case E_SPREAD: return RD_OP_SPREAD;
	case E_HIGHEST: return RD_OP_HIGHEST;
	default: return RD_OP_LOWEST;
	}
}

static const struct rd_node *constant(struct build *w, const struct el *e)
{
	struct rd_node *n = new_node(w, RD_OP_CONSTANT);
	const struct kn_value *v;
	int value;

	if (e->kind == E_CONSTANT) {
		n->constant = el_number(e, "is", 0);
		return n;
	}
	value = value_index(w->b, el_attr(e, "value"));
	if (value == KN_NONE) {
		w->missing = true;
		return n;
	}
	v = &w->b->kn->values[value];
	n->constant = (isnan(v->nominal) ? (v->low + v->high) / 2 : v->nominal) *
		      unit_factor(w, e, v->unit);
	if (!isfinite(n->constant) && !w->said_error) {
		el_err(w->b->load, e, "value", "\"%s\" has no nominal", v->id);
		w->said_error = true;
	}
	return n;
}

static int kids_of(struct build *w, const struct el *e, const struct rd_node **kids)
{
	int n = 0;

	for (const struct el *k = e->first; k && !w->said_error; k = k->next) {
		w->free_known = w->free_known && e->kind != E_PRODUCT;
		if (k->kind == E_LEAF)
			n += leaves(w, k, kids + n);
		else
			kids[n++] = k->kind == E_CONSTANT || k->kind == E_SPEC ? constant(w, k)
										: build(w, k);
	}
	return n;
}

static const struct rd_node *build(struct build *w, const struct el *e)
{
	bool pair = e->kind == E_DIFFERENCE || e->kind == E_RATIO;
	bool free = e->kind == E_RATIO || e->kind == E_PRODUCT;
	const struct rd_node **kids =
		arena_array(w->b->arena, (size_t)e->nkids * RD_PLACES_MAX, sizeof *kids);
	struct rd_node *n = new_node(w, operator_of(e->kind));

	w->free_known = w->free_known && w->free;
	w->free += free;
	n->nkids = kids_of(w, e, kids);
	w->free -= free;
	n->kids = kids;
	if (w->said_error || w->missing)
		return n;
	if (n->nkids == 0 || (pair && n->nkids != 2)) {
		el_err(w->b->load, e, NULL, "<%s> needs %s inside, there %s %d", el_rules[e->kind].name,
		       pair ? "two figures" : "a figure", n->nkids == 1 ? "is" : "are", n->nkids);
		w->said_error = true;
	}
	return n;
}

/* ---- the model at one place ------------------------------------------------------------------ */

static bool fault_shows(const struct kn_knowledge *kn, int fault, const struct kn_leaf *leaf)
{
	const struct kn_fault *f = &kn->faults[fault];
	const struct kn_mode *m = &kn->modes[f->mode];

	if (f->part != leaf->part || (f->place != KN_NONE && f->place != leaf->place))
		return false;
	for (int i = 0; i < m->nshows; i++)
		if (m->shows[i].value_slot == leaf->slot)
			return true;
	return false;
}

static bool changes_a_leaf(const struct kn_knowledge *kn, int fault, const struct kn_model *m)
{
	for (int i = 0; i < m->nleaves; i++)
		if (fault_shows(kn, fault, &m->leaves[i]))
			return true;
	return false;
}

static void list_faults(struct bind *b, struct kn_model *m)
{
	int n = 0;

	for (int f = 0; f < b->kn->nfaults; f++)
		n += changes_a_leaf(b->kn, f, m);
	m->faults = arena_array(b->arena, (size_t)n, sizeof(int));
	for (int f = 0; f < b->kn->nfaults; f++)
		if (changes_a_leaf(b->kn, f, m))
			m->faults[m->nfaults++] = f;
}

static int bind_at(struct bind *b, const struct el *model, struct kn_check *c, int place)
{
	struct build w = { .b = b, .c = c, .m = &c->models[c->nmodels], .place = place };
	const struct rd_node *kids[RD_PLACES_MAX];

	if (model->nkids != 1)
		return el_err(b->load, model, NULL, "<model> needs exactly one element inside");
	if (kids_of(&w, model, kids) != 1 && !w.missing && !w.said_error)
		return el_err(b->load, model, NULL, "<model> stands for several figures; say how they go "
						    "together");
	if (w.said_error)
		return -1;
	if (w.missing) {
		c->offered = false;
		return 0;
	}
	w.m->root = kids[0];
	list_faults(b, w.m);
	c->nmodels++;
	return 0;
}

int bind_models(struct bind *b, const struct el *check, struct kn_check *c)
{
	const struct el *reading = el_kid(check, E_READING);
	const struct el *model = reading ? el_kid(reading, E_MODEL) : NULL;
	int n;

	if (!model)
		return 0;
	if (el_kid(check, E_TABLE))
		return el_err(b->load, model, NULL, "either a <model> or a <table>");
	if (el_yes(check, "compare"))
		return el_err(b->load, model, NULL, "a comparison has no model");
	if (!c->offered) /* its places may be missing on this machine */
		return 0;
	n = c->per == KN_NONE ? 1 : b->kn->kinds[c->per].nplaces;
	c->models = arena_array(b->arena, (size_t)n, sizeof *c->models);
	for (int i = 0; i < n; i++)
		if (bind_at(b, model, c, c->per == KN_NONE ? KN_NONE : i) < 0)
			return -1;
	if (c->nmodels < n)
		c->nmodels = 0;
	return 0;
}
