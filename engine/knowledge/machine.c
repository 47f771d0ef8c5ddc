/* What one machine is: places, figures, and how its parts are reached. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "knowledge/inner.h"

/* ---- places ------------------------------------------------------------------------------- */

static uint32_t sites_of(const struct el *position)
{
	const char *at = el_attr(position, "sites");
	uint32_t sites = 0;
	char w[8];

	while (value_word(&at, w, sizeof w))
		sites |= (uint32_t)1 << (atoi(w) - 1);
	return sites;
}

static int bind_kinds(struct bind *b)
{
	struct kn_knowledge *kn = b->kn;

	kn->kinds = arena_array(b->arena, (size_t)el_count(b->machine, E_POSITIONS), sizeof *kn->kinds);
	for (struct el *e = el_kid(b->machine, E_POSITIONS); e; e = el_next(e, E_POSITIONS)) {
		struct kn_kind *k = &kn->kinds[kn->nkinds++];

		k->id = el_attr(e, "kind");
		k->title = el_attr(e, "title");
		k->places = arena_array(b->arena, (size_t)el_count(e, E_POSITION), sizeof *k->places);
		for (struct el *p = el_kid(e, E_POSITION); p; p = el_next(p, E_POSITION)) {
			if (k->nplaces == RD_PLACES_MAX)
				return el_too_many(b->load, p, RD_PLACES_MAX, "places of one kind");
			k->places[k->nplaces].id = el_id(p);
			k->places[k->nplaces++].sites = sites_of(p);
		}
	}
	return 0;
}

/* ---- figures ------------------------------------------------------------------------------- */

static int bind_value(struct bind *b, const struct el *e, struct kn_value *v)
{
	double spread = el_number(e, "plus-minus", NAN);
	const char *unit = el_attr(e, "unit");

	v->id = el_id(e);
	v->title = el_attr(e, "title");
	if (unit && *unit)
		rd_unit_by_name(unit, &v->unit);
	v->nominal = el_number(e, "nominal", NAN);
	v->at_degC = el_number(e, "at", NAN);
	v->low = el_number(e, "low", -INFINITY);
	v->high = el_number(e, "high", INFINITY);
	if (!isnan(spread)) {
		if (isnan(v->nominal))
			return el_err(b->load, e, "plus-minus", "plus-minus needs a nominal");
		if (el_attr(e, "low") || el_attr(e, "high"))
			return el_err(b->load, e, "plus-minus", "either plus-minus or low and high");
		v->low = v->nominal - spread;
		v->high = v->nominal + spread;
	} else if (isnan(v->nominal) && !el_attr(e, "low") && !el_attr(e, "high")) {
		return el_err(b->load, e, NULL, "the value \"%s\" has no figure: nominal, low or high",
			      v->id);
	}
	if (v->low > v->high)
		return el_err(b->load, e, "low", "low is above high");
	if (v->nominal < v->low || v->nominal > v->high)
		return el_err(b->load, e, "nominal", "nominal is not between low and high");
	v->generic = el_yes(e, "generic");
	return 0;
}

/* What the owner's manual says goes before what the file says. */
static void take_figures(const struct load *l, struct kn_value *v)
{
	for (int i = 0; i < l->nfigures; i++) {
		const struct rd_figure *f = &l->figures[i].figure;

		if (strcmp(l->figures[i].value, v->id) != 0)
			continue;
		v->nominal = f->nominal;
		v->low = f->low;
		v->high = f->high;
		v->at_degC = isnan(f->at_degC) ? v->at_degC : f->at_degC;
		v->generic = false;
		v->manual = true;
	}
}

static int bind_values(struct bind *b)
{
	struct kn_knowledge *kn = b->kn;

	kn->values = arena_array(b->arena, (size_t)el_count(b->machine, E_VALUE), sizeof *kn->values);
	for (struct el *e = el_kid(b->machine, E_VALUE); e; e = el_next(e, E_VALUE))
		if (bind_value(b, e, &kn->values[kn->nvalues]) < 0)
			return -1;
		else
			take_figures(b->load, &kn->values[kn->nvalues++]);
	return 0;
}

/* ---- access ---------------------------------------------------------------------------------- */

static int access_index(const struct bind *b, const char *id)
{
	const struct el *e = names_find(b->load, E_ACCESS, id);

	return e ? e->index : 0;        /* only on-bike may have no element */
}

/* on-bike comes first whether it is written or not: bit 0 of what is open. */
static int list_accesses(struct bind *b)
{
	struct kn_knowledge *kn = b->kn;
	struct el *e;

	kn->accesses = arena_array(b->arena, (size_t)top_count(b, E_ACCESS) + 1, sizeof *kn->accesses);
	kn->naccesses = 1;
	kn->accesses[0] = (struct kn_access){ .id = "on-bike", .title = "on the bike",
					      .reachable = true, .parent = KN_NONE,
					      .runs = KN_RUNS_YES };
	for (int i = 0; (e = top_after(b, &i, E_ACCESS));) {
		struct kn_access *a = &kn->accesses[0];

		if (kn->naccesses == 64)
			return el_too_many(b->load, e, 64, "access states");
		e->index = strcmp(el_id(e), "on-bike") ? kn->naccesses++ : 0;
		a = &kn->accesses[e->index];
		a->id = el_id(e);
		a->title = el_attr(e, "title");
		if (e->index)
			a->parent = KN_NONE;
	}
	return 0;
}

static int bind_reach(struct bind *b, const struct el *e)
{
	struct kn_access *a = &b->kn->accesses[access_index(b, el_attr(e, "access"))];

	if (a == b->kn->accesses)
		return el_err(b->load, e, "access", "on-bike is the root and is not reached from elsewhere");
	a->reachable = true;
	a->parent = access_index(b, el_attr(e, "parent"));
	a->open_min = el_number(e, "open", 0);
	a->close_min = el_number(e, "close", 0);
	a->consumes = el_attr(e, "consumes");
	a->consumes_cost = el_number(e, "consumes-cost", 0);
	a->runs = (enum kn_runs)el_choice(e, "runs", runs, KN_RUNS_NO);
	if (el_attr(e, "consumes-cost") && !a->consumes)
		return el_err(b->load, e, "consumes-cost", "consumes-cost without consumes");
	return 0;
}

/* From every reached state the parents lead to on-bike. */
static int check_reach(struct bind *b, const struct el *e)
{
	struct kn_access *all = b->kn->accesses;
	int steps = 0;

	for (int a = access_index(b, el_attr(e, "access")); a != 0; a = all[a].parent) {
		int parent = all[a].parent;

		if (!all[parent].reachable)
			return el_err(b->load, e, "parent",
				      "this machine does not say how \"%s\" is reached", all[parent].id);
		if (++steps > b->kn->naccesses)
			return el_err(b->load, e, "parent", "the access states go round in a circle: "
				      "\"%s\" never leads to on-bike", el_attr(e, "access"));
	}
	return 0;
}

static int bind_accesses(struct bind *b)
{
	if (list_accesses(b) < 0)
		return -1;
	for (struct el *e = el_kid(b->machine, E_REACH); e; e = el_next(e, E_REACH))
		if (bind_reach(b, e) < 0)
			return -1;
	for (struct el *e = el_kid(b->machine, E_REACH); e; e = el_next(e, E_REACH))
		if (check_reach(b, e) < 0)
			return -1;
	return 0;
}

int bind_machine(struct bind *b)
{
	if (bind_kinds(b) < 0 || bind_values(b) < 0)
		return -1;
	return bind_accesses(b);
}
