/* Telling causes apart: every check that is offered, every pair of causes. */
#include "report/apart.h"

#include <math.h>
#include <string.h>

#include "base/mem.h"
#include "plan/plan.h"
#include "suspects/table.h"

/* ---- causes --------------------------------------------------------------------------------- */

static void gather_causes(struct apart *a)
{
	const struct kn_knowledge *kn = a->kn;

	a->cause = mem_array((size_t)kn->nfaults + 1, sizeof *a->cause);
	a->cause[0] = (struct apart_cause){ KN_NONE, KN_NONE, false, 0 };
	a->ncauses = 1;
	for (int f = kn->something_else ? 1 : 0; f < kn->nfaults; f++) {
		const struct kn_fault *fault = &kn->faults[f];
		int i = 1;

		while (i < a->ncauses &&
		       (a->cause[i].mode != fault->mode || a->cause[i].all != fault->all))
			i++;
		if (i == a->ncauses)
			a->cause[a->ncauses++] =
				(struct apart_cause){ fault->mode, f, fault->all, 0 };
		a->cause[i].weight += fault->weight;
	}
}

bool apart_comparable(const struct apart *a, int i, int j)
{
	const struct kn_knowledge *kn = a->kn;

	if (i == 0 || j == 0)
		return i != j;
	if (a->cause[i].mode == a->cause[j].mode)
		return false;
	return a->cause[i].all == a->cause[j].all ||
	       kn->parts[kn->modes[a->cause[i].mode].part].kind == KN_NONE ||
	       kn->parts[kn->modes[a->cause[j].mode].part].kind == KN_NONE;
}

double apart_best(const struct apart *a, int i, int j)
{
	return a->best[i * a->ncauses + j];
}

/* ---- checks --------------------------------------------------------------------------------- */

static bool takes_part(const struct kn_check *c, enum apart_checks which)
{
	if (!c->offered || c->kind == KN_SYMPTOM || c->leads_null)
		return false;
	return which == APART_EVERY_CHECK || (c->access == 0 && c->tools == 0);
}

/* Minutes from a closed bike to a closed bike, waiting as the advice counts it. */
static double cost(const struct kn_knowledge *kn, const struct kn_check *c)
{
	return kn_open_minutes(kn, c->access) + kn_close_minutes(kn, c->access) + c->minutes +
	       pl_rates_default().waiting * c->wait;
}

/* The check at the first place: the faults that stand for their modes are there too. */
struct su_table *apart_table(const struct kn_knowledge *kn, int check)
{
	const struct kn_check *c = &kn->checks[check];

	return su_table_new(kn, check, c->per != KN_NONE && !c->compare ? 0 : KN_NONE);
}

double apart_differ(const double *p, const double *q, int n)
{
	double sum = 0;

	for (int i = 0; i < n; i++)
		sum += fabs(p[i] - q[i]);
	return sum / 2;
}

/* What every check tells apart, pair by pair; rows of checks that take no part stay NULL. */
struct sights { size_t npairs; float **by_check; };

static void add_check(struct apart *a, struct sights *s, int check)
{
	struct su_table *t = apart_table(a->kn, check);
	double *rows;
	size_t pair = 0;
	int n;

	if (!t)
		return;
	n = su_table_ncells(t);
	rows = mem_array((size_t)(a->ncauses * n), sizeof *rows);
	for (int i = 0; i < a->ncauses; i++) {
		int state = su_table_none(t);

		if (i)
			state = su_table_join(t, state, a->cause[i].fault);
		memcpy(rows + i * n, su_table_row(t, state), (size_t)n * sizeof *rows);
	}
	s->by_check[check] = mem_array(s->npairs, sizeof **s->by_check);
	for (int i = 0; i < a->ncauses; i++)
		for (int j = i + 1; j < a->ncauses; j++, pair++) {
			double d = apart_comparable(a, i, j)
					   ? apart_differ(rows + i * n, rows + j * n, n)
					   : 0;

			s->by_check[check][pair] = (float)d;
			if (d > apart_best(a, i, j))
				a->best[i * a->ncauses + j] = a->best[j * a->ncauses + i] = d;
		}
	mem_free(rows);
	su_table_free(t);
}

/* Does check d see everything check c sees, as well? */
static bool as_good(const struct sights *s, int c, int d)
{
	for (size_t i = 0; i < s->npairs; i++)
		if (s->by_check[c][i] > s->by_check[d][i])
			return false;
	return true;
}

static bool says_something(const struct sights *s, int c)
{
	for (size_t i = 0; i < s->npairs; i++)
		if (s->by_check[c][i] >= (float)APART_SAYS_SOMETHING)
			return true;
	return false;
}

/* Of two that are alike in everything the first is kept. */
static int better_than(const struct apart *a, const struct sights *s, int c)
{
	double mine = cost(a->kn, &a->kn->checks[c]);

	if (!says_something(s, c))
		return c;
	for (int d = 0; d < a->kn->nchecks; d++) {
		double its;

		if (d == c || !s->by_check[d])
			continue;
		its = cost(a->kn, &a->kn->checks[d]);
		if (its > mine || !as_good(s, c, d))
			continue;
		if (d < c || its < mine || !as_good(s, d, c))
			return d;
	}
	return KN_NONE;
}

void apart_make(struct apart *a, const struct kn_knowledge *kn, enum apart_checks which)
{
	struct sights s;
	size_t n;

	memset(a, 0, sizeof *a);
	a->kn = kn;
	gather_causes(a);
	n = (size_t)a->ncauses;
	a->best = mem_array(n * n, sizeof *a->best);
	a->better = mem_array((size_t)kn->nchecks + 1, sizeof *a->better);
	s.npairs = n * (n - 1) / 2;
	s.by_check = mem_array((size_t)kn->nchecks + 1, sizeof *s.by_check);
	for (int c = 0; c < kn->nchecks; c++)
		if (takes_part(&kn->checks[c], which))
			add_check(a, &s, c);
	for (int c = 0; c < kn->nchecks; c++)
		a->better[c] = s.by_check[c] ? better_than(a, &s, c) : KN_NONE;
	for (int c = 0; c < kn->nchecks; c++)
		mem_free(s.by_check[c]);
	mem_free(s.by_check);
}

void apart_free(struct apart *a)
{
	mem_free(a->cause);
	mem_free(a->best);
	mem_free(a->better);
}

/* ---- figures -------------------------------------------------------------------------------- */

/* P(symptom | cause) when a branch of the symptom lists its mode, else 0. */
static double gives(const struct apart *a, const struct kn_check *symptom, int i)
{
	double p = symptom->outcomes[0].vote ? symptom->outcomes[0].vote[a->cause[i].fault] : NAN;

	for (int b = 0; b < symptom->nbranches; b++)
		for (int m = 0; m < symptom->branches[b].nmodes; m++)
			if (symptom->branches[b].modes[m] == a->cause[i].mode)
				return isnan(p) ? 0 : p;
	return 0;
}

void apart_figures(const struct apart *a, int symptom, struct apart_figures *out)
{
	const struct kn_check *c = &a->kn->checks[symptom];
	double *share = mem_array((size_t)a->ncauses, sizeof *share), whole = 0;

	memset(out, 0, sizeof *out);
	for (int i = 1; i < a->ncauses; i++)
		whole += share[i] = a->cause[i].weight * gives(a, c, i);
	for (int i = 1; i < a->ncauses; i++) {
		int group = 1;

		if (!(share[i] > 0))
			continue;
		out->ncauses++;
		for (int j = 1; j < a->ncauses; j++)
			if (share[j] > 0 && j != i && apart_comparable(a, i, j) &&
			    apart_best(a, i, j) < APART_ENOUGH)
				group++;
		if (apart_best(a, 0, i) >= APART_ENOUGH)
			out->detected += share[i] / whole;
		out->to_one += group == 1 ? share[i] / whole : 0;
		out->to_three += group <= 3 ? share[i] / whole : 0;
		if (group > out->largest)
			out->largest = group;
	}
	mem_free(share);
}

static void figures_of(const struct kn_knowledge *kn, struct text *out)
{
	struct apart all, bare;

	apart_make(&all, kn, APART_EVERY_CHECK);
	apart_make(&bare, kn, APART_BARE_HANDS);
	text_addf(out, "\n## %s: %s\n\n", kn->machine, kn->machine_title);
	text_add(out, "| Symptom | Causes | Bare hands: detected | to one | to three | "
		      "Every check: detected | to one | to three | Largest group |\n"
		      "| --- | --- | --- | --- | --- | --- | --- | --- | --- |\n");
	for (int s = 0; s < kn->nsymptoms; s++) {
		struct apart_figures a, b;

		apart_figures(&all, kn->symptoms[s], &a);
		apart_figures(&bare, kn->symptoms[s], &b);
		text_addf(out,
			  "| `%s` | %d | %.0f %% | %.0f %% | %.0f %% | %.0f %% | %.0f %% | %.0f %% "
			  "| %d |\n",
			  kn->checks[kn->symptoms[s]].id, a.ncauses, 100 * b.detected,
			  100 * b.to_one, 100 * b.to_three, 100 * a.detected, 100 * a.to_one,
			  100 * a.to_three, a.largest);
	}
	apart_free(&all);
	apart_free(&bare);
}

int report_figures(const char *dir, struct text *out, struct hs_err *err)
{
	struct kn_machine_title *m;
	int n = kn_machines(dir, &m, err), done = 0;

	for (int i = 0; i < n; i++) {
		struct kn_knowledge *kn = kn_load(dir, m[i].id, err);

		if (!kn)
			break;
		figures_of(kn, out);
		kn_free(kn);
		done++;
	}
	if (n >= 0)
		mem_free(m);
	return n >= 0 && done == n ? 0 : -1;
}
