#include "oracle.h"

#include <math.h>
#include <string.h>

/* A world: for every fault, is it there in epoch 0 .. nrepairs. */
struct world {
	bool there[ORACLE_FAULTS];          /* from the start */
	bool at[ORACLE_FAULTS][8];          /* by epoch */
	int brought, brought_by;            /* fault, repair; KN_NONE: nothing was brought */
};

static double weight_of(const struct kn_knowledge *kn, const struct su_case *c, int f)
{
	double w = kn->faults[f].weight;

	for (int h = 0; h < kn->nhistories; h++)
		if ((c->histories >> h & 1) && (kn->modes[kn->faults[f].mode].history >> h & 1))
			w *= kn->histories[h].times;
	return w;
}

static bool allowed(const struct kn_knowledge *kn, const bool *there)
{
	for (int a = 0; a < kn->nfaults; a++)
		for (int b = 0; b < a; b++) {
			const struct kn_fault *x = &kn->faults[a], *y = &kn->faults[b];

			if (there[a] && there[b] && x->part == y->part &&
			    (x->all || y->all || x->place == y->place))
				return false;
		}
	return true;
}

static int size_of(const struct kn_knowledge *kn, const bool *there)
{
	int n = 0;

	for (int f = 0; f < kn->nfaults; f++)
		n += there[f];
	return n;
}

/* ---- prior ------------------------------------------------------------------------------------ */

static double product(const struct kn_knowledge *kn, const struct su_case *c, const bool *there)
{
	double w = 1;

	for (int f = 0; f < kn->nfaults; f++) {
		double p = weight_of(kn, c, f);

		if (kn->independent)
			w *= there[f] ? p : 1 - p;
		else
			w *= there[f] ? p : 1;
	}
	for (int i = 0; i < kn->ntogether && !kn->independent; i++)
		if (there[kn->together[i].fault_a] && there[kn->together[i].fault_b])
			w *= kn->together[i].times;
	return w;
}

struct normal { double z[ORACLE_FAULTS + 1], all; };

/* Calls `do_it` for every allowed set of at most `most` faults. */
static void every_set(const struct kn_knowledge *kn, int most, void *about,
		      void (*do_it)(void *about, const bool *there, int n))
{
	for (unsigned long bits = 0; bits < 1ul << kn->nfaults; bits++) {
		bool there[ORACLE_FAULTS];

		if (__builtin_popcountl(bits) > most)
			continue;
		for (int f = 0; f < kn->nfaults; f++)
			there[f] = bits >> f & 1;
		if (allowed(kn, there))
			do_it(about, there, size_of(kn, there));
	}
}

struct counting { const struct kn_knowledge *kn; const struct su_case *c; struct normal n; };

static void count_one(void *about, const bool *there, int n)
{
	struct counting *k = about;
	double w = product(k->kn, k->c, there);

	k->n.z[n] += w;
	k->n.all += w;
}

static double prior(const struct kn_knowledge *kn, const struct su_case *c, const struct normal *z,
		    const bool *there)
{
	int n = size_of(kn, there);
	double w = product(kn, c, there), use = 0;

	if (kn->independent)
		return w / z->all;
	for (int k = 1; k <= 3; k++)
		use += z->z[k] > 0 ? kn->number_prior[k] : 0;
	if (n == 0)
		return c->no_complaint ? kn->number_prior[0] : 0;
	return (c->no_complaint ? 1 - kn->number_prior[0] : 1) * kn->number_prior[n] / use * w / z->z[n];
}

/* ---- what a check would say ---------------------------------------------------------------------- */

static bool gate(const struct kn_knowledge *kn, int g, const bool *present)
{
	int n = 0, of = 0;

	for (int i = 0; i < kn->gates[g].nfaults; i++, of++)
		n += present[kn->gates[g].faults[i]];
	for (int i = 0; i < kn->gates[g].ngates; i++, of++)
		n += gate(kn, kn->gates[g].gates[i], present);
	if (kn->gates[g].op == KN_AND)
		return of > 0 && n == of;
	return n >= (kn->gates[g].op == KN_OR ? 1 : kn->gates[g].k);
}

struct cells { int n, outcome[SU_CELLS_MAX], place[SU_CELLS_MAX], kind[SU_CELLS_MAX], of[SU_CELLS_MAX]; };

static struct cells cells_of(const struct kn_knowledge *kn, const struct kn_check *c, int place)
{
	struct cells s = { 0 };

	for (int o = 0; o < c->noutcomes; o++) {
		const struct kn_outcome *out = &c->outcomes[o];
		int kind = KN_NONE, n = 1;

		if (c->combine != KN_TABLE && !out->rest) {
			if (c->per == KN_NONE)
				kind = out->local ? out->local_kind : KN_NONE;
			else if (c->compare)
				kind = out->local && place == KN_NONE
					       ? (out->local_kind != KN_NONE ? out->local_kind : c->per)
					       : KN_NONE;
			else
				kind = place == KN_NONE ? c->per : KN_NONE;
		}
		if (kind != KN_NONE)
			n = kn->kinds[kind].nplaces;
		for (int p = 0; p < n; p++, s.n++) {
			s.outcome[s.n] = o;
			s.kind[s.n] = kind;
			s.place[s.n] = kind == KN_NONE ? KN_NONE : p;
			s.of[s.n] = n;
		}
	}
	return s;
}

/* The vote of fault f for cell i, NAN when it has none. */
static double vote(const struct kn_knowledge *kn, const struct kn_check *c, const struct cells *s,
		   int place, int i, int f)
{
	const struct kn_outcome *o = &c->outcomes[s->outcome[i]];
	uint32_t sites = kn->faults[f].sites;
	int met = 0;

	if (isnan(o->vote[f]))
		return NAN;
	if (c->per != KN_NONE && place != KN_NONE && !c->compare &&
	    !(kn->kinds[c->per].places[place].sites & sites))
		return NAN;
	if (s->kind[i] == KN_NONE)
		return o->vote[f];
	for (int p = 0; p < s->of[i]; p++)
		met += (kn->kinds[s->kind[i]].places[p].sites & sites) != 0;
	return kn->kinds[s->kind[i]].places[s->place[i]].sites & sites ? o->vote[f] / met : NAN;
}

static double explicit_cell(const struct kn_knowledge *kn, const struct kn_check *c,
			    const struct cells *s, int place, int i, const bool *present)
{
	const struct kn_outcome *o = &c->outcomes[s->outcome[i]];
	double base = o->base / s->of[i], high = -1, low = 2, stay;

	if (c->per != KN_NONE && !c->compare && place != KN_NONE)
		base /= kn->kinds[c->per].nplaces;
	stay = 1 - base;
	for (int v = 0; v < kn->nfaults + o->ngate_votes; v++) {
		double p = NAN;

		if (v < kn->nfaults)
			p = present[v] ? vote(kn, c, s, place, i, v) : NAN;
		else if (gate(kn, o->gate_votes[v - kn->nfaults].gate, present))
			p = o->gate_votes[v - kn->nfaults].p;
		if (isnan(p))
			continue;
		stay *= 1 - p;
		if (p > base)
			high = fmax(high, p);
		else
			low = fmin(low, p);
	}
	if (c->combine == KN_NOISY_OR)
		return 1 - stay;
	return high >= 0 ? high : low <= 1 ? low : base;
}

static int row_of(const struct kn_knowledge *kn, const struct kn_check *c, int place,
		  const bool *present, double e, double *row)
{
	struct cells s = cells_of(kn, c, place);
	double sum = 0, most = c->combine == KN_STRONGEST ? .97 : 1, floor, norm = 0;
	int rest = -1;

	if (c->combine == KN_TABLE) {
		int at = 0;

		for (int i = 0; i < c->table->nover; i++) {
			bool on = c->table->over[i].gate != KN_NONE &&
				  gate(kn, c->table->over[i].gate, present);

			for (int f = 0; f < kn->nfaults; f++)
				on = on || (c->table->over[i].mode == kn->faults[f].mode && present[f]);
			at += on ? 1 << i : 0;
		}
		for (int i = 0; i < s.n; i++)
			row[i] = c->table->p[at * c->noutcomes + i];
	} else {
		for (int i = 0; i < s.n; i++) {
			if (c->outcomes[s.outcome[i]].rest)
				rest = i;
			else
				sum += row[i] = explicit_cell(kn, c, &s, place, i, present);
		}
		for (int i = 0; i < s.n; i++)
			if (i != rest && sum > most)
				row[i] *= most / sum;
		row[rest] = 1 - fmin(sum, most);
	}
	floor = fmin(c->floor, .2 / s.n);
	for (int i = 0; i < s.n; i++)
		norm += row[i] = pow(floor + (1 - s.n * floor) * row[i], e);
	for (int i = 0; i < s.n; i++)
		row[i] /= norm;
	return s.n;
}

/* ---- answers ------------------------------------------------------------------------------------- */

static double worth(const struct kn_knowledge *kn, const struct su_case *c, int i)
{
	int group = kn->checks[c->evidence[i].check].same_fact, n = 0;

	for (int k = 0; group != KN_NONE && k < kn->nchecks; k++) {
		bool answered = false;

		for (int e = 0; e < c->nevidence; e++)
			answered = answered || (c->evidence[e].check == k && c->evidence[e].exponent > 0 &&
						c->evidence[e].epoch == c->evidence[i].epoch);
		n += answered && kn->checks[k].same_fact == group;
	}
	return c->evidence[i].exponent / (n > 1 ? sqrt(n) : 1);
}

/* Was the fault there all the way from epoch a to b, or at neither? Gone and brought back is not
 * the same fault. */
static bool stayed(const struct world *w, int f, int a, int b)
{
	if (w->at[f][a] != w->at[f][b])
		return false;
	if (w->at[f][b] && w->brought == f && a <= w->brought_by && w->brought_by < b)
		return false;
	for (int e = a; e <= b && w->at[f][a]; e++)
		if (!w->at[f][e])
			return false;
	return true;
}

/* Do the faults that bear on the check look the same in both epochs? */
static bool unchanged(const struct kn_knowledge *kn, const struct kn_check *c, int place,
		      const struct world *w, int a, int b)
{
	struct cells s = cells_of(kn, c, place);

	for (int f = 0; f < kn->nfaults; f++) {
		bool bears = false;

		if (stayed(w, f, a, b))
			continue;
		for (int i = 0; i < s.n && c->combine != KN_TABLE; i++)
			bears = bears || (!c->outcomes[s.outcome[i]].rest &&
					  !isnan(vote(kn, c, &s, place, i, f)));
		for (int o = 0; o < c->noutcomes; o++)
			for (int g = 0; g < c->outcomes[o].ngate_votes; g++)
				for (int at = c->outcomes[o].gate_votes[g].gate; at >= 0;
				     at = kn->gates[at].ngates ? kn->gates[at].gates[0] : -1)
					for (int i = 0; i < kn->gates[at].nfaults; i++)
						bears = bears || kn->gates[at].faults[i] == f;
		for (int i = 0; c->combine == KN_TABLE && i < c->table->nover; i++) {
			bears = bears || c->table->over[i].mode == kn->faults[f].mode;
			for (int at = c->table->over[i].gate; at >= 0;
			     at = kn->gates[at].ngates ? kn->gates[at].gates[0] : -1)
				for (int k = 0; k < kn->gates[at].nfaults; k++)
					bears = bears || kn->gates[at].faults[k] == f;
		}
		if (bears)
			return false;
	}
	return true;
}

static const struct su_evidence *before(const struct su_case *c, int i)
{
	const struct su_evidence *e = &c->evidence[i], *best = NULL;

	for (int k = 0; k < c->nevidence; k++) {
		const struct su_evidence *o = &c->evidence[k];

		if (o->check == e->check && o->place == e->place && o->exponent > 0 &&
		    o->epoch < e->epoch && (!best || o->epoch > best->epoch))
			best = o;
	}
	return best;
}

/* A complaint of the beginning, there after repairs with nothing wrong: a hundredth, by its share. */
static double still_there(const struct kn_knowledge *kn, const struct su_case *c, const struct world *w)
{
	double l = 1;

	for (int i = 0; i < c->nevidence; i++) {
		const struct su_evidence *e = &c->evidence[i];
		int yes = kn->checks[e->check].outcomes[0].rest ? 1 : 0;
		bool told = false, wrong = false;

		if (kn->checks[e->check].kind != KN_SYMPTOM || !e->epoch || e->exponent <= 0)
			continue;
		for (int k = 0; k < c->nevidence; k++)
			told = told || (c->evidence[k].check == e->check && !c->evidence[k].epoch &&
					c->evidence[k].exponent > 0 && c->evidence[k].share[yes] > .5);
		for (int f = 0; f < kn->nfaults; f++)
			wrong = wrong || w->at[f][e->epoch];
		if (told && !wrong)
			l *= .01 * e->share[yes] + (1 - e->share[yes]);
	}
	return l;
}

static double likelihood(const struct kn_knowledge *kn, const struct su_case *c, const struct world *w)
{
	double l = still_there(kn, c, w);

	for (int i = 0; i < c->nevidence; i++) {
		const struct su_evidence *e = &c->evidence[i], *old = before(c, i);
		const struct kn_check *check = &kn->checks[e->check];
		double row[SU_CELLS_MAX], p = 0, seen[SU_CELLS_MAX], sum = 0;
		double again = check->kind == KN_MEASUREMENT ? .95 : .9;
		bool present[ORACLE_FAULTS];
		int n;

		if (e->exponent <= 0)
			continue;
		for (int f = 0; f < kn->nfaults; f++)
			present[f] = w->at[f][e->epoch];
		n = row_of(kn, check, e->place, present, worth(kn, c, i), row);
		if (!old || !unchanged(kn, check, e->place, w, old->epoch, e->epoch)) {
			for (int k = 0; k < n; k++)
				p += e->share[k] * row[k];
			l *= p;
			continue;
		}
		for (int k = 0; k < n; k++)
			sum += seen[k] = old->share[k] * row[k];
		for (int k = 0; k < n && sum > 0; k++)
			for (int o = 0; o < n; o++)
				p += e->share[k] * seen[o] / sum *
				     (o == k ? again : row[o] < 1 ? (1 - again) * row[k] / (1 - row[o]) : 0);
		l *= p;
	}
	return l;
}

/* ---- fates ----------------------------------------------------------------------------------------- */

struct weighing {
	const struct kn_knowledge *kn;
	const struct su_case *c;
	const struct normal *z;
	struct oracle *out;
	double brought_odds;
};

static double clears(const struct kn_knowledge *kn, const struct su_case *c, int r, int f)
{
	const struct kn_remedy *m = &kn->remedies[c->repairs[r].remedy];

	if (m->per != KN_NONE && c->repairs[r].place != KN_NONE &&
	    (kn->faults[f].all || !(kn->kinds[m->per].places[c->repairs[r].place].sites & kn->faults[f].sites)))
		return 0;
	for (int i = 0; i < m->nclears; i++)
		if (m->clears[i].fault == f)
			return m->clears[i].p * c->repairs[r].quality;
	return 0;
}

static void weigh_world(const struct weighing *k, const struct world *w, double p)
{
	const struct kn_knowledge *kn = k->kn;
	double weight = p * likelihood(kn, k->c, w);
	int last = k->c->nrepairs, n = 0;
	bool now[ORACLE_FAULTS] = { 0 }, was[ORACLE_FAULTS] = { 0 };

	k->out->sets++;
	k->out->total += weight;
	for (int f = 0; f < kn->nfaults; f++) {
		int mode = kn->faults[f].mode;

		n += w->at[f][last];
		if (w->at[f][last]) {
			k->out->now[f] += weight;
			now[mode] = true;
		}
		if (w->there[f]) {
			k->out->was[f] += weight;
			was[mode] = true;
		}
	}
	for (int m = 0; m < kn->nmodes; m++) {
		k->out->mode_now[m] += now[m] ? weight : 0;
		k->out->mode_was[m] += was[m] ? weight : 0;
	}
	k->out->number[n > 3 ? 3 : n] += weight;
}

/* What repair r did to each fault there, then the next repair. */
static void after_repair(const struct weighing *k, struct world *w, int r, int f, double p);

static void next_epoch(const struct weighing *k, struct world *w, int r, double p)
{
	if (r == k->c->nrepairs)
		weigh_world(k, w, p);
	else
		after_repair(k, w, r, 0, p);
}

static void maybe_brought(const struct weighing *k, struct world *w, int r, double p)
{
	const struct kn_knowledge *kn = k->kn;
	double sum = 0;

	next_epoch(k, w, r + 1, p);
	/* beside one that work brought at most one other is considered */
	if (size_of(kn, w->there) > 1)
		return;
	if (w->brought != KN_NONE || !kn->remedies[k->c->repairs[r].remedy].bench_work || kn->independent)
		return;
	for (int f = 0; f < kn->nfaults; f++)
		sum += kn->modes[kn->faults[f].mode].after_work ? kn->faults[f].weight : 0;
	for (int f = 0; f < kn->nfaults; f++) {
		struct world more = *w;
		bool then[ORACLE_FAULTS];

		if (!kn->modes[kn->faults[f].mode].after_work || w->at[f][r + 1])
			continue;
		for (int g = 0; g < kn->nfaults; g++)
			then[g] = g == f || w->at[g][r + 1];
		if (!allowed(kn, then))
			continue;
		more.at[f][r + 1] = true;
		more.brought = f;
		more.brought_by = r;
		next_epoch(k, &more, r + 1, p * .04 / .96 * kn->faults[f].weight / sum);
	}
}

static void after_repair(const struct weighing *k, struct world *w, int r, int f, double p)
{
	double gone;

	if (!(p > 0))
		return;
	if (f == k->kn->nfaults) {
		maybe_brought(k, w, r, p);
		return;
	}
	gone = w->at[f][r] ? clears(k->kn, k->c, r, f) : 0;
	w->at[f][r + 1] = false;
	if (gone > 0)
		after_repair(k, w, r, f + 1, p * gone);
	w->at[f][r + 1] = w->at[f][r];
	after_repair(k, w, r, f + 1, p * (1 - gone));
}

static void weigh_one(void *about, const bool *there, int n)
{
	const struct weighing *k = about;
	struct world w = { .brought = KN_NONE };

	(void)n;
	for (int f = 0; f < k->kn->nfaults; f++)
		w.there[f] = w.at[f][0] = there[f];
	next_epoch(k, &w, 0, prior(k->kn, k->c, k->z, there) / k->brought_odds);
}

/* Every brought fault with every fate counts with its odds; at most one is considered. */
static double odds_of_work(const struct kn_knowledge *kn, const struct su_case *c)
{
	double odds = 1;
	bool any = false;

	for (int f = 0; f < kn->nfaults; f++)
		any = any || (kn->modes[kn->faults[f].mode].after_work && kn->faults[f].weight > 0);
	for (int r = 0; r < c->nrepairs && any && !kn->independent; r++)
		odds += kn->remedies[c->repairs[r].remedy].bench_work ? .04 / .96 : 0;
	return odds;
}

void oracle_weigh(const struct kn_knowledge *kn, const struct su_case *c, struct oracle *out)
{
	struct counting count = { .kn = kn, .c = c };
	struct weighing k = { kn, c, &count.n, out, odds_of_work(kn, c) };

	memset(out, 0, sizeof *out);
	every_set(kn, kn->independent ? kn->nfaults : 3, &count, count_one);
	every_set(kn, kn->independent ? kn->nfaults : 3, &k, weigh_one);
	for (int i = 0; i < ORACLE_FAULTS; i++) {
		out->now[i] /= out->total;
		out->was[i] /= out->total;
		out->mode_now[i] /= out->total;
		out->mode_was[i] /= out->total;
	}
	for (int i = 0; i < 4; i++)
		out->number[i] /= out->total;
}
