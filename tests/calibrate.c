#include "calibrate.h"

#include <math.h>
#include <string.h>

#include "base/mem.h"

/* A fault set drawn from the prior: the sets of a weighing without any answer. */
static const struct su_set *draw(struct rng *r, const struct su_suspects *s)
{
	double at = rng_real(r) * s->listed;

	for (int i = 0; i < s->nsets; i++) {
		at -= s->sets[i].weight;
		if (at <= 0)
			return &s->sets[i];
	}
	return &s->sets[s->nsets - 1];
}

static void answer(struct rng *r, const struct kn_knowledge *kn, const struct su_set *truth, int check,
		   double noise, struct su_evidence *e)
{
	struct su_table *t = su_table_new(kn, check, KN_NONE);
	int state = su_table_none(t), cell = 0;
	double row[SU_CELLS_MAX], norm = 0, at;

	memset(e, 0, sizeof *e);
	e->check = check;
	e->place = KN_NONE;
	e->exponent = kn->checks[check].exponent;
	e->ncells = su_table_ncells(t);
	for (int i = 0; i < truth->nnow; i++)
		state = su_table_join(t, state, truth->now[i]);
	for (int i = 0; i < e->ncells; i++)
		norm += row[i] = pow(su_table_row(t, state)[i], e->exponent);
	at = rng_real(r) * norm;
	while (cell < e->ncells - 1 && (at -= row[cell]) > 0)
		cell++;
	if (rng_real(r) < noise)
		cell = rng_below(r, e->ncells);
	e->share[cell] = 1;
	su_table_free(t);
}

void calibrate_job(struct rng *r, const struct kn_knowledge *kn, int answers, double noise,
		   struct calibration *c)
{
	struct su_settings all = { 0, 100000000, 4096 };
	struct su_evidence e[16];
	struct su_case job = { 0, e, 0, NULL, 0, true };
	struct su_suspects *before = su_weigh(kn, &job, &all, NULL), *s;
	const struct su_set *truth = draw(r, before);

	for (int i = 0; i < answers && i < kn->nchecks && i < 16; i++) {
		int f = rng_below(r, kn->nfaults), decile;
		bool there = false;

		answer(r, kn, truth, i, noise, &e[i]);
		job.nevidence = i + 1;
		s = su_weigh(kn, &job, &all, NULL);
		if (!s)
			break;
		for (int k = 0; k < truth->nnow; k++)
			there = there || truth->now[k] == f;
		decile = (int)fmin(9, s->now[f] * 10);
		c->n[decile]++;
		c->said[decile] += s->now[f];
		c->was[decile] += there;
		su_free(s);
	}
	su_free(before);
}

static void add_finding(struct kn_knowledge *kn, int f, int n, const double *link, double leak, int stride)
{
	struct kn_check *c = &kn->checks[f];

	*c = (struct kn_check){ .id = "finding", .kind = KN_MEASUREMENT, .per = KN_NONE, .exponent = 1,
		.same_fact = KN_NONE, .combine = KN_NOISY_OR, .noutcomes = 2 };
	c->outcomes = arena_array(kn->arena, 2, sizeof *c->outcomes);
	c->outcomes[0] = (struct kn_outcome){ .id = "yes", .base = leak, .local_kind = KN_NONE,
		.vote = arena_array(kn->arena, (size_t)n, sizeof(double)) };
	c->outcomes[1] = (struct kn_outcome){ .id = "no", .rest = true, .local_kind = KN_NONE };
	for (int k = 0; k < n; k++)
		c->outcomes[0].vote[k] = link[k * stride + f];
}

struct kn_knowledge *noisy_or_knowledge(struct rng *r, int n, int m, double *prior, double *link,
					double *leak, int stride)
{
	struct kn_knowledge *kn = mem_alloc(sizeof *kn);

	kn->arena = arena_new();
	kn->independent = true;
	kn->nparts = kn->nmodes = kn->nfaults = n;
	kn->parts = arena_array(kn->arena, (size_t)n, sizeof *kn->parts);
	kn->modes = arena_array(kn->arena, (size_t)n, sizeof *kn->modes);
	kn->faults = arena_array(kn->arena, (size_t)n, sizeof *kn->faults);
	kn->checks = arena_array(kn->arena, (size_t)m, sizeof *kn->checks);
	kn->nchecks = m;
	for (int k = 0; k < n; k++) {
		prior[k] = .01 + .2 * rng_real(r);
		kn->parts[k] = (struct kn_part){ .id = "part", .title = "part", .kind = KN_NONE };
		kn->modes[k] = (struct kn_mode){ .id = "mode", .title = "mode", .ref = "mode", .part = k };
		kn->faults[k] = (struct kn_fault){ k, k, KN_NONE, false, KN_ALL_SITES, prior[k] };
		for (int f = 0; f < m; f++)
			link[k * stride + f] = rng_real(r);
	}
	for (int f = 0; f < m; f++) {
		leak[f] = .05 * rng_real(r);
		add_finding(kn, f, n, link, leak[f], stride);
	}
	return kn;
}
