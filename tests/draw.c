#include "draw.h"

#include "base/mem.h"

struct draw {
	const struct kn_knowledge *kn;
	double p[4];                    /* of so many faults */
	double *weight, *times;         /* [n]; [n][n], 0 for what excludes each other */
	double *pairs, *triples;        /* [n] weight of the sets that begin with this fault */
};

static double pair(const struct draw *d, int a, int b)
{
	return d->weight[a] * d->weight[b] * d->times[a * d->kn->nfaults + b];
}

static double third(const struct draw *d, int a, int b, int c)
{
	int n = d->kn->nfaults;

	return d->weight[c] * d->times[a * n + c] * d->times[b * n + c];
}

static void fill_times(struct draw *d)
{
	const struct kn_knowledge *kn = d->kn;
	int n = kn->nfaults;

	for (int a = 0; a < n; a++)
		for (int b = 0; b < n; b++)
			d->times[a * n + b] = a == b || kn_exclude(kn, a, b) ? 0 : 1;
	for (int i = 0; i < kn->ntogether; i++) {
		const struct kn_together *t = &kn->together[i];

		d->times[t->fault_a * n + t->fault_b] *= t->times;
		d->times[t->fault_b * n + t->fault_a] *= t->times;
	}
}

struct draw *draw_new(const struct kn_knowledge *kn, bool no_complaint)
{
	struct draw *d = mem_alloc(sizeof *d);
	size_t n = (size_t)kn->nfaults;
	double sum[4] = { 0 }, use = 0;

	d->kn = kn;
	d->weight = mem_array(n, sizeof *d->weight);
	d->times = mem_array(n * n, sizeof *d->times);
	d->pairs = mem_array(n, sizeof *d->pairs);
	d->triples = mem_array(n, sizeof *d->triples);
	fill_times(d);
	for (int a = kn->nfaults - 1; a >= 0; a--) {
		sum[1] += d->weight[a] = kn->faults[a].weight;
		for (int b = a + 1; b < kn->nfaults; b++) {
			d->pairs[a] += pair(d, a, b);
			for (int c = b + 1; c < kn->nfaults && pair(d, a, b) > 0; c++)
				d->triples[a] += pair(d, a, b) * third(d, a, b, c);
		}
		sum[2] += d->pairs[a];
		sum[3] += d->triples[a];
	}
	for (int k = 1; k < 4; k++)
		use += d->p[k] = sum[k] > 0 ? kn->number_prior[k] : 0;
	d->p[0] = no_complaint ? kn->number_prior[0] : 0;
	for (int k = 1; k < 4; k++)
		d->p[k] *= (1 - d->p[0]) / use;
	return d;
}

void draw_free(struct draw *d)
{
	mem_free(d->weight);
	mem_free(d->times);
	mem_free(d->pairs);
	mem_free(d->triples);
	mem_free(d);
}

static int one_of(struct rng *r, const double *p, int n)
{
	double sum = 0, at;
	int i = 0;

	for (int k = 0; k < n; k++)
		sum += p[k];
	at = rng_real(r) * sum;
	while (i < n - 1 && (at -= p[i]) > 0)
		i++;
	return i;
}

/* The set that begins with `a` and has n faults, in proportion to its weight. */
static void the_others(struct draw *d, struct rng *r, int a, int n, int *out)
{
	double at = rng_real(r) * (n == 2 ? d->pairs[a] : d->triples[a]);

	for (int b = a + 1; b < d->kn->nfaults; b++) {
		double w = pair(d, a, b);

		if (!(w > 0))
			continue;
		out[1] = b;
		if (n == 2 && (at -= w) <= 0)
			return;
		for (int c = b + 1; n == 3 && c < d->kn->nfaults; c++)
			if (third(d, a, b, c) > 0) {
				out[2] = c;
				if ((at -= w * third(d, a, b, c)) <= 0)
					return;
			}
	}
}

static int independent(struct draw *d, struct rng *r, int *out)
{
	for (;;) {
		bool allowed = true;
		int n = 0;

		for (int f = 0; f < d->kn->nfaults; f++)
			if (rng_real(r) < d->weight[f]) {
				for (int i = 0; i < n; i++)
					allowed = allowed && !kn_exclude(d->kn, out[i], f);
				if (n < SU_SET_MAX)
					out[n++] = f;
			}
		if (allowed)
			return n;
	}
}

int draw_faults(struct draw *d, struct rng *r, int *out)
{
	int n;

	if (d->kn->independent)
		return independent(d, r, out);
	n = one_of(r, d->p, 4);
	if (n > 0)
		out[0] = one_of(r, n == 1 ? d->weight : n == 2 ? d->pairs : d->triples, d->kn->nfaults);
	if (n > 1)
		the_others(d, r, out[0], n, out);
	return n;
}
