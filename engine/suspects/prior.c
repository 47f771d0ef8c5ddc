#include "suspects/prior.h"

#include <math.h>
#include <string.h>

#include "base/mem.h"

#define BROUGHT_BY_WORK .04   /* knowledge 0.4: a repair at the bench introduces a fault */
#define P_SURE .999999999999  /* an independent probability of 1 has no odds */

double su_fault_weight(const struct kn_knowledge *kn, uint32_t histories, int fault)
{
	const struct kn_fault *f = &kn->faults[fault];
	double w = f->weight;

	for (int h = 0; h < kn->nhistories; h++)
		if (histories & kn->modes[f->mode].history & (1u << h))
			w *= kn->histories[h].times;
	if (kn->independent) {
		w = fmin(w, P_SURE);
		w /= 1 - w;
	}
	return w;
}

bool su_item_present(const struct su_item *i, int epoch)
{
	return epoch > i->brought_by && epoch <= i->cleared_by;
}

bool su_items_exclude(const struct su_prior *p, int a, int b)
{
	const struct su_item *x = &p->item[a], *y = &p->item[b];
	bool both = x->fault == y->fault || kn_exclude(p->kn, x->fault, y->fault);

	if (x->brought_by != KN_NONE && y->brought_by != KN_NONE)
		return true;
	if (!both)
		return false;
	if (x->brought_by == KN_NONE && y->brought_by == KN_NONE)
		return true;
	/* One was there before the other came: only at the same time do they get in each other's way. */
	return x->brought_by < y->cleared_by && y->brought_by < x->cleared_by;
}

/* ---- items -------------------------------------------------------------------------------- */

double su_clears(const struct kn_knowledge *kn, const struct su_repair *r, int fault)
{
	const struct kn_remedy *m = &kn->remedies[r->remedy];
	const struct kn_fault *f = &kn->faults[fault];

	if (m->per != KN_NONE && r->place != KN_NONE &&
	    (f->all || !(f->sites & kn->kinds[m->per].places[r->place].sites)))
		return 0;
	for (int i = 0; i < m->nclears; i++)
		if (m->clears[i].fault == fault)
			return m->clears[i].p * r->quality;
	return 0;
}

static void add_item(struct su_prior *p, int *cap, struct su_item item)
{
	if (!(item.weight > 0))
		return;
	if (p->nitems == *cap) {
		*cap = *cap ? *cap * 2 : 256;
		p->item = mem_resize_array(p->item, (size_t)*cap, sizeof *p->item);
	}
	p->item[p->nitems++] = item;
}

/* One item for each way the fault may end, from repair `from` on. */
static void add_fates(struct su_prior *p, int *cap, int fault, int brought_by, double weight)
{
	for (int r = brought_by + 1; r < p->c->nrepairs; r++) {
		double gone = su_clears(p->kn, &p->c->repairs[r], fault);

		add_item(p, cap, (struct su_item){ fault, brought_by, r, weight * gone });
		weight *= 1 - gone;
	}
	add_item(p, cap, (struct su_item){ fault, brought_by, SU_NEVER, weight });
}

/* The after-work faults a repair at the bench may have brought, as odds against "none". */
static void add_brought(struct su_prior *p, int *cap, int repair)
{
	const struct kn_knowledge *kn = p->kn;
	double sum = 0;

	if (!kn->remedies[p->c->repairs[repair].remedy].bench_work || kn->independent)
		return;
	for (int f = 0; f < kn->nfaults; f++)
		if (kn->modes[kn->faults[f].mode].after_work)
			sum += kn->faults[f].weight;
	for (int f = 0; f < kn->nfaults && sum > 0; f++)
		if (kn->modes[kn->faults[f].mode].after_work)
			add_fates(p, cap, f, repair,
				  BROUGHT_BY_WORK / (1 - BROUGHT_BY_WORK) * kn->faults[f].weight / sum);
}

static void make_items(struct su_prior *p)
{
	int cap = 0;

	for (int f = 0; f < p->kn->nfaults; f++)
		add_fates(p, &cap, f, KN_NONE, su_fault_weight(p->kn, p->c->histories, f));
	for (int r = 0; r < p->c->nrepairs; r++)
		add_brought(p, &cap, r);
}

static const struct su_near *near_of(const struct su_prior *p, int a, int b)
{
	for (const struct su_near *n = p->near[a]; n; n = n->next)
		if (n->fault == b)
			return n;
	return NULL;
}

static void add_near(struct su_prior *p, int a, int b, double times)
{
	struct su_near *n = arena_alloc(p->arena, sizeof *n);

	*n = (struct su_near){ b, times, p->near[a] };
	p->near[a] = n;
}

/* A pair named twice counts once: the first is taken. */
static void make_near(struct su_prior *p)
{
	const struct kn_knowledge *kn = p->kn;

	p->near = arena_array(p->arena, (size_t)kn->nfaults + 1, sizeof *p->near);
	p->raise = 1;
	for (int i = 0; i < kn->ntogether && !kn->independent; i++) {
		const struct kn_together *k = &kn->together[i];

		if (k->fault_a == k->fault_b || kn_exclude(kn, k->fault_a, k->fault_b) ||
		    near_of(p, k->fault_a, k->fault_b))
			continue;
		add_near(p, k->fault_a, k->fault_b, k->times);
		add_near(p, k->fault_b, k->fault_a, k->times);
		p->raise = fmax(p->raise, k->times);
	}
}

double su_item_times(const struct su_prior *p, int a, int b)
{
	const struct su_near *n;

	if (p->item[a].brought_by != KN_NONE || p->item[b].brought_by != KN_NONE)
		return 1;
	n = near_of(p, p->item[a].fault, p->item[b].fault);
	return n ? n->times : 1;
}

/* ---- how many at once: the sums over all allowed singles, pairs and triples ---------------- */

struct sums { double z[4]; };

static struct sums times_polynomial(struct sums a, struct sums b)
{
	struct sums out = { { 0 } };

	for (int i = 0; i <= 3; i++)
		for (int j = 0; i + j <= 3; j++)
			out.z[i + j] += a.z[i] * b.z[j];
	return out;
}

/* Faults of one part: any one of "all of them" alone, or at most one mode at each place.
 * Modes of a part are adjacent in kn->faults. Returns the index behind the part's last fault. */
static int part_sums(const struct su_prior *p, int first, const double *w, struct sums *out,
		     double *everything)
{
	const struct kn_knowledge *kn = p->kn;
	double place[33] = { 0 }, whole = 0;
	int at = first;

	for (; at < kn->nfaults && kn->faults[at].part == kn->faults[first].part; at++) {
		if (kn->faults[at].all)
			whole += w[at];
		else
			place[kn->faults[at].place == KN_NONE ? 0 : 1 + kn->faults[at].place % 32] += w[at];
	}
	*out = (struct sums){ { 1 } };
	*everything = 1;
	for (int i = 0; i < 33; i++)
		if (place[i] > 0) {
			*out = times_polynomial(*out, (struct sums){ { 1, place[i] } });
			*everything *= 1 + place[i];
		}
	out->z[1] += whole;
	*everything += whole;
	return at;
}

/* All faults that may stand beside a and b; added up, so that none is exactly 0. */
static double beside(const struct kn_knowledge *kn, const double *w, int a, int b)
{
	int pa = kn->faults[a].part, pb = kn->faults[b].part;
	double sum = 0;

	for (int c = 0; c < kn->nfaults; c++)
		if ((kn->faults[c].part != pa && kn->faults[c].part != pb) ||
		    !(c == a || c == b || kn_exclude(kn, a, c) || kn_exclude(kn, b, c)))
			sum += w[c];
	return sum;
}

/* What one pair that goes together adds to the triples, shared with the other pairs in them: a
 * path of two such pairs is met from both, a triangle from all three. */
static double in_triples(const struct su_prior *p, const double *w, int a, int b)
{
	double sum = 0;

	for (int turn = 0; turn < 2; turn++, a ^= b, b ^= a, a ^= b)
		for (const struct su_near *n = p->near[a]; n; n = n->next) {
			const struct su_near *other = near_of(p, b, n->fault);
			double ac = n->times - 1, bc = other ? other->times - 1 : 0;

			if (n->fault == b || kn_exclude(p->kn, b, n->fault))
				continue;
			sum += w[n->fault] * (ac / 2 + ac * bc / 6);
		}
	return sum;
}

/* What the factors of pairs that go together add to the sums. */
static void together_sums(const struct su_prior *p, const double *w, struct sums *z)
{
	for (int a = 0; a < p->kn->nfaults; a++)
		for (const struct su_near *n = p->near[a]; n; n = n->next) {
			double more = (n->times - 1) * w[a] * w[n->fault];

			if (n->fault < a)
				continue;
			z->z[2] += more;
			z->z[3] += more * (beside(p->kn, w, a, n->fault) +
					   in_triples(p, w, a, n->fault));
		}
}

static void make_counts(struct su_prior *p)
{
	const struct kn_knowledge *kn = p->kn;
	double *w = mem_array((size_t)kn->nfaults + 1, sizeof *w);
	struct sums z = { { 1 } }, part;
	double all_sets = 1, everything, use = 0;
	bool none = p->c->no_complaint && !kn->independent;

	for (int f = 0; f < kn->nfaults; f++)
		w[f] = su_fault_weight(kn, p->c->histories, f);
	for (int f = 0; f < kn->nfaults;) {
		f = part_sums(p, f, w, &part, &everything);
		z = times_polynomial(z, part);
		all_sets *= everything;
	}
	if (kn->independent) {
		p->max_faults = SU_SET_MAX;
		for (int k = 0; k <= SU_SET_MAX; k++)
			p->count[k] = 1 / all_sets;
		mem_free(w);
		return;
	}
	together_sums(p, w, &z);
	p->max_faults = kn->max_faults < 3 ? kn->max_faults : 3;
	for (int k = 1; k <= p->max_faults; k++)
		use += z.z[k] > 0 ? kn->number_prior[k] : 0;
	for (int k = 1; k <= p->max_faults; k++)
		p->count[k] = z.z[k] > 0 && use > 0
				      ? (none ? 1 - kn->number_prior[0] : 1) * kn->number_prior[k] / use / z.z[k]
				      : 0;
	p->count[0] = none ? kn->number_prior[0] : 0;
	mem_free(w);
}

void su_prior_make(struct su_prior *p, const struct kn_knowledge *kn, const struct su_case *c)
{
	double odds = 1;

	memset(p, 0, sizeof *p);
	p->kn = kn;
	p->c = c;
	p->arena = arena_new();
	make_near(p);
	make_items(p);
	make_counts(p);
	for (int i = 0; i < p->nitems; i++)
		if (p->item[i].brought_by != KN_NONE)
			odds += p->item[i].weight;
	for (int k = 0; k <= p->max_faults; k++)
		p->count[k] /= odds;
}

void su_prior_free(struct su_prior *p)
{
	mem_free(p->item);
	arena_free(p->arena);
}
