#include "plan/options.h"

#include <math.h>
#include <string.h>

#define SETS_MAX 320          /* fault sets planned over: the heaviest */
#define DOUBT 1               /* minutes a minute of a dear repair begun on a wrong suspect */
#define UNLIKELY 5            /* as many again where the suspect is likelier absent than there */
#define LOOK 4                /* minutes a minute of it that a look may cost if it settles it */
#define DONE_MOST 2           /* a repair that was not the cure may not have been done well: once more, no oftener */
#define PLACE_MASS .003       /* a remedy at one place is an option above this */

/* ---- what is possible ------------------------------------------------------------------------- */

bool pl_held_back(const struct pl_situation *now, enum kn_energy energy, int *by)
{
	for (int i = 0; i < now->nholds; i++) {
		const struct kn_hold *h = &now->suspects->kn->holds[now->holds[i]];

		if (h->blocks != KN_ENERGY_NONE && energy >= h->blocks) {
			if (by)
				*by = now->holds[i];
			return true;
		}
	}
	return false;
}

static bool reachable(const struct kn_knowledge *kn, int access)
{
	for (; access != KN_NONE; access = kn->accesses[access].parent)
		if (!kn->accesses[access].reachable)
			return false;
	return true;
}

enum kn_energy pl_energy(const struct kn_check *c)
{
	return c->needs_engine && c->energy < KN_RUNNING ? KN_RUNNING : c->energy;
}

bool pl_reachable(const struct pl_situation *now, int check)
{
	const struct kn_check *c = &now->suspects->kn->checks[check];

	return c->offered && reachable(now->suspects->kn, c->access) &&
	       !(c->only_when & now->circumstances_known & ~now->circumstances);
}

bool pl_possible(const struct pl_situation *now, int check)
{
	const struct kn_check *c = &now->suspects->kn->checks[check];

	return c->kind != KN_SYMPTOM && !c->leads_null && !(now->done && now->done[check]) &&
	       pl_reachable(now, check);
}

double pl_check_work(const struct pl_situation *now, int check, int place)
{
	const struct kn_knowledge *kn = now->suspects->kn;
	const struct kn_check *c = &kn->checks[check];
	double times = c->per != KN_NONE && c->minutes_for_one && place == KN_NONE
			       ? kn->kinds[c->per].nplaces : 1;

	return c->minutes * times + c->wait * now->rates.waiting;
}

/* A remedy's minutes and parts are for all places; one place takes its share. */
double pl_remedy_work(const struct pl_situation *now, int remedy, int place, double *money)
{
	const struct kn_knowledge *kn = now->suspects->kn;
	const struct kn_remedy *r = &kn->remedies[remedy];
	double share = r->per != KN_NONE && place != KN_NONE ? 1.0 / kn->kinds[r->per].nplaces : 1;

	if (money)
		*money = r->cost * share;
	return r->minutes * share + r->wait * now->rates.waiting;
}

double pl_group_minutes(const struct pl_options *o, const struct pl_situation *now, const struct pl_group *g)
{
	uint64_t open = now->open;
	double sum = 0;

	for (int i = 0; i < g->n; i++) {
		const struct pl_remedy_option *r = &o->problem.remedy[g->remedy[i]];

		sum += pl_remedy_work(now, r->remedy, r->place, NULL);
		for (int a = r->access; a > 0; a = o->kn->accesses[a].parent)
			if (!(open >> a & 1)) {
				sum += o->kn->accesses[a].open_min + o->kn->accesses[a].close_min;
				open |= (uint64_t)1 << a;
			}
	}
	return sum;
}

/* ---- access ------------------------------------------------------------------------------------- */

static void make_access(struct pl_problem *p, const struct pl_situation *now)
{
	const struct kn_knowledge *kn = now->suspects->kn;

	p->naccesses = kn->naccesses < 64 ? kn->naccesses : 64;
	p->access = arena_array(p->arena, (size_t)p->naccesses + 1, sizeof *p->access);
	for (int a = 0; a < p->naccesses; a++) {
		const struct kn_access *x = &kn->accesses[a];

		p->access[a] = (struct pl_access){ x->parent, x->open_min + x->close_min +
			x->consumes_cost * now->rates.per_currency, x->runs != KN_RUNS_NO, 0 };
		for (int up = a; up != KN_NONE; up = kn->accesses[up].parent)
			p->access[a].path |= (uint64_t)1 << up;
	}
}

/* ---- the fault sets ------------------------------------------------------------------------------- */

static void make_belief(struct pl_options *o, const struct su_suspects *s)
{
	double sum = 0;
	int n = s->nsets < SETS_MAX ? s->nsets : SETS_MAX;

	for (int i = 0; i < n; i++)
		sum += s->sets[i].weight;
	for (int i = 0; i < n; i++)
		pl_belief_add(&o->belief, pl_set_of(&o->problem, s->sets[i].now, s->sets[i].nnow),
			      s->sets[i].weight / sum);
}

/* ---- checks ----------------------------------------------------------------------------------------- */

/* What the answer is worth (knowledge 0.3): a row to its exponent, made a distribution again. */
static void weaken(const struct pl_options *o, const struct pl_check_option *c, const double *row,
		   double *out)
{
	double exponent = o->kn->checks[c->check].exponent, sum = 0;

	if (exponent >= 1) {
		memcpy(out, row, sizeof(double) * (size_t)c->ncells);
		return;
	}
	for (int i = 0; i < c->ncells; i++)
		sum += out[i] = row[i] > 0 ? pow(row[i], exponent) : 0;
	for (int i = 0; i < c->ncells; i++)
		out[i] /= sum;
}

static void row_from_table(void *about, const struct pl_check_option *c, const struct pl_set *s,
			   double *out)
{
	struct pl_options *o = about;
	struct su_table *t = su_tables_get(o->tables, c->check, c->place);
	int state = su_table_none(t);

	for (int i = 0; i < s->n; i++)
		state = su_table_join(t, state, s->fault[i]);
	weaken(o, c, su_table_row(t, state), out);
}

bool pl_add_check(struct pl_options *o, const struct pl_situation *now, int check, int place)
{
	struct pl_problem *p = &o->problem;
	const struct kn_check *c = &now->suspects->kn->checks[check];
	struct su_table *t = su_tables_get(o->tables, check, place);

	if (!t || c->access >= p->naccesses)
		return false;
	p->check[p->nchecks++] = (struct pl_check_option){ .check = check, .place = place,
		.cost = pl_check_work(now, check, place) + now->rates.handling,
		.access = c->access, .engine = c->needs_engine, .ncells = su_table_ncells(t) };
	return true;
}

static void make_checks(struct pl_options *o, const struct pl_situation *now)
{
	const struct kn_knowledge *kn = now->suspects->kn;
	struct pl_problem *p = &o->problem;
	size_t cap = 0;

	for (int c = 0; c < kn->nchecks; c++)
		cap += 1 + (kn->checks[c].per == KN_NONE ? 0
							 : (size_t)kn->kinds[kn->checks[c].per].nplaces);
	p->check = arena_array(p->arena, cap + 1, sizeof *p->check);
	o->blocked = arena_array(p->arena, (size_t)kn->nchecks + 1, sizeof(int));
	o->wanting = arena_array(p->arena, (size_t)kn->nchecks + 1, sizeof(int));
	o->blocked_by = KN_NONE;
	for (int c = 0; c < kn->nchecks; c++) {
		const struct kn_check *k = &kn->checks[c];
		uint64_t missing = k->tools & ~now->tools;
		int by;

		if (!pl_possible(now, c))
			continue;
		if (pl_held_back(now, pl_energy(k), &by)) {
			o->blocked_by = o->blocked_by == KN_NONE ? by : o->blocked_by;
			o->blocked[o->nblocked++] = c;
		} else if (missing && !(missing & (missing - 1)))
			o->wanting[o->nwanting++] = c;
		else if (!missing) {
			pl_add_check(o, now, c, KN_NONE);
			for (int at = 0; k->per != KN_NONE && !k->compare && k->minutes_for_one &&
					 at < kn->kinds[k->per].nplaces; at++)
				pl_add_check(o, now, c, at);
		}
	}
}

/* ---- remedies --------------------------------------------------------------------------------------- */

static void add_remedy(struct pl_options *o, const struct pl_situation *now, int remedy, int place,
		       const double *mass)
{
	const struct kn_knowledge *kn = now->suspects->kn;
	const struct kn_remedy *r = &kn->remedies[remedy];
	struct pl_problem *p = &o->problem;
	struct pl_remedy_option *out = &p->remedy[p->nremedies];
	const struct su_repair there = { remedy, place, 1 };
	double money, gain = 0;

	memset(out, 0, sizeof *out);
	out->clears = arena_array(p->arena, (size_t)r->nclears + 1, sizeof *out->clears);
	for (int i = 0; i < r->nclears; i++) {
		int f = r->clears[i].fault;

		double p_clears = mass[f] > 0 ? su_clears(kn, &there, f) : 0;

		if (!(p_clears > 0))
			continue;
		out->clears[out->nclears++] = (struct pl_clear){ f, p_clears };
		gain += mass[f] * p_clears;
	}
	if (!out->nclears || r->access >= p->naccesses || gain < (place == KN_NONE ? 1e-5 : PLACE_MASS))
		return;
	out->remedy = remedy;
	out->place = place;
	out->access = r->access;
	out->cost = pl_remedy_work(now, remedy, place, &money);
	out->cost += money * now->rates.per_currency;
	if (!(out->cost > .1))
		out->cost = .1; /* nothing is free, and ratios need a divisor */
	p->nremedies++;
}

/* Where there is but one of a kind, all of them is the same. */
static int single_places(const struct kn_knowledge *kn, int kind)
{
	return kind == KN_NONE || kn->kinds[kind].nplaces < 2 ? 0 : kn->kinds[kind].nplaces;
}

/* At no place a third time; "all" counts for every place, and what was done at any counts for "all". */
static bool done_enough(const struct pl_situation *now, int remedy, int place)
{
	const struct su_case *c = now->the_case;
	int n = 0;

	for (int i = 0; c && i < c->nrepairs; i++)
		n += c->repairs[i].remedy == remedy && (place == KN_NONE || c->repairs[i].place == KN_NONE ||
							c->repairs[i].place == place);
	return n >= DONE_MOST;
}

static bool remedy_possible(const struct pl_situation *now, int remedy)
{
	const struct kn_remedy *r = &now->suspects->kn->remedies[remedy];

	/* Tools for a repair can be borrowed, and the parts counter needs the answer anyway. */
	return !(now->remedy_declined && now->remedy_declined[remedy]) &&
	       reachable(now->suspects->kn, r->access) && !pl_held_back(now, r->energy, NULL);
}

static void make_remedies(struct pl_options *o, const struct pl_situation *now)
{
	const struct kn_knowledge *kn = now->suspects->kn;
	struct pl_problem *p = &o->problem;
	double *mass = arena_array(p->arena, (size_t)kn->nfaults + 1, sizeof *mass);
	size_t cap = 0;

	for (int i = 0; i < o->belief.n; i++)
		for (int f = 0; f < p->set[o->belief.set[i]].n; f++)
			mass[p->set[o->belief.set[i]].fault[f]] += o->belief.w[i];
	for (int r = 0; r < kn->nremedies; r++)
		cap += 1 + (kn->remedies[r].per == KN_NONE ? 0
				: (size_t)kn->kinds[kn->remedies[r].per].nplaces);
	p->remedy = arena_array(p->arena, cap + 1, sizeof *p->remedy);
	for (int r = 0; r < kn->nremedies; r++) {
		if (!remedy_possible(now, r))
			continue;
		if (!done_enough(now, r, KN_NONE))
			add_remedy(o, now, r, KN_NONE, mass);
		for (int at = 0; at < single_places(kn, kn->remedies[r].per); at++)
			if (!done_enough(now, r, at))
				add_remedy(o, now, r, at, mass);
	}
}

static void make_labels(struct pl_problem *p, const struct kn_knowledge *kn)
{
	int *label = arena_array(p->arena, (size_t)kn->nfaults + 1, sizeof *label);

	for (int f = 0; f < kn->nfaults; f++)
		label[f] = kn->faults[f].mode;
	p->label = label;
	p->nlabels = kn->nmodes;
}

int pl_options_make(struct pl_options *o, const struct pl_situation *now)
{
	struct pl_problem *p = &o->problem;

	memset(o, 0, sizeof *o);
	pl_problem_start(p);
	o->tables = now->tables ? now->tables : su_tables_new(now->suspects->kn);
	o->own_tables = !now->tables;
	p->nfaults = now->suspects->kn->nfaults;
	p->handling = now->rates.handling;
	p->hand_over = now->rates.hand_over;
	p->row = row_from_table;
	p->about = o;
	o->kn = now->suspects->kn;
	p->even = PL_AS_GOOD;
	p->doubt = DOUBT;
	p->look = LOOK;
	p->unlikely = UNLIKELY;
	p->dear = PL_DEAR;
	make_labels(p, o->kn);
	make_access(p, now);
	make_belief(o, now->suspects);
	make_checks(o, now);
	make_remedies(o, now);
	return 0;
}

void pl_options_free(struct pl_options *o)
{
	if (o->own_tables)
		su_tables_free(o->tables);
	pl_belief_free(&o->belief);
	pl_problem_free(&o->problem);
}
