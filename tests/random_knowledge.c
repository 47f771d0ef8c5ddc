#include "random_knowledge.h"

#include <math.h>
#include <string.h>

#include "base/mem.h"

/* splitmix64: Steele, Lea, Flood, "Fast splittable pseudorandom number generators", 2014. */
uint64_t rng_next(struct rng *r)
{
	uint64_t z = (r->s += 0x9e3779b97f4a7c15u);

	z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
	z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
	return z ^ (z >> 31);
}

double rng_real(struct rng *r) { return (double)(rng_next(r) >> 11) * 0x1p-53; }
int rng_below(struct rng *r, int n) { return (int)(rng_next(r) % (uint64_t)n); }
static bool chance(struct rng *r, double p) { return rng_real(r) < p; }

static const char *word(struct kn_knowledge *kn, const char *kind, int n)
{
	return arena_printf(kn->arena, "%s-%d", kind, n);
}

static void make_kinds(struct rng *r, struct kn_knowledge *kn)
{
	kn->nkinds = 2;
	kn->kinds = arena_array(kn->arena, 2, sizeof *kn->kinds);
	for (int k = 0; k < 2; k++) {
		int n = 2 + rng_below(r, 2);

		kn->kinds[k] = (struct kn_kind){ word(kn, "kind", k), word(kn, "kind", k), n,
			arena_array(kn->arena, (size_t)n, sizeof(struct kn_place)) };
		for (int p = 0; p < n; p++)
			kn->kinds[k].places[p] = (struct kn_place){ word(kn, "place", p),
				k ? 1u << p | 1u << ((p + 1) % n) : 1u << p };
	}
}

static void add_fault(struct kn_knowledge *kn, int mode, int place, bool all, double weight)
{
	const struct kn_part *part = &kn->parts[kn->modes[mode].part];

	kn->faults[kn->nfaults++] = (struct kn_fault){
		.part = kn->modes[mode].part, .mode = mode, .place = place, .all = all,
		.sites = place == KN_NONE ? KN_ALL_SITES : kn->kinds[part->kind].places[place].sites,
		.weight = weight };
}

static void make_faults(struct rng *r, struct kn_knowledge *kn, const struct random_size *size)
{
	int cap = size->faults;

	kn->parts = arena_array(kn->arena, (size_t)cap, sizeof *kn->parts);
	kn->modes = arena_array(kn->arena, (size_t)cap, sizeof *kn->modes);
	kn->faults = arena_array(kn->arena, (size_t)cap + 8, sizeof *kn->faults);
	while (kn->nfaults < cap) {
		int part = kn->nparts++, modes = 1 + rng_below(r, 3);
		int kind = chance(r, .5) ? KN_NONE : rng_below(r, 2);

		kn->parts[part] = (struct kn_part){ .id = word(kn, "part", part),
			.title = word(kn, "part", part), .kind = kind, .fitted = true };
		for (int m = 0; m < modes && kn->nfaults < cap; m++) {
			int mode = kn->nmodes++;
			double w = size->independent ? .01 + .3 * rng_real(r) : 1 + 50 * rng_real(r);

			kn->modes[mode] = (struct kn_mode){ .id = word(kn, "mode", mode),
				.title = word(kn, "mode", mode), .ref = word(kn, "mode", mode),
				.part = part, .after_work = chance(r, .3),
				.history = chance(r, .3) ? 1u : 0 };
			if (kind == KN_NONE || chance(r, .3))
				add_fault(kn, mode, KN_NONE, kind != KN_NONE, w);
			for (int p = 0; kind != KN_NONE && p < kn->kinds[kind].nplaces &&
					kn->nfaults < cap; p++)
				add_fault(kn, mode, p, false, w / kn->kinds[kind].nplaces);
		}
	}
}

static void make_gates(struct rng *r, struct kn_knowledge *kn)
{
	int n = 4;

	kn->gates = arena_array(kn->arena, (size_t)n, sizeof *kn->gates);
	for (kn->ngates = 0; kn->ngates < n; kn->ngates++) {
		struct kn_gate *g = &kn->gates[kn->ngates];

		*g = (struct kn_gate){ .id = word(kn, "gate", kn->ngates),
			.op = (enum kn_gate_op)rng_below(r, 3), .k = 2 };
		g->faults = arena_array(kn->arena, (size_t)kn->nfaults, sizeof(int));
		g->gates = arena_array(kn->arena, 1, sizeof(int));
		for (int f = 0; f < kn->nfaults; f++)
			if (chance(r, .25))
				g->faults[g->nfaults++] = f;
		if (kn->ngates && chance(r, .4))
			g->gates[g->ngates++] = kn->ngates - 1;
	}
}

/* ---- checks ------------------------------------------------------------------------------------ */

static void make_table(struct rng *r, struct kn_knowledge *kn, struct kn_check *c)
{
	struct kn_table *t = c->table = arena_alloc(kn->arena, sizeof *t);
	size_t rows;

	c->combine = KN_TABLE;
	c->outcomes[c->noutcomes - 1].rest = false; /* a table takes no remainder */
	t->nover = 1 + rng_below(r, 3);
	t->over = arena_array(kn->arena, (size_t)t->nover, sizeof *t->over);
	for (int i = 0; i < t->nover; i++) {
		bool gate = chance(r, .3);

		t->over[i] = (struct kn_over){ gate ? KN_NONE : rng_below(r, kn->nmodes),
					       gate ? rng_below(r, kn->ngates) : KN_NONE };
	}
	rows = (size_t)1 << t->nover;
	t->p = arena_array(kn->arena, rows * (size_t)c->noutcomes, sizeof(double));
	for (size_t row = 0; row < rows; row++) {
		double sum = 0, *p = t->p + row * (size_t)c->noutcomes;

		for (int o = 0; o < c->noutcomes; o++)
			sum += p[o] = o && chance(r, .5) ? 0 : .05 + rng_real(r);
		for (int o = 0; o < c->noutcomes; o++)
			p[o] /= sum;
	}
}

static void make_outcomes(struct rng *r, struct kn_knowledge *kn, struct kn_check *c, double voters)
{
	double silent = voters > 0 ? 1 - voters / kn->nfaults : .5;

	c->noutcomes = 2 + rng_below(r, 3);
	c->outcomes = arena_array(kn->arena, (size_t)c->noutcomes, sizeof *c->outcomes);
	for (int o = 0; o < c->noutcomes; o++) {
		struct kn_outcome *out = &c->outcomes[o];

		*out = (struct kn_outcome){ .id = word(kn, "outcome", o), .base = .02 + .1 * rng_real(r),
			.rest = o == c->noutcomes - 1, .local_kind = KN_NONE };
		if (out->rest)
			continue;
		out->local = chance(r, .4);
		if (c->per == KN_NONE && out->local)
			out->local_kind = rng_below(r, 2);
		out->vote = arena_array(kn->arena, (size_t)kn->nfaults, sizeof(double));
		for (int f = 0; f < kn->nfaults; f++)
			out->vote[f] = chance(r, silent) ? NAN : chance(r, .2) ? .01 : .1 + .8 * rng_real(r);
		if (chance(r, .2) && voters <= 0) {
			out->gate_votes = arena_array(kn->arena, 1, sizeof *out->gate_votes);
			out->gate_votes[out->ngate_votes++] =
				(struct kn_gate_vote){ rng_below(r, kn->ngates), .7 * rng_real(r) };
		}
	}
}

static void make_checks(struct rng *r, struct kn_knowledge *kn, int n, double voters)
{
	kn->checks = arena_array(kn->arena, (size_t)n, sizeof *kn->checks);
	for (kn->nchecks = 0; kn->nchecks < n; kn->nchecks++) {
		struct kn_check *c = &kn->checks[kn->nchecks];

		*c = (struct kn_check){ .id = word(kn, "check", kn->nchecks), .offered = true,
			.kind = (enum kn_check_kind)rng_below(r, 3),
			.per = chance(r, .5) ? KN_NONE : rng_below(r, 2),
			.exponent = 1, .same_fact = chance(r, .3) ? 0 : KN_NONE,
			.floor = chance(r, .5) ? .01 : 0,
			.combine = chance(r, .25) ? KN_NOISY_OR : KN_STRONGEST };
		c->compare = c->per != KN_NONE && chance(r, .5);
		if (voters > 0)
			c->combine = KN_STRONGEST;
		make_outcomes(r, kn, c, voters);
		if (c->per == KN_NONE && voters <= 0 && chance(r, .2))
			make_table(r, kn, c);
	}
}

static void make_remedies(struct rng *r, struct kn_knowledge *kn)
{
	kn->nremedies = 3;
	kn->remedies = arena_array(kn->arena, 3, sizeof *kn->remedies);
	for (int i = 0; i < 3; i++) {
		struct kn_remedy *m = &kn->remedies[i];

		*m = (struct kn_remedy){ .id = word(kn, "remedy", i), .bench_work = chance(r, .6),
			.per = chance(r, .5) ? KN_NONE : rng_below(r, 2) };
		m->clears = arena_array(kn->arena, (size_t)kn->nfaults, sizeof *m->clears);
		for (int f = 0; f < kn->nfaults; f++)
			if (chance(r, .35))
				m->clears[m->nclears++] =
					(struct kn_clears){ f, chance(r, .3) ? 1 : .5 + .5 * rng_real(r) };
	}
}

struct kn_knowledge *random_knowledge(struct rng *r, const struct random_size *size)
{
	struct kn_knowledge *kn = mem_alloc(sizeof *kn);

	kn->arena = arena_new();
	kn->machine = kn->machine_title = "random";
	kn->independent = size->independent;
	kn->number_prior[0] = .4;
	kn->number_prior[1] = .85;
	kn->number_prior[2] = .13;
	kn->number_prior[3] = .02;
	kn->max_faults = 3;
	kn->nhistories = 1;
	kn->histories = arena_array(kn->arena, 1, sizeof *kn->histories);
	kn->histories[0] = (struct kn_history){ "stored", "stored", "stored?", 2.5 };
	make_kinds(r, kn);
	make_faults(r, kn, size);
	make_gates(r, kn);
	make_checks(r, kn, size->checks, size->voters);
	make_remedies(r, kn);
	kn->ntogether = size->independent ? 0 : rng_below(r, 4);
	kn->together = arena_array(kn->arena, 4, sizeof *kn->together);
	for (int i = 0; i < kn->ntogether; i++) /* distinct pairs: 0-1, 1-2, 0-2 ... or others */
		kn->together[i] = (struct kn_together){ i == 2 ? 0 : i, (i == 2 ? 2 : i + 1) % kn->nfaults,
							1.5 + 5 * rng_real(r) };
	return kn;
}

/* ---- cases ------------------------------------------------------------------------------------- */

/* An answer to the check in this epoch, its cells still empty. */
static void start_answer(struct rng *r, const struct kn_knowledge *kn, int check, int epoch,
			 struct su_evidence *e)
{
	const struct kn_check *c = &kn->checks[check];
	struct su_table *t;

	memset(e, 0, sizeof *e);
	e->check = check;
	e->place = c->per == KN_NONE || c->compare || chance(r, .4)
			   ? KN_NONE : rng_below(r, kn->kinds[c->per].nplaces);
	e->epoch = epoch;
	e->exponent = chance(r, .5) ? 1 : .6;
	t = su_table_new(kn, e->check, e->place);
	e->ncells = su_table_ncells(t);
	su_table_free(t);
}

static void say_something(struct rng *r, const struct kn_knowledge *kn, struct su_evidence *e,
			  int epoch)
{
	start_answer(r, kn, rng_below(r, kn->nchecks), epoch, e);
	if (chance(r, .3)) {
		double left = 1;

		for (int i = 0; i < e->ncells; i++) {
			e->share[i] = i == e->ncells - 1 ? left : left * rng_real(r);
			left -= e->share[i];
		}
	} else
		e->share[rng_below(r, e->ncells)] = 1;
}

/* The same complaint before and after all repairs, in the place of two answers. */
static void complain_again(struct rng *r, const struct kn_knowledge *kn, struct su_evidence *e, int answers,
			   int nrepairs)
{
	int check = rng_below(r, kn->nchecks);

	if (!nrepairs || answers < 2 || kn->checks[check].kind != KN_SYMPTOM)
		return;
	start_answer(r, kn, check, 0, &e[0]);
	e[0].share[kn->checks[check].outcomes[0].rest ? 1 : 0] = 1;
	e[1] = e[0];
	e[1].epoch = nrepairs;
}

void random_case(struct rng *r, const struct kn_knowledge *kn, int answers, bool repairs,
		 struct su_case *c)
{
	int nrepairs = repairs ? rng_below(r, 3) : 0;
	struct su_repair *rep = mem_array((size_t)nrepairs + 1, sizeof *rep);
	struct su_evidence *e = mem_array((size_t)answers + 1, sizeof *e);

	for (int i = 0; i < nrepairs; i++) {
		int m = rng_below(r, kn->nremedies), per = kn->remedies[m].per;

		rep[i] = (struct su_repair){ m, per == KN_NONE || chance(r, .5) ? KN_NONE
				: rng_below(r, kn->kinds[per].nplaces), chance(r, .8) ? 1 : .5 };
	}
	for (int i = 0; i < answers; i++)
		say_something(r, kn, &e[i], rng_below(r, nrepairs + 1));
	complain_again(r, kn, e, answers, nrepairs);
	for (int i = 1; i < answers; i++) /* one answer per check, place and epoch */
		for (int k = 0; k < i; k++)
			if (e[i].check == e[k].check && e[i].place == e[k].place &&
			    e[i].epoch == e[k].epoch)
				e[i].exponent = 0;
	*c = (struct su_case){ answers, e, nrepairs, rep, (uint32_t)rng_below(r, 2), chance(r, .3) };
}

void random_case_free(struct su_case *c)
{
	mem_free((void *)(uintptr_t)c->evidence);
	mem_free((void *)(uintptr_t)c->repairs);
}

void random_free(struct kn_knowledge *kn)
{
	arena_free(kn->arena);
	mem_free(kn);
}
