#include "calibrate.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/mem.h"
#include "draw.h"
#include "suspects/tables.h"

#define ANSWERS_MAX 32
#define CANDIDATES 40         /* checks considered for the next answer */
#define BELIEVED 150          /* sets they are judged by */

static const struct su_settings rough = { .2, 3000, 256 };

struct simulation {
	const struct kn_knowledge *kn;
	struct su_settings settings;
	struct su_tables *tables;
	struct draw *draw;
	bool complaints;
	unsigned char *asked;
	/* the job at hand */
	struct rng *rng;
	int ntruth, truth[SU_SET_MAX];
	struct su_evidence e[ANSWERS_MAX + 1];
	struct su_case the_case;
	bool entered[10];     /* deciles this job has given an entry */
};

struct simulation *simulation_new(const struct kn_knowledge *kn, bool complaints,
				  const struct su_settings *settings)
{
	struct simulation *s = mem_alloc(sizeof *s);

	s->kn = kn;
	s->settings = *settings;
	s->complaints = complaints;
	s->tables = su_tables_new(kn);
	s->draw = draw_new(kn, !complaints);
	s->asked = mem_array((size_t)kn->nchecks + 1, 1);
	s->the_case.evidence = s->e;
	s->the_case.no_complaint = !complaints;
	return s;
}

void simulation_free(struct simulation *s)
{
	su_tables_free(s->tables);
	draw_free(s->draw);
	mem_free(s->asked);
	mem_free(s);
}

/* ---- answers ------------------------------------------------------------------------------------- */

static int state_of(struct su_table *t, const int *faults, int n)
{
	int state = su_table_none(t);

	for (int i = 0; i < n; i++)
		state = su_table_join(t, state, faults[i]);
	return state;
}

/* P(cell), the worth of the check applied. */
static void row_of(const struct simulation *s, int check, const int *faults, int n, double *row)
{
	struct su_table *t = su_tables_get(s->tables, check, KN_NONE);
	const double *plain = su_table_row(t, state_of(t, faults, n));
	double sum = 0;

	for (int i = 0; i < su_table_ncells(t); i++)
		sum += row[i] = pow(plain[i], s->kn->checks[check].exponent);
	for (int i = 0; i < su_table_ncells(t); i++)
		row[i] /= sum;
}

static void answer(struct simulation *s, int check, double noise)
{
	struct su_evidence *e = &s->e[s->the_case.nevidence++];
	double row[SU_CELLS_MAX], at = rng_real(s->rng);
	int cell = 0;

	memset(e, 0, sizeof *e);
	e->check = check;
	e->place = KN_NONE;
	e->exponent = s->kn->checks[check].exponent;
	e->ncells = su_table_ncells(su_tables_get(s->tables, check, KN_NONE));
	row_of(s, check, s->truth, s->ntruth, row);
	while (cell < e->ncells - 1 && (at -= row[cell]) > 0)
		cell++;
	if (rng_real(s->rng) < noise)
		cell = rng_below(s->rng, e->ncells);
	e->share[cell] = 1;
	s->asked[check] = 1;
}

/* A check of the same fact is worth less than the table says, on purpose: one of each is asked. */
static bool may_be_asked(const struct simulation *s, int check)
{
	const struct kn_check *c = &s->kn->checks[check];

	if (s->asked[check] || !c->offered || (s->complaints && c->kind == KN_SYMPTOM) ||
	    !(c->exponent > 0) || !su_tables_get(s->tables, check, KN_NONE))
		return false;
	for (int i = 0; i < s->the_case.nevidence; i++)
		if (c->same_fact != KN_NONE &&
		    s->kn->checks[s->the_case.evidence[i].check].same_fact == c->same_fact)
			return false;
	return true;
}

/* Bits the check is expected to tell, over the heaviest sets. */
static double bits(const struct simulation *s, const struct su_suspects *now, int check)
{
	int n = su_table_ncells(su_tables_get(s->tables, check, KN_NONE));
	double sum[SU_CELLS_MAX] = { 0 }, row[SU_CELLS_MAX], all = 0, told = 0;

	for (int i = 0; i < now->nsets && i < BELIEVED; i++) {
		row_of(s, check, now->sets[i].now, now->sets[i].nnow, row);
		all += now->sets[i].weight;
		for (int o = 0; o < n; o++) {
			sum[o] += now->sets[i].weight * row[o];
			told += row[o] > 0 ? now->sets[i].weight * row[o] * log2(row[o]) : 0;
		}
	}
	for (int o = 0; o < n; o++)
		told -= sum[o] > 0 ? sum[o] * log2(sum[o] / all) : 0;
	return told;
}

static int next_check(const struct simulation *s, const struct su_suspects *now)
{
	int best = KN_NONE, considered = 0;
	double most = -1;

	for (int tries = 0; tries < 20 * CANDIDATES && considered < CANDIDATES; tries++) {
		int c = rng_below(s->rng, s->kn->nchecks);
		double told;

		if (!may_be_asked(s, c))
			continue;
		considered++;
		told = bits(s, now, c);
		if (told > most) {
			most = told;
			best = c;
		}
	}
	return best;
}

/* ---- jobs ---------------------------------------------------------------------------------------- */

/* Faults and a complaint they give: drawn until one of them says yes to a symptom chosen before. */
static void begin(struct simulation *s)
{
	int symptom = s->complaints ? s->kn->symptoms[rng_below(s->rng, s->kn->nsymptoms)] : KN_NONE;
	double row[SU_CELLS_MAX];
	int yes;

	memset(s->asked, 0, (size_t)s->kn->nchecks);
	memset(s->entered, 0, sizeof s->entered);
	s->the_case.nevidence = 0;
	s->ntruth = draw_faults(s->draw, s->rng, s->truth);
	if (symptom == KN_NONE)
		return;
	yes = kn_outcome_by_id(&s->kn->checks[symptom], "yes");
	for (;;) {
		row_of(s, symptom, s->truth, s->ntruth, row);
		if (rng_real(s->rng) < row[yes])
			break;
		s->ntruth = draw_faults(s->draw, s->rng, s->truth);
	}
	s->e[0] = (struct su_evidence){ .check = symptom, .place = KN_NONE, .ncells = 2,
		.exponent = s->kn->checks[symptom].exponent };
	s->e[0].share[yes] = 1;
	s->the_case.nevidence = 1;
}

static int decile_of(double p) { return (int)fmin(9, p * 10); }

static bool wants(const struct simulation *s, int decile, long wanted, const struct calibration *c)
{
	return !s->entered[decile] && c->n[decile] < wanted;
}

static bool any_wanted(const struct simulation *s, const double *said, long wanted,
		       const struct calibration *c)
{
	for (int m = 0; m < s->kn->nmodes; m++)
		if (wants(s, decile_of(said[m]), wanted, c))
			return true;
	return false;
}

static void enter(struct simulation *s, const double *said, long wanted, struct calibration *c)
{
	int in[10] = { 0 }, decile = KN_NONE, at;

	for (int m = 0; m < s->kn->nmodes; m++)
		in[decile_of(said[m])]++;
	for (int d = 0; d < 10; d++)
		if (in[d] && wants(s, d, wanted, c) && (decile == KN_NONE || c->n[d] < c->n[decile]))
			decile = d;
	at = decile == KN_NONE ? 0 : rng_below(s->rng, in[decile]);
	for (int m = 0; m < s->kn->nmodes && decile != KN_NONE; m++) {
		bool there = false;

		if (decile_of(said[m]) != decile || at-- > 0)
			continue;
		for (int i = 0; i < s->ntruth; i++)
			there = there || s->kn->faults[s->truth[i]].mode == m;
		c->n[decile]++;
		c->said[decile] += said[m];
		c->was[decile] += there;
		s->entered[decile] = true;
		return;
	}
}

static void weigh_and_enter(struct simulation *s, long wanted, struct calibration *c)
{
	struct su_suspects *now = su_weigh(s->kn, &s->the_case, &s->settings, NULL);

	if (now)
		enter(s, now->mode_now, wanted, c);
	su_free(now);
}

void simulate_job(struct simulation *s, struct rng *r, int answers, double noise, long wanted,
		  struct calibration *c)
{
	struct su_suspects *guess;

	s->rng = r;
	begin(s);
	guess = su_weigh(s->kn, &s->the_case, &rough, NULL);
	for (int i = 0; i < answers && guess && s->the_case.nevidence < ANSWERS_MAX; i++) {
		int check = next_check(s, guess);

		if (check == KN_NONE)
			break;
		answer(s, check, noise);
		su_free(guess);
		guess = su_weigh(s->kn, &s->the_case, &rough, NULL);
		if (guess && any_wanted(s, guess->mode_now, wanted, c))
			weigh_and_enter(s, wanted, c);
	}
	su_free(guess);
}

#define KNOWLEDGE_MOST 20000
#define JOBS_EACH 40

void calibrate_small(uint64_t seed, double noise, long wanted, struct calibration *c)
{
	struct su_settings all = { 0, 100000000, 4096 };

	for (int i = 0; i < KNOWLEDGE_MOST && calibration_least(c) < wanted; i++) {
		struct rng r = { seed + (uint64_t)i };
		struct random_size size = { 10, 8, i % 3 == 0, false, 0 };
		struct kn_knowledge *kn = random_knowledge(&r, &size);
		struct simulation *s = simulation_new(kn, false, &all);

		for (int job = 0; job < JOBS_EACH; job++)
			simulate_job(s, &r, 6, noise, wanted, c);
		simulation_free(s);
		random_free(kn);
	}
}

/* ---- the table ------------------------------------------------------------------------------------ */

long calibration_least(const struct calibration *c)
{
	long least = c->n[0];

	for (int d = 1; d < 10; d++)
		least = c->n[d] < least ? c->n[d] : least;
	return least;
}

void calibration_add(struct calibration *sum, const struct calibration *c)
{
	for (int d = 0; d < 10; d++) {
		sum->n[d] += c->n[d];
		sum->said[d] += c->said[d];
		sum->was[d] += c->was[d];
	}
}

static double points(const struct calibration *c, int d)
{
	return c->n[d] ? 100 * fabs(c->said[d] - c->was[d]) / (double)c->n[d] : 100;
}

double calibration_worst(const struct calibration *c)
{
	double worst = 0;

	for (int d = 0; d < 10; d++)
		worst = fmax(worst, points(c, d));
	return worst;
}

void calibration_print(const struct calibration *c, const char *name)
{
	for (int d = 0; d < 10; d++) {
		double n = fmax(1, (double)c->n[d]), said = c->said[d] / n;

		printf("# %s %2d-%3d %%: %6ld entries, said %5.2f %%, was %5.2f %%, %4.2f points apart "
		       "(standard error %.2f)\n", name, 10 * d, 10 * d + 10, c->n[d], 100 * said,
		       100 * c->was[d] / n, points(c, d), 100 * sqrt(said * (1 - said) / n));
	}
}

/* ---- noisy-or ------------------------------------------------------------------------------------ */

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
