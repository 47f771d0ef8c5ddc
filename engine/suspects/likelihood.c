/* What an answer makes of the states of a compiled table: its likelihood in each, the same with one more class
 * of faults, and bounds for the search (docs/method.md 4). */
#include "suspects/compiled.h"

#include <math.h>
#include <string.h>

#include "suspects/circuit.h"

#define QUICK_BITS 11
#define QUICK ((size_t)1 << QUICK_BITS)
#define POWERS 1024                    /* remembered powers: the same few values come again and again */

/* x to the power e; exactly pow(), only remembered. */
static double power(struct su_table *t, double x, double e)
{
	struct power *p;
	uint64_t bits;

	if (e == 1)
		return x;
	if (!t->powers)
		t->powers = mem_array(POWERS, sizeof *t->powers);
	memcpy(&bits, &x, sizeof bits);
	p = &t->powers[(bits ^ bits >> 17 ^ bits >> 41) % POWERS];
	if (p->x != x || p->e != e)
		*p = (struct power){ x, e, pow(x, e) };
	return p->y;
}

static double likelihood_of_row(struct su_table *t, const double *row, const struct su_evidence *e)
{
	double sum = 0, norm = 0;

	for (int i = 0; i < t->cells.n && i < e->ncells; i++) {
		double p = power(t, row[i], e->exponent);

		norm += p;
		sum += e->share[i] * p;
	}
	return e->exponent == 1 ? sum : sum / norm;
}

/* Number + 1 of the state joined with the class. */
static uint64_t joined_number(const struct su_table *t, int state, int class_no)
{
	const code *key = t->key + (size_t)state * (size_t)t->words;
	uint64_t number = t->number[state] + 1;

	for (int i = t->first_vote[class_no]; i < t->first_vote[class_no + 1]; i++) {
		const struct vote *v = &t->votes[i];

		if (v->code > key[v->cell])
			number += t->stride[v->cell] * (uint64_t)(v->code - key[v->cell]);
	}
	return number;
}

static double finished(const struct su_table *t, double v)
{
	return t->cells.floor + (1 - t->cells.floor * t->cells.n) * v;
}

static void remember_for(struct su_table *t, const struct su_evidence *e)
{
	size_t all = 0;
	double *at;

	for (int i = 0; i < t->cells.n; i++)
		all += (size_t)t->nvalues[i];
	mem_free(t->quick);
	mem_free(t->powered[0]);
	t->quick = mem_array(QUICK, sizeof *t->quick);
	at = mem_array(all + 1, sizeof *at);
	for (int i = 0; i < t->cells.n; i++) {
		t->powered[i] = at;
		for (int k = 0; k < t->nvalues[i]; k++)
			*at++ = power(t, finished(t, t->value[i][k]), e->exponent);
	}
	t->quick_for = e;
}

/* Where the likelihood of a key is remembered. */
static struct quick *quick_place(struct su_table *t, uint64_t number, const struct su_evidence *e)
{
	if (t->quick_for != e)
		remember_for(t, e);
	return &t->quick[number * 0x9e3779b97f4a7c15u >> (64 - QUICK_BITS)];
}

static double likelihood_by_row(struct su_table *t, const code *key, const struct su_evidence *e)
{
	double row[SU_CELLS_MAX];

	su_row_of_votes(t, key, row);
	return likelihood_of_row(t, row, e);
}

/* As long as no votes have to be scaled down, a cell's share depends on its own vote alone, and only that of
 * the rest has to be raised to the exponent anew. */
static double likelihood_by_codes(struct su_table *t, const code *key, const struct su_evidence *e)
{
	int n = t->cells.n, rest = t->cells.rest;
	double sum = 0, norm = 0, said = 0, left;

	if (rest == KN_NONE || e->ncells < n)
		return likelihood_by_row(t, key, e);
	for (int i = 0; i < n; i++) {
		double at = t->powered[i][key[i]];

		if (i == rest)
			continue;
		sum += t->value[i][key[i]];
		norm += at;
		said += e->share[i] * at;
	}
	if (sum > EXPLICIT_MOST)
		return likelihood_by_row(t, key, e);
	left = finished(t, 1 - sum);
	left = e->exponent == 1 ? left : pow(left, e->exponent);
	said += e->share[rest] * left;
	return e->exponent == 1 ? said : said / (norm + left);
}

double su_table_likelihood(struct su_table *t, int state, const struct su_evidence *e)
{
	if (e->exponent <= 0)
		return 1;
	if (e->by_model) {
		const int *set = t->set + (size_t)state * (size_t)t->words;

		return pow(su_circuit_likelihood(t->kn, e, set + 1, set[0]), e->exponent);
	}
	return likelihood_of_row(t, su_table_row(t, state), e);
}

static double likelihood_of_joined(struct su_table *t, int state, int class_no, const struct su_evidence *e)
{
	code key[SU_CELLS_MAX];

	su_joined_votes(t, state, class_no, key);
	return t->numbered ? likelihood_by_codes(t, key, e) : likelihood_by_row(t, key, e);
}

double su_table_likelihood_with(struct su_table *t, int state, int class_no,
				const struct su_evidence *e)
{
	struct quick *quick;
	uint64_t number;

	if (e->exponent <= 0)
		return 1;
	if (!t->by_votes)
		return su_table_likelihood(t, su_table_join_class(t, state, class_no), e);
	if (!t->numbered)
		return likelihood_of_joined(t, state, class_no, e);
	number = joined_number(t, state, class_no);
	quick = quick_place(t, number, e);
	if (quick->number != number)
		*quick = (struct quick){ number, likelihood_of_joined(t, state, class_no, e) };
	return quick->likelihood;
}

/* The most a cell, and the least the others, can come to from here on by further joins. */
static double cell_bound(struct su_table *t, const double *most, const double *least, int n, int cell, double e)
{
	double top = power(t, most[cell], e), others = 0;

	for (int i = 0; i < n; i++)
		if (i != cell)
			others += power(t, least[i], e);
	return e == 1 ? fmin(most[cell], top / (top + others)) : top / (top + others);
}

static double votes_bound(struct su_table *t, int state, const struct su_evidence *e)
{
	const code *key = t->key + (size_t)state * (size_t)t->words;
	const struct su_cells *s = &t->cells;
	double most[SU_CELLS_MAX], least[SU_CELLS_MAX], sum_most = 0, sum_least = 0, bound = 0;

	for (int i = 0; i < s->n; i++) {
		double now = t->value[i][key[i]];

		if (i == s->rest)
			continue;
		most[i] = fmax(now, t->most[i] > s->base[i] ? t->most[i] : now);
		least[i] = key[i] >= t->first_high[i] ? now : fmin(now, t->least[i]);
		sum_most += most[i];
		sum_least += least[i];
	}
	for (int i = 0; i < s->n; i++)
		if (i != s->rest && sum_most > EXPLICIT_MOST)
			least[i] *= EXPLICIT_MOST / sum_most;
	if (s->rest != KN_NONE) {
		most[s->rest] = 1 - fmin(sum_least, EXPLICIT_MOST);
		least[s->rest] = 1 - fmin(sum_most, EXPLICIT_MOST);
	}
	for (int i = 0; i < s->n; i++) {
		most[i] = s->floor + (1 - s->floor * s->n) * most[i];
		least[i] = s->floor + (1 - s->floor * s->n) * least[i];
	}
	for (int i = 0; i < s->n && i < e->ncells; i++)
		if (e->share[i] > 0)
			bound += e->share[i] * cell_bound(t, most, least, s->n, i, e->exponent);
	return bound;
}

double su_table_bound(struct su_table *t, int state, const struct su_evidence *e)
{
	if (e->exponent <= 0)
		return 1;
	if (e->by_model)
		return pow(su_circuit_most(t->kn, e), e->exponent);
	/* Rounding must never make a bound a hair too low. */
	return t->by_votes ? fmin(1, votes_bound(t, state, e) * (1 + 1e-12)) : 1;
}

/* ---- how much one more class can raise a likelihood (docs/method.md 4) ------------------------------ */

/* The explicit values a class can take away from all cells together. */
static double most_taken(const struct su_table *t, int class_no)
{
	const code *vote = t->class_code + (size_t)class_no * (size_t)t->cells.n;
	double sum = 0;

	for (int i = 0; i < t->cells.n; i++)
		if (i != t->cells.rest && vote[i] && vote[i] < t->first_high[i])
			sum += t->cells.base[i] - t->value[i][vote[i]];
	return sum;
}

static double rise_by_votes(const struct su_table *t, int class_no, int cell)
{
	code vote = t->class_code[(size_t)class_no * (size_t)t->cells.n + (size_t)cell];
	double taken = most_taken(t, class_no), up = 1;

	if (cell == t->cells.rest)
		return finished(t, 1 - EXPLICIT_MOST + taken) / finished(t, 1 - EXPLICIT_MOST);
	if (vote && vote >= t->first_high[cell])
		up = finished(t, t->value[cell][vote]) / finished(t, t->least[cell]);
	return fmax(1, up) * (1 + taken / EXPLICIT_MOST);
}

static double rise_by_noisy_or(const struct su_table *t, int class_no, int cell)
{
	double vote = t->class_votes[(size_t)class_no * (size_t)t->cells.n + (size_t)cell];
	double base = t->cells.base[cell];

	if (cell == t->cells.rest || isnan(vote))
		return 1;
	return finished(t, base + vote * (1 - base)) / finished(t, base);
}

/* The most the sum of n powers of shares of 1, none below f, can fall by. */
static double norm_fall(int n, double f, double e)
{
	double even = pow(n, 1 - e), single = (n - 1) * pow(f, e) + pow(1 - (n - 1) * f, e);

	return even > single ? even / single : single / even;
}

double su_table_rise(const struct su_table *t, int class_no, const struct su_evidence *e)
{
	bool noisy = t->c->combine == KN_NOISY_OR && !t->c->nmodels && !su_has_gate_votes(t->c);
	double most = 1;

	if (class_no == 0 || e->exponent <= 0)
		return 1;
	if (e->by_model || !(t->by_votes || noisy) || t->cells.rest == KN_NONE)
		return INFINITY;
	for (int i = 0; i < t->cells.n && i < e->ncells; i++)
		if (e->share[i] > 0)
			most = fmax(most, noisy ? rise_by_noisy_or(t, class_no, i)
						: rise_by_votes(t, class_no, i));
	if (e->exponent != 1)
		most = pow(most, e->exponent) * norm_fall(t->cells.n, t->cells.floor, e->exponent);
	return most * (1 + 1e-9); /* rounding must never make it a hair too low */
}
