#include <math.h>
#include <string.h>

#include "plan/problem.h"

/* ---- the pool of fault sets ------------------------------------------------------------------ */

static unsigned hash_set(const int *fault, int n)
{
	unsigned h = 2166136261u;

	for (int i = 0; i < n; i++)
		h = (h ^ (unsigned)(fault[i] + 1)) * 16777619u;
	return h ^ (h >> 15);
}

static void rehash(struct pl_problem *p)
{
	mem_free(p->hash);
	p->hash_size = p->hash_size ? p->hash_size * 2 : 1024;
	p->hash = mem_array((size_t)p->hash_size, sizeof *p->hash);
	for (int s = 0; s < p->nsets; s++) {
		unsigned at = hash_set(p->set[s].fault, p->set[s].n);

		while (p->hash[at % (unsigned)p->hash_size])
			at++;
		p->hash[at % (unsigned)p->hash_size] = s + 1;
	}
}

int pl_set_of(struct pl_problem *p, const int *faults, int n)
{
	unsigned at;
	int s;

	if (n > PL_SET_FAULTS)
		n = PL_SET_FAULTS;
	if (p->nsets * 2 >= p->hash_size)
		rehash(p);
	for (at = hash_set(faults, n); (s = p->hash[at % (unsigned)p->hash_size]); at++)
		if (p->set[s - 1].n == n &&
		    (n == 0 || !memcmp(p->set[s - 1].fault, faults, sizeof(int) * (size_t)n)))
			return s - 1;
	if (p->nsets == p->sets_cap) {
		p->sets_cap = p->sets_cap ? p->sets_cap * 2 : 512;
		p->set = mem_resize_array(p->set, (size_t)p->sets_cap, sizeof *p->set);
	}
	memset(&p->set[p->nsets], 0, sizeof *p->set);
	p->set[p->nsets].n = n;
	if (n)
		memcpy(p->set[p->nsets].fault, faults, sizeof(int) * (size_t)n);
	p->hash[at % (unsigned)p->hash_size] = p->nsets + 1;
	return p->nsets++;
}

void pl_problem_start(struct pl_problem *p)
{
	memset(p, 0, sizeof *p);
	p->arena = arena_new();
	pl_set_of(p, NULL, 0);
}

void pl_problem_free(struct pl_problem *p)
{
	for (int c = 0; c < p->nchecks; c++)
		mem_free(p->check[c].rows);
	mem_free(p->set);
	mem_free(p->hash);
	arena_free(p->arena);
}

static double negative_entropy(const double *row, int n)
{
	double sum = 0;

	for (int o = 0; o < n; o++)
		if (row[o] > 0)
			sum += row[o] * log2(row[o]);
	return sum;
}

/* The row of a set, and behind its cells the sum of p log2 p. */
static const double *made_row(struct pl_problem *p, int check, int set)
{
	struct pl_check_option *c = &p->check[check];
	size_t wide = (size_t)c->ncells + 1;
	double *row;

	if (set >= c->rows_cap) {
		int cap = p->sets_cap > set ? p->sets_cap : set + 1;

		c->rows = mem_resize_array(c->rows, (size_t)cap * wide, sizeof(double));
		for (int s = c->rows_cap; s < cap; s++)
			c->rows[(size_t)s * wide] = NAN;
		c->rows_cap = cap;
	}
	row = c->rows + (size_t)set * wide;
	if (isnan(row[0])) {
		p->row(p->about, c, &p->set[set], row);
		row[c->ncells] = negative_entropy(row, c->ncells);
	}
	return row;
}

static const double *row_of(struct pl_problem *p, int check, int set)
{
	const struct pl_check_option *c = &p->check[check];
	const double *row = c->rows + (size_t)set * ((size_t)c->ncells + 1);

	return set < c->rows_cap && !isnan(*row) ? row : made_row(p, check, set);
}

const double *pl_row(struct pl_problem *p, int check, int set) { return row_of(p, check, set); }

/* ---- beliefs ----------------------------------------------------------------------------------- */

void pl_belief_add(struct pl_belief *b, int set, double w)
{
	if (!(w > 0))
		return;
	if (b->n == b->cap) {
		b->cap = b->cap ? b->cap * 2 : 64;
		b->set = mem_resize_array(b->set, (size_t)b->cap, sizeof *b->set);
		b->w = mem_resize_array(b->w, (size_t)b->cap, sizeof *b->w);
	}
	b->set[b->n] = set;
	b->w[b->n++] = w;
}

void pl_belief_free(struct pl_belief *b)
{
	mem_free(b->set);
	mem_free(b->w);
	memset(b, 0, sizeof *b);
}

void pl_belief_drop_light(struct pl_belief *b, double least)
{
	double sum = 0;
	int n = 0;

	for (int i = 0; i < b->n; i++)
		if (b->w[i] >= least) {
			b->set[n] = b->set[i];
			sum += b->w[n++] = b->w[i];
		}
	b->n = n;
	for (int i = 0; i < n; i++)
		b->w[i] /= sum;
}

void pl_belief_labels(const struct pl_problem *p, const struct pl_belief *b, double *mass)
{
	memset(mass, 0, sizeof *mass * (size_t)p->nlabels);
	for (int i = 0; i < b->n; i++) {
		const struct pl_set *s = &p->set[b->set[i]];

		for (int f = 0; f < s->n; f++) {
			bool again = false;

			for (int g = 0; g < f; g++)
				again = again || p->label[s->fault[g]] == p->label[s->fault[f]];
			mass[p->label[s->fault[f]]] += again ? 0 : b->w[i];
		}
	}
}

void pl_check_spend(struct pl_problem *p, int option)
{
	for (int i = 0; i < p->nchecks; i++)
		if (p->check[i].check == p->check[option].check)
			p->check[i].cost = INFINITY;
}

void pl_check_mark(struct pl_problem *p, int option, bool asked)
{
	for (int i = 0; i < p->nchecks; i++)
		if (p->check[i].check == p->check[option].check)
			p->check[i].asked = asked;
}

double pl_belief_uncured(const struct pl_belief *b)
{
	double sum = 0;

	for (int i = 0; i < b->n; i++)
		if (b->set[i])
			sum += b->w[i];
	return sum;
}

static void normalise(struct pl_belief *b, double sum)
{
	for (int i = 0; i < b->n; i++)
		b->w[i] /= sum;
}

double pl_belief_cell(struct pl_problem *p, const struct pl_belief *b, int check, int cell,
		      struct pl_belief *out)
{
	double sum = 0;

	out->n = 0;
	for (int i = 0; i < b->n; i++) {
		double w = b->w[i] * row_of(p, check, b->set[i])[cell];

		pl_belief_add(out, b->set[i], w);
		sum += w;
	}
	if (sum > 0)
		normalise(out, sum);
	return sum;
}

/* Every way the remedy may turn out on one set: the faults it names go with their probability. */
static void turn_out(struct pl_problem *p, const struct pl_remedy_option *r, const struct pl_set *s,
		     int at, int *left, int nleft, double w, struct pl_belief *out)
{
	if (!(w > 0))
		return;
	if (at == s->n) {
		pl_belief_add(out, pl_set_of(p, left, nleft), w);
		return;
	}
	for (int i = 0; i < r->nclears; i++)
		if (r->clears[i].fault == s->fault[at]) {
			turn_out(p, r, s, at + 1, left, nleft, w * r->clears[i].p, out);
			w *= 1 - r->clears[i].p;
		}
	left[nleft] = s->fault[at];
	turn_out(p, r, s, at + 1, left, nleft + 1, w, out);
}

static void one_repair(struct pl_problem *p, const struct pl_belief *b, int remedy,
		       struct pl_belief *out)
{
	out->n = 0;
	for (int i = 0; i < b->n; i++) {
		struct pl_set s = p->set[b->set[i]]; /* a copy: the pool may move */
		int left[PL_SET_FAULTS];

		turn_out(p, &p->remedy[remedy], &s, 0, left, 0, b->w[i], out);
	}
}

double pl_belief_repaired(struct pl_problem *p, const struct pl_belief *b, const struct pl_group *g,
			  struct pl_belief *out)
{
	struct pl_belief now = { 0 }, then = { 0 }, swap;
	double uncured;

	for (int i = 0; i < b->n; i++)
		pl_belief_add(&now, b->set[i], b->w[i]);
	for (int r = 0; r < g->n; r++) {
		one_repair(p, &now, g->remedy[r], &then);
		swap = now;
		now = then;
		then = swap;
	}
	out->n = 0;
	for (int i = 0; i < now.n; i++)
		if (now.set[i])
			pl_belief_add(out, now.set[i], now.w[i]);
	uncured = pl_belief_uncured(&now);
	if (uncured > 0)
		normalise(out, uncured);
	pl_belief_free(&now);
	pl_belief_free(&then);
	return uncured;
}

/* I = sum over sets of w sum p log p  -  sum over cells of P log P; the inner sums are kept. */
double pl_information(struct pl_problem *p, const struct pl_belief *b, int check)
{
	int n = p->check[check].ncells;
	double sum[PL_CELLS_MAX] = { 0 }, bits = 0;

	for (int i = 0; i < b->n; i++) {
		const double *row = row_of(p, check, b->set[i]);

		for (int o = 0; o < n; o++)
			sum[o] += b->w[i] * row[o];
		bits += b->w[i] * row[n];
	}
	for (int o = 0; o < n; o++)
		if (sum[o] > 0)
			bits -= sum[o] * log2(sum[o]);
	return bits;
}

/* ---- access -------------------------------------------------------------------------------------- */

double pl_open_cost(const struct pl_problem *p, uint64_t open, int access)
{
	double cost = 0;

	for (; access > 0; access = p->access[access].parent)
		if (!(open >> access & 1))
			cost += p->access[access].cost;
	return cost;
}

/* What stays open when the engine has to run: nothing that cannot, and nothing behind it. */
static uint64_t runnable(const struct pl_problem *p, uint64_t open)
{
	uint64_t out = open;

	for (int a = 1; a < p->naccesses; a++)
		for (int up = a; up > 0; up = p->access[up].parent)
			if (!p->access[up].runs)
				out &= ~((uint64_t)1 << a);
	return out;
}

uint64_t pl_after_check(const struct pl_problem *p, uint64_t open, int check)
{
	if (p->check[check].engine)
		open = runnable(p, open);
	return open | p->access[p->check[check].access].path;
}

uint64_t pl_after_remedy(const struct pl_problem *p, uint64_t open, int remedy)
{
	return runnable(p, open | p->access[p->remedy[remedy].access].path);
}

double pl_check_cost(const struct pl_problem *p, uint64_t open, int check)
{
	if (p->check[check].engine)
		open = runnable(p, open);
	return p->check[check].cost + pl_open_cost(p, open, p->check[check].access);
}

double pl_group_cost(const struct pl_problem *p, uint64_t open, const struct pl_group *g)
{
	double cost = p->handling;

	for (int i = 0; i < g->n; i++) {
		cost += pl_open_cost(p, open, p->remedy[g->remedy[i]].access) + p->remedy[g->remedy[i]].cost;
		open |= p->access[p->remedy[g->remedy[i]].access].path;
	}
	return cost;
}
