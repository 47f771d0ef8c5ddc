/* Settings, remedies and holds, bound to one machine. */
#include <string.h>

#include "knowledge/inner.h"

/* ---- settings -------------------------------------------------------------------------------- */

/* The first of these that the machine has. */
static int first_value(const struct bind *b, const char *names)
{
	char w[ID_MAX + 1];
	int v = KN_NONE;

	while (names && v == KN_NONE && value_word(&names, w, sizeof w))
		v = value_index(b, w);
	return v;
}

static void bind_settings(struct bind *b)
{
	struct kn_knowledge *kn = b->kn;
	struct el *e;

	kn->settings = arena_array(b->arena, (size_t)top_count(b, E_SETTING), sizeof *kn->settings);
	for (int i = 0; (e = top_after(b, &i, E_SETTING));) {
		struct kn_setting *s = &kn->settings[kn->nsettings];
		const char *per = el_attr(e, "per"), *unit = el_attr(e, "unit");

		s->per = kind_index(b, per);
		if ((per && s->per == KN_NONE) || !option_fitted(b, el_attr(e, "needs")))
			continue;       /* the machine has no such place or part */
		e->index = kn->nsettings++;
		s->id = el_id(e);
		s->title = el_attr(e, "title");
		s->how = el_kid_text(e, E_HOW, "");
		s->restore = el_kid_text(e, E_RESTORE, "");
		s->order = (int)el_number(e, "order", 0);
		s->value = first_value(b, el_attr(e, "values"));
		if (unit && *unit)
			rd_unit_by_name(unit, &s->unit);
	}
}

/* The settings an element says are to be recorded before it; those the machine does not have are
 * left out. */
static int bind_records(const struct bind *b, const struct el *e, int **out)
{
	int n = 0;

	*out = arena_array(b->arena, (size_t)el_count(e, E_RECORD), sizeof **out);
	for (struct el *k = el_kid(e, E_RECORD); k; k = el_next(k, E_RECORD)) {
		const struct el *s = names_find(b->load, E_SETTING, el_attr(k, "setting"));

		if (s->index != KN_NONE)
			(*out)[n++] = s->index;
	}
	return n;
}

/* Checks that this machine offers, of a list of names. */
static int bind_check_names(struct bind *b, const struct el *e, const char *attr, int **out)
{
	const char *at = el_attr(e, attr);
	char w[ID_MAX + 1];
	int n = 0;

	*out = at ? arena_array(b->arena, strlen(at) / 2 + 1, sizeof **out) : NULL;
	while (at && value_word(&at, w, sizeof w)) {
		int check = names_find(b->load, E_CHECK, w)->index;

		if (b->kn->checks[check].offered)
			(*out)[n++] = check;
	}
	return n;
}

static void bind_disturbances(struct bind *b)
{
	struct el *e;

	for (int i = 0; (e = top_after(b, &i, E_ACCESS));) {
		struct kn_access *a = &b->kn->accesses[e->index];

		a->nrecords = bind_records(b, e, &a->records);
		a->ncautions = bind_cautions(b, e, &a->cautions);
		a->nbatch = bind_check_names(b, e, "batch", &a->batch);
	}
	for (int i = 0; (e = top_after(b, &i, E_CHECK));) {
		struct kn_check *c = &b->kn->checks[e->index];

		c->nrecords = bind_records(b, e, &c->records);
		c->nafter = bind_check_names(b, e, "after", &c->after);
	}
}

/* ---- remedies -------------------------------------------------------------------------------- */

/* Common practice, currency units (knowledge 0.5). */
static double class_cost(char class)
{
	static const double cost[] = { 3, 12, 40, 100, 250 };

	return class ? cost[class - 'A'] : 0;
}

static int access_of(const struct bind *b, const struct el *e)
{
	const struct el *a = names_find(b->load, E_ACCESS, el_attr(e, "access"));

	return a ? a->index : 0;
}

static bool at_the_bench(const struct kn_knowledge *kn, int access)
{
	for (; access != KN_NONE; access = kn->accesses[access].parent)
		if (!strcmp(kn->accesses[access].id, "bench"))
			return true;
	return false;
}

/* Of two references to one fault the narrower counts; `by` says how narrow each was. */
static void add_clear(struct kn_remedy *r, enum narrow *by, enum narrow narrow, int fault, double p)
{
	int at = 0;

	while (at < r->nclears && r->clears[at].fault != fault)
		at++;
	if (at < r->nclears && by[at] > narrow)
		return;
	r->nclears += at == r->nclears;
	by[at] = narrow;
	r->clears[at].fault = fault;
	r->clears[at].p = p;
}

static void add_clears(const struct bind *b, struct kn_remedy *r, enum narrow *by, struct mode_ref m,
		       double p)
{
	for (int i = 0; i < b->fault_count[m.mode]; i++)
		if (fault_meant(b, b->first_fault[m.mode] + i, m.narrow))
			add_clear(r, by, m.narrow, b->first_fault[m.mode] + i, p);
}

static int cleared_twice(struct bind *b, const struct el *e)
{
	for (struct el *k = el_kid(e, E_CLEARS); k; k = el_next(k, E_CLEARS))
		for (struct el *first = el_kid(e, E_CLEARS); first != k; first = el_next(first, E_CLEARS))
			if (!strcmp(el_attr(first, "mode"), el_attr(k, "mode")))
				return el_err(b->load, k, NULL, "\"%s\" is cleared twice; first on line %d",
					      el_attr(k, "mode"), first->tag->line);
	return 0;
}

static int bind_clears(struct bind *b, const struct el *e, struct kn_remedy *r)
{
	size_t most = (size_t)el_count(e, E_CLEARS) * (RD_PLACES_MAX + 1);
	enum narrow *by = arena_array(b->load->scratch, most, sizeof *by);

	if (cleared_twice(b, e) < 0)
		return -1;
	r->clears = arena_array(b->arena, most, sizeof *r->clears);
	for (struct el *k = el_kid(e, E_CLEARS); k; k = el_next(k, E_CLEARS))
		add_clears(b, r, by, mode_of(b, el_attr(k, "mode")), el_number(k, "p", .95));
	return 0;
}

static void bind_lists(struct bind *b, const struct el *e, struct kn_remedy *r)
{
	r->steps = arena_array(b->arena, (size_t)el_count(e, E_STEP), sizeof *r->steps);
	for (struct el *k = el_kid(e, E_STEP); k; k = el_next(k, E_STEP))
		r->steps[r->nsteps++] = k->text;
	r->nrecords = bind_records(b, e, &r->records);
	r->verifies = arena_array(b->arena, (size_t)el_count(e, E_VERIFY), sizeof(int));
	for (struct el *k = el_kid(e, E_VERIFY); k; k = el_next(k, E_VERIFY)) {
		const struct el *c = names_find(b->load, E_CHECK, el_attr(k, "check"));

		if (b->kn->checks[c->index].offered)
			r->verifies[r->nverifies++] = c->index;
	}
}

/* A remedy for what this machine does not have, or where nobody can get, is left out. */
static bool applies(const struct bind *b, const struct el *e, const struct kn_remedy *r)
{
	return option_fitted(b, el_attr(e, "needs")) && (!el_attr(e, "per") || r->per != KN_NONE) &&
	       b->kn->accesses[r->access].reachable && (r->nclears || !el_kid(e, E_CLEARS));
}

/* All of them: the file may say them for another number of places than the machine has. */
static double minutes_of(const struct bind *b, const struct el *e, int per)
{
	double minutes = el_number(e, "minutes", 0);

	return per == KN_NONE ? minutes
			      : minutes * b->kn->kinds[per].nplaces /
					el_number(e, "minutes-for", b->kn->kinds[per].nplaces);
}

static int bind_remedy(struct bind *b, struct el *e)
{
	struct kn_remedy r = { .id = el_id(e), .title = el_attr(e, "title") };
	const char *cost = el_attr(e, "cost");

	if (el_attr(e, "minutes-for") && !el_attr(e, "per"))
		return el_err(b->load, e, "minutes-for", "this needs \"per\": places to count minutes for");
	r.parts = el_attr(e, "parts");
	r.cost_class = cost ? *cost : 0;
	r.cost = class_cost(r.cost_class);
	r.access = access_of(b, e);
	r.wait = el_number(e, "wait", 0);
	r.energy = (enum kn_energy)el_choice(e, "energy", energies, KN_ENERGY_NONE);
	r.per = kind_index(b, el_attr(e, "per"));
	r.minutes = minutes_of(b, e, r.per);
	r.tools = name_bits(b, e, "tools", E_TOOL);
	r.proof = el_kid_text(e, E_PROOF, "");
	r.recheck = el_attr(e, "recheck");
	r.spoils = (uint32_t)name_bits(b, e, "spoils", E_SPOILER);
	r.nafter = bind_check_names(b, e, "after", &r.after);
	r.bath = el_yes(e, "bath");
	r.bench_work = at_the_bench(b->kn, r.access);
	r.ncautions = bind_cautions(b, e, &r.cautions);
	bind_lists(b, e, &r);
	if (bind_clears(b, e, &r) < 0)
		return -1;
	if (applies(b, e, &r)) {
		e->index = b->kn->nremedies;
		b->kn->remedies[b->kn->nremedies++] = r;
	}
	return 0;
}

/* ---- holds ----------------------------------------------------------------------------------- */

static int outcome_of(struct bind *b, const struct el *e, struct kn_trigger *out)
{
	const struct kn_check *c;
	const char *id = el_attr(e, "outcome"), *names[KN_OUTCOMES_MAX];
	struct text t = { 0 };

	out->check = names_find(b->load, E_CHECK, el_attr(e, "check"))->index;
	c = &b->kn->checks[out->check];
	if (!id)
		return el_err(b->load, e, NULL, "<%s> needs the outcome", el_rules[e->kind].name);
	out->outcome = kn_outcome_by_id(c, id);
	if (out->outcome != KN_NONE)
		return 0;
	for (int i = 0; i < c->noutcomes; i++)
		names[i] = c->outcomes[i].id;
	text_addf(&t, "the check \"%s\" has no outcome \"%s\"", c->id, id);
	advise(&t, id, names, c->noutcomes, "it has");
	el_err(b->load, e, "outcome", "%s", text_str(&t));
	text_free(&t);
	return -1;
}

static int bind_triggers(struct bind *b, const struct el *e, struct kn_hold *h)
{
	size_t n = (size_t)el_count(e, E_TRIGGER);

	h->symptoms = arena_array(b->arena, n, sizeof(int));
	h->triggers = arena_array(b->arena, n, sizeof *h->triggers);
	h->clears = arena_array(b->arena, (size_t)el_count(e, E_CLEARED), sizeof *h->clears);
	for (struct el *k = el_kid(e, E_TRIGGER); k; k = el_next(k, E_TRIGGER)) {
		const char *symptom = el_attr(k, "symptom");

		if (symptom && el_attr(k, "outcome"))
			return el_err(b->load, k, "outcome", "a symptom triggers when it is there; outcome "
				      "belongs to a check");
		if (symptom)
			h->symptoms[h->nsymptoms++] = names_find(b->load, E_SYMPTOM, symptom)->index;
		else if (outcome_of(b, k, &h->triggers[h->ntriggers++]) < 0)
			return -1;
	}
	for (struct el *k = el_kid(e, E_CLEARED); k; k = el_next(k, E_CLEARED))
		if (outcome_of(b, k, &h->clears[h->nclears++]) < 0)
			return -1;
	return 0;
}

static int bind_holds(struct bind *b)
{
	struct kn_knowledge *kn = b->kn;
	struct el *e;

	kn->holds = arena_array(b->arena, (size_t)top_count(b, E_HOLD), sizeof *kn->holds);
	for (int i = 0; (e = top_after(b, &i, E_HOLD));) {
		struct kn_hold *h = &kn->holds[kn->nholds++];

		if (kn->nholds > 16)
			return el_too_many(b->load, e, 16, "holds");
		h->id = el_id(e);
		h->title = el_attr(e, "title");
		h->say = el_kid_text(e, E_SAY, "");
		h->signal = (enum kn_signal)el_choice(e, "signal", signals, KN_NO_SIGNAL);
		h->blocks = (enum kn_energy)el_choice(e, "blocks", energies, KN_ENERGY_NONE);
		if (bind_triggers(b, e, h) < 0)
			return -1;
	}
	return 0;
}

int bind_remedies(struct bind *b)
{
	struct el *e;

	bind_settings(b);
	bind_disturbances(b);
	b->kn->remedies = arena_array(b->arena, (size_t)top_count(b, E_REMEDY), sizeof *b->kn->remedies);
	for (int i = 0; (e = top_after(b, &i, E_REMEDY));)
		if (bind_remedy(b, e) < 0)
			return -1;
	return bind_holds(b);
}

bool kn_proves(const struct kn_remedy *r, int check)
{
	for (int i = 0; i < r->nverifies; i++)
		if (r->verifies[i] == check)
			return true;
	return false;
}
