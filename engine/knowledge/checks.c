/* Checks and symptoms, bound to one machine. */
#include <math.h>
#include <string.h>

#include "knowledge/inner.h"

/* ---- outcomes ----------------------------------------------------------------------------- */

static void plain_outcome(struct bind *b, const struct el *e, struct kn_outcome *o)
{
	o->id = el_id(e);
	o->title = el_attr(e, "title");
	o->means = el_kid_text(e, E_MEANS, NULL);
	o->base = el_number(e, "base", 0);
	o->rest = el_yes(e, "rest");
	o->local_kind = kind_index(b, el_attr(e, "local-kind"));
}

/* Local: answered with a place.  On a machine without that kind of place it is answered plainly. */
static int bind_local(struct bind *b, const struct el *e, const struct kn_check *c,
		      struct kn_outcome *o)
{
	const struct el *check = e->parent;
	const char *own_kind = el_attr(e, "local-kind");
	bool compared = el_attr(check, "per") && el_yes(check, "compare");

	if (own_kind && !el_yes(e, "local"))
		return el_err(b->load, e, "local-kind", "local-kind needs local=\"yes\"");
	if (!el_yes(e, "local"))
		return 0;
	if (o->rest)
		return el_err(b->load, e, "local", "the rest is not answered with a place");
	if (el_kid(check, E_TABLE))
		return el_err(b->load, e, "local", "with a <table> no outcome is local");
	if (el_attr(check, "per") && !compared)
		return el_err(b->load, e, "local", "each place of this check is judged by itself; local "
						   "needs compare=\"yes\"");
	if (!compared && !own_kind)
		return el_err(b->load, e, "local", "local needs a local-kind here");
	o->local = own_kind ? o->local_kind != KN_NONE : c->per != KN_NONE;
	return 0;
}

static int bind_outcome(struct bind *b, const struct el *e, const struct kn_check *c,
			struct kn_outcome *o)
{
	bool table = el_kid(e->parent, E_TABLE) != NULL;

	plain_outcome(b, e, o);
	if (table && (el_attr(e, "base") || el_attr(e, "rest") || el_kid(e, E_WHEN)))
		return el_err(b->load, e, NULL, "with a <table> no outcome has base, rest or <when>");
	if (o->rest && el_attr(e, "base"))
		return el_err(b->load, e, "base", "the rest takes what remains and has no base");
	if (o->rest && el_kid(e, E_WHEN))
		return el_err(b->load, el_kid(e, E_WHEN), NULL, "the rest takes what remains; <when> "
								"belongs to the other outcomes");
	if (!table && !o->rest && !el_attr(e, "base"))
		return el_err(b->load, e, NULL, "the outcome \"%s\" needs base (or rest=\"yes\")", o->id);
	if (bind_local(b, e, c, o) < 0)
		return -1;
	return bind_votes(b, e, E_WHEN, o);
}

/* The lamp codes of the machine stand in for the outcome `code`, each with its share of the base. */
static int bind_codes(struct bind *b, const struct el *e, struct kn_check *c)
{
	int n = el_count(b->machine, E_CODE);

	if (el_kid(e, E_WHEN))
		return el_err(b->load, el_kid(e, E_WHEN), NULL, "what gives a code stands with the codes "
								"of the machine");
	for (struct el *k = el_kid(b->machine, E_CODE); k; k = el_next(k, E_CODE)) {
		struct kn_outcome *o = &c->outcomes[c->noutcomes];

		if (c->noutcomes == KN_OUTCOMES_MAX)
			return el_too_many(b->load, k, KN_OUTCOMES_MAX, "outcomes");
		o->id = arena_printf(b->arena, "code-%s", el_attr(k, "number"));
		o->title = arena_printf(b->arena, "%s: %s", el_attr(k, "number"), el_attr(k, "title"));
		o->means = el_attr(k, "sets-when");
		o->base = el_number(e, "base", 0) / n;
		o->local_kind = KN_NONE;
		if (bind_votes(b, k, E_CAUSE, o) < 0)
			return -1;
		c->noutcomes++;
	}
	return 0;
}

static bool is_codes(const struct el *check, const struct el *outcome)
{
	return el_yes(check, "codes") && !strcmp(el_id(outcome), "code");
}

static int check_shares(struct bind *b, const struct el *e, const struct kn_check *c)
{
	const struct el *rest = NULL;
	double sum = 0;

	if (el_kid(e, E_TABLE))
		return 0;
	for (struct el *k = el_kid(e, E_OUTCOME); k; k = el_next(k, E_OUTCOME)) {
		if (el_yes(k, "rest") && rest)
			return el_err(b->load, k, "rest", "a second rest; the first one is on line %d",
				      rest->tag->line);
		rest = el_yes(k, "rest") ? k : rest;
	}
	if (!rest)
		return el_err(b->load, e, NULL, "one outcome of \"%s\" must have rest=\"yes\"", c->id);
	for (int i = 0; i < c->noutcomes; i++)
		sum += c->outcomes[i].rest ? 0 : c->outcomes[i].base;
	if (sum > 1 + 1e-9)
		return el_err(b->load, e, NULL, "the bases of \"%s\" sum to %g, more than 1", c->id, sum);
	return 0;
}

static int room_for_outcomes(const struct bind *b, const struct el *check)
{
	int n = el_count(check, E_OUTCOME) +
		(el_yes(check, "codes") ? el_count(b->machine, E_CODE) : 0);

	return n < KN_OUTCOMES_MAX ? n : KN_OUTCOMES_MAX;
}

static int bind_outcomes(struct bind *b, const struct el *e, struct kn_check *c)
{
	bool codes = el_count(b->machine, E_CODE) > 0, found = false;

	c->outcomes = arena_array(b->arena, (size_t)room_for_outcomes(b, e), sizeof *c->outcomes);
	for (struct el *k = el_kid(e, E_OUTCOME); k; k = el_next(k, E_OUTCOME)) {
		found = found || is_codes(e, k);
		if (is_codes(e, k) && codes) {
			if (bind_codes(b, k, c) < 0)
				return -1;
			continue;
		}
		if (c->noutcomes == KN_OUTCOMES_MAX)
			return el_too_many(b->load, k, KN_OUTCOMES_MAX, "outcomes");
		if (bind_outcome(b, k, c, &c->outcomes[c->noutcomes]) < 0)
			return -1;
		c->noutcomes++;
	}
	if (el_yes(e, "codes") && !found)
		return el_err(b->load, e, "codes", "codes=\"yes\" needs an outcome with the id \"code\"");
	if (el_yes(e, "codes") && el_kid(e, E_TABLE))
		return el_err(b->load, e, "codes", "codes and a <table> do not go together");
	if (el_yes(e, "codes") && !codes)
		c->offered = false;
	return check_shares(b, e, c);
}

/* ---- whole tables ---------------------------------------------------------------------------- */

static int bind_over(struct bind *b, const struct el *e, struct kn_table *t)
{
	const char *at = el_attr(e, "over");
	char w[2 * ID_MAX + 16];

	t->over = arena_array(b->arena, 8, sizeof *t->over);
	while (value_word(&at, w, sizeof w)) {
		struct kn_over *o = &t->over[t->nover];

		if (t->nover == 8)
			return el_too_many(b->load, e, 8, "conditions");
		*o = (struct kn_over){ KN_NONE, KN_NONE };
		if (strchr(w, '@'))
			return el_err(b->load, e, "over", "\"%s\": a table is over whole modes; narrow it in "
				      "a gate", w);
		if (strchr(w, '.'))
			o->mode = mode_of(b, w).mode;
		else
			o->gate = names_find(b->load, E_GATE, w)->index;
		for (int i = 0; i < t->nover; i++)
			if (t->over[i].mode == o->mode && t->over[i].gate == o->gate)
				return el_err(b->load, e, "over", "\"%s\" is there twice", w);
		t->nover++;
	}
	return 0;
}

static int row_number(struct bind *b, const struct el *row, const struct kn_table *t)
{
	const char *at = el_attr(row, "when");
	int n = 0, number = 0;
	char w[4];

	while (value_word(&at, w, sizeof w)) {
		if (n < t->nover && *w == '1')
			number |= 1 << n;
		n++;
	}
	if (n != t->nover)
		return el_err(b->load, row, "when", "\"when\" has %d conditions, \"over\" has %d", n,
			      t->nover);
	return number;
}

static int bind_row(struct bind *b, const struct el *row, const struct kn_check *c, double *p)
{
	const char *at = el_attr(row, "p");
	double sum = 0, x = 0;
	char w[40];
	int n = 0;

	while (value_word(&at, w, sizeof w)) {
		value_number(w, &x);
		if (n < c->noutcomes)
			p[n] = x;
		sum += x;
		n++;
	}
	if (n != c->noutcomes)
		return el_err(b->load, row, "p", "%d probabilities for %d outcomes", n, c->noutcomes);
	if (fabs(sum - 1) > 1e-6)
		return el_err(b->load, row, "p", "the row sums to %.9g, not to 1", sum);
	return 0;
}

int bind_table(struct bind *b, const struct el *check, struct kn_check *c)
{
	struct el *e = el_kid(check, E_TABLE), *row_of[1 << 8] = { NULL };
	struct kn_table *t;

	if (!e)
		return 0;
	if (el_attr(check, "combine"))
		return el_err(b->load, check, "combine", "with a <table> nothing is combined");
	c->combine = KN_TABLE;
	c->table = t = arena_alloc(b->arena, sizeof *t);
	if (bind_over(b, e, t) < 0)
		return -1;
	t->p = arena_array(b->arena, (size_t)(c->noutcomes << t->nover), sizeof *t->p);
	for (struct el *k = el_kid(e, E_ROW); k; k = el_next(k, E_ROW)) {
		int row = row_number(b, k, t);

		if (row < 0)
			return -1;
		if (row_of[row])
			return el_err(b->load, k, "when", "this row is there twice; the first one is on "
				      "line %d", row_of[row]->tag->line);
		row_of[row] = k;
		if (bind_row(b, k, c, t->p + row * c->noutcomes) < 0)
			return -1;
	}
	if (el_count(e, E_ROW) != 1 << t->nover)
		return el_err(b->load, e, NULL, "%d rows; %d conditions need %d", el_count(e, E_ROW),
			      t->nover, 1 << t->nover);
	return 0;
}

/* ---- checks -------------------------------------------------------------------------------- */

static int same_fact(struct bind *b, const char *group)
{
	int i = 0;

	if (!group)
		return KN_NONE;
	while (i < b->ngroups && strcmp(b->groups[i], group) != 0)
		i++;
	if (i == b->ngroups)
		b->groups[b->ngroups++] = group;
	return i;
}

/* Knowledge 0.3: an instrument 1, eyes .85, words .6. */
static double usual_worth(const struct el *e, const struct kn_check *c)
{
	if (el_kid(e, E_READING))
		return 1;
	return c->tools || c->access != 0 ? .85 : .6;
}

static int access_of(const struct bind *b, const struct el *e)
{
	const struct el *a = names_find(b->load, E_ACCESS, el_attr(e, "access"));

	return a ? a->index : 0;
}

static int bind_where(struct bind *b, const struct el *e, struct kn_check *c)
{
	const char *per = el_attr(e, "per");

	if (!per && (el_yes(e, "compare") || el_attr(e, "minutes-for")))
		return el_err(b->load, e, el_yes(e, "compare") ? "compare" : "minutes-for",
			      "this needs \"per\": places to compare or to count minutes for");
	c->per = kind_index(b, per);
	c->compare = c->per != KN_NONE && el_yes(e, "compare");
	c->access = access_of(b, e);
	c->offered = option_fitted(b, el_attr(e, "needs")) && (!per || c->per != KN_NONE) &&
		     b->kn->accesses[c->access].reachable;
	return 0;
}

static void bind_effort(struct bind *b, const struct el *e, struct kn_check *c)
{
	const char *engine = el_attr(e, "engine"), *for_what = el_attr(e, "minutes-for");

	c->minutes = el_number(e, "minutes", 0);
	c->wait = el_number(e, "wait", 0);
	c->minutes_for_one = for_what && !strcmp(for_what, "one");
	c->energy = (enum kn_energy)el_choice(e, "energy", energies, KN_ENERGY_NONE);
	c->needs_engine = (engine && !strcmp(engine, "running")) || c->energy >= KN_RUNNING;
	if (c->needs_engine && c->energy < KN_RUNNING)
		c->energy = KN_RUNNING;
	c->tools = name_bits(b, e, "tools", E_TOOL);
	c->only_when = (uint32_t)name_bits(b, e, "only-when", E_CIRCUMSTANCE);
}

static int bind_check(struct bind *b, struct el *e, struct kn_check *c)
{
	c->id = el_id(e);
	c->title = el_attr(e, "title");
	c->how = el_kid_text(e, E_HOW, "");
	c->kind = el_kid(e, E_READING) ? KN_MEASUREMENT : KN_QUESTION;
	if (bind_where(b, e, c) < 0)
		return -1;
	bind_effort(b, e, c);
	c->exponent = el_number(e, "worth", usual_worth(e, c));
	c->same_fact = same_fact(b, el_attr(e, "same-fact"));
	c->floor = el_number(e, "floor", b->floor);
	c->spoiled_by = (uint32_t)name_bits(b, e, "spoiled-by", E_SPOILER);
	for (int i = 0; i < b->kn->nspoilers && !c->before; i++)
		c->before = c->spoiled_by >> i & 1 ? b->kn->spoilers[i].title : NULL;
	c->leads_null = el_yes(e, "leads-null");
	c->on_bench = el_yes(e, "on-bench");
	c->combine = el_choice(e, "combine", combines, 0) ? KN_NOISY_OR : KN_STRONGEST;
	c->ncautions = bind_cautions(b, e, &c->cautions);
	if (bind_outcomes(b, e, c) < 0 || bind_table(b, e, c) < 0)
		return -1;
	if (bind_reading(b, e, c) < 0 || bind_bands(b, e, c) < 0)
		return -1;
	return bind_models(b, e, c);
}

/* ---- symptoms -------------------------------------------------------------------------------- */

static void bind_branches(struct bind *b, const struct el *e, struct kn_check *c)
{
	c->branches = arena_array(b->arena, (size_t)el_count(e, E_BRANCH), sizeof *c->branches);
	for (struct el *k = el_kid(e, E_BRANCH); k; k = el_next(k, E_BRANCH)) {
		struct kn_branch *branch = &c->branches[c->nbranches++];
		const char *gate = el_attr(k, "gate");
		size_t most = (size_t)el_count(k, E_CAUSE);

		branch->title = el_attr(k, "title");
		branch->gate = gate ? names_find(b->load, E_GATE, gate)->index : KN_NONE;
		branch->modes = arena_array(b->arena, most, sizeof(int));
		branch->p = arena_array(b->arena, most, sizeof(double));
		for (struct el *m = el_kid(k, E_CAUSE); m; m = el_next(m, E_CAUSE)) {
			int mode = mode_of(b, el_attr(m, "mode")).mode;

			if (!b->fault_count[mode])
				continue;
			branch->modes[branch->nmodes] = mode;
			branch->p[branch->nmodes++] = el_number(m, "p", 0);
		}
	}
}

static int bind_symptom(struct bind *b, struct el *e, struct kn_check *c)
{
	c->id = el_id(e);
	c->title = el_attr(e, "title");
	c->how = "";
	c->kind = KN_SYMPTOM;
	c->offered = option_fitted(b, el_attr(e, "needs"));
	c->per = c->same_fact = KN_NONE;
	c->exponent = 1; /* reported or denied plainly: P and 1 - P (docs/method.md) */
	c->floor = b->floor;
	c->says = el_kid_text(e, E_SAYS, "");
	c->asks = arena_array(b->arena, (size_t)el_count(e, E_ASK), sizeof *c->asks);
	for (struct el *k = el_kid(e, E_ASK); k; k = el_next(k, E_ASK))
		c->asks[c->nasks++] = k->text;
	c->ncautions = bind_cautions(b, e, &c->cautions);
	bind_branches(b, e, c);
	c->noutcomes = 2;
	c->outcomes = arena_array(b->arena, 2, sizeof *c->outcomes);
	c->outcomes[0] = (struct kn_outcome){ .id = "yes", .title = "yes", .local_kind = KN_NONE,
					      .base = el_number(e, "base", 0) };
	c->outcomes[1] = (struct kn_outcome){ .id = "no", .title = "no", .local_kind = KN_NONE,
					      .rest = true };
	if (bind_symptom_votes(b, e, &c->outcomes[0]) < 0 ||
	    bind_votes(b, e, E_WHEN, &c->outcomes[1]) < 0)
		return -1;
	something_elses_vote(b, &c->outcomes[0]);
	return 0;
}

int bind_checks(struct bind *b)
{
	struct kn_knowledge *kn = b->kn;
	size_t symptoms = (size_t)top_count(b, E_SYMPTOM), checks = (size_t)top_count(b, E_CHECK);

	kn->checks = arena_array(b->arena, symptoms + checks, sizeof *kn->checks);
	kn->symptoms = arena_array(b->arena, symptoms, sizeof *kn->symptoms);
	b->groups = arena_array(b->load->scratch, checks, sizeof *b->groups);
	for (int i = 0; i < b->load->ntops; i++) {
		struct el *e = b->load->tops[i];
		struct kn_check *c = &kn->checks[kn->nchecks];

		if (e->kind != E_SYMPTOM && e->kind != E_CHECK)
			continue;
		if (kn->nchecks == CHECKS_MAX)
			return el_too_many(b->load, e, CHECKS_MAX, "checks and symptoms");
		e->index = kn->nchecks++;
		if ((e->kind == E_SYMPTOM ? bind_symptom : bind_check)(b, e, c) < 0)
			return -1;
		if (e->kind == E_SYMPTOM && c->offered)
			kn->symptoms[kn->nsymptoms++] = e->index;
	}
	return 0;
}
