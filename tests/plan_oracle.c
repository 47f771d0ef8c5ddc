#include "plan_oracle.h"

#include <math.h>
#include <string.h>

#include "base/mem.h"

void po_random(struct rng *r, int faults, int checks, int accesses, double noise, struct po_problem *q)
{
	double sum = 0;

	memset(q, 0, sizeof *q);
	q->faults = faults;
	q->checks = checks;
	q->accesses = accesses;
	for (int f = 0; f < faults; f++) {
		sum += q->prior[f] = -log(1 - rng_real(r));
		q->repair[f] = 2 * pow(60, rng_real(r));
		q->repair_access[f] = rng_below(r, accesses);
	}
	for (int f = 0; f < faults; f++)
		q->prior[f] /= sum;
	for (int a = 1; a < accesses; a++)
		q->open[a] = 5 + 55 * rng_real(r);
	for (int t = 0; t < checks; t++) {
		q->check[t] = 1 + 19 * rng_real(r);
		q->check_access[t] = rng_below(r, accesses);
		for (int f = 0; f < faults; f++) {
			double error = noise * rng_real(r);

			q->yes[t][f] = rng_below(r, 2) ? 1 - error : error;
		}
	}
}

/* ---- states ------------------------------------------------------------------------------------ */

struct state { int answer[PO_CHECKS]; unsigned done, open; };  /* answer: 0 unknown, 1 yes, 2 no */

static size_t index_of(const struct po_problem *q, const struct state *s)
{
	size_t i = 0;

	for (int t = 0; t < q->checks; t++)
		i = i * 3 + (size_t)s->answer[t];
	return (i << q->faults | s->done) << q->accesses | s->open;
}

static size_t states(const struct po_problem *q)
{
	return (size_t)pow(3, q->checks) << q->faults << q->accesses;
}

/* Weights of the faults not yet cleared, normalised; their number. */
static int weights(const struct po_problem *q, const struct state *s, double *w)
{
	double sum = 0;
	int n = 0;

	for (int f = 0; f < q->faults; f++) {
		w[f] = s->done >> f & 1 ? 0 : q->prior[f];
		for (int t = 0; t < q->checks; t++)
			if (s->answer[t])
				w[f] *= s->answer[t] == 1 ? q->yes[t][f] : 1 - q->yes[t][f];
		sum += w[f];
		n += w[f] > 0;
	}
	for (int f = 0; f < q->faults; f++)
		w[f] = sum > 0 ? w[f] / sum : 0;
	return sum > 0 ? n : 0;
}

static double opening(const struct po_problem *q, unsigned open, unsigned wanted)
{
	double cost = 0;

	for (int a = 1; a < q->accesses; a++)
		if ((wanted >> a & 1) && !(open >> a & 1))
			cost += q->open[a];
	return cost;
}

static double yes_share(const struct po_problem *q, const double *w, int t)
{
	double p = 0;

	for (int f = 0; f < q->faults; f++)
		p += w[f] * q->yes[t][f];
	return p;
}

/* Cost of a set of remedies now; the state after them, tried and still wrong, and its probability. */
static double do_remedies(const struct po_problem *q, const struct state *s, const double *w,
			  unsigned set, struct state *after, double *left)
{
	unsigned wanted = 0;
	double cost = 0;

	*left = 1;
	for (int f = 0; f < q->faults; f++)
		if (set >> f & 1) {
			cost += q->repair[f];
			wanted |= 1u << q->repair_access[f];
			*left -= w[f];
		}
	*after = *s;
	after->done |= set;
	after->open = 1;
	return cost + opening(q, s->open, wanted);
}

static double do_check(const struct po_problem *q, const struct state *s, int t, struct state *after)
{
	*after = *s;
	after->open |= 1u << q->check_access[t];
	return q->check[t] + opening(q, s->open, 1u << q->check_access[t]);
}

/* ---- the optimum -------------------------------------------------------------------------------- */

struct solving { const struct po_problem *q; double *value; enum po_rule rule; };

static double best(struct solving *k, const struct state *s)
{
	double *kept = &k->value[index_of(k->q, s)], w[PO_FAULTS], value = INFINITY;
	struct state after;
	int n;

	if (!isnan(*kept))
		return *kept;
	n = weights(k->q, s, w);
	if (n == 0)
		return *kept = 0;
	for (int t = 0; t < k->q->checks && n > 1; t++) {
		double cost, p = yes_share(k->q, w, t);

		if (s->answer[t])
			continue;
		cost = do_check(k->q, s, t, &after);
		after.answer[t] = 1;
		cost += p > 0 ? p * best(k, &after) : 0;
		after.answer[t] = 2;
		cost += p < 1 ? (1 - p) * best(k, &after) : 0;
		value = fmin(value, cost);
	}
	for (unsigned set = 1; set < 1u << k->q->faults; set++) {
		double left, cost;

		if (set & s->done)
			continue;
		cost = do_remedies(k->q, s, w, set, &after, &left);
		value = fmin(value, cost + (left > 1e-12 ? left * best(k, &after) : 0));
	}
	return *kept = value;
}

static struct solving start(const struct po_problem *q, enum po_rule rule)
{
	struct solving k = { q, mem_array(states(q), sizeof(double)), rule };

	for (size_t i = 0; i < states(q); i++)
		k.value[i] = NAN;
	return k;
}

double po_optimum(const struct po_problem *q)
{
	struct solving k = start(q, PO_PLANNER);
	struct state first = { .open = 1 };
	double value = best(&k, &first);

	mem_free(k.value);
	return value;
}

/* ---- rules ---------------------------------------------------------------------------------------- */

struct chosen { int check; unsigned set; };  /* check -1: the set of remedies */

static void row_of(void *about, const struct pl_check_option *c, const struct pl_set *s, double *out)
{
	const struct po_problem *q = about;

	out[0] = s->n ? q->yes[c->check][s->fault[0]] : .5;
	out[1] = 1 - out[0];
}

/* The same limits as the advice of a job. */
static void make_problem(struct pl_problem *p, struct pl_belief *b, const struct po_problem *q,
			 const struct state *s, const double *w, bool blind)
{
	pl_problem_start(p);
	pl_limits(p);
	p->nfaults = q->faults;
	p->hand_over = 1e5;
	p->row = row_of;
	p->about = (void *)(uintptr_t)q;
	p->naccesses = q->accesses;
	p->access = arena_array(p->arena, PO_ACCESSES, sizeof *p->access);
	for (int a = 0; a < q->accesses; a++)
		p->access[a] = (struct pl_access){ a ? 0 : -1, blind ? 0 : q->open[a], a == 0, 1u | 1u << a };
	p->check = arena_array(p->arena, PO_CHECKS, sizeof *p->check);
	for (int t = 0; t < q->checks; t++)
		if (!s->answer[t])
			p->check[p->nchecks++] = (struct pl_check_option){ .check = t, .place = -1,
				.cost = q->check[t], .access = q->check_access[t], .ncells = 2 };
	p->remedy = arena_array(p->arena, PO_FAULTS, sizeof *p->remedy);
	for (int f = 0; f < q->faults; f++) {
		struct pl_remedy_option *r = &p->remedy[p->nremedies];

		if (w[f] <= 0)
			continue;
		*r = (struct pl_remedy_option){ f, -1, q->repair[f], q->repair_access[f], 1,
			arena_array(p->arena, 1, sizeof(struct pl_clear)) };
		r->clears[0] = (struct pl_clear){ f, 1 };
		p->nremedies++;
		pl_belief_add(b, pl_set_of(p, &f, 1), w[f]);
	}
}

static struct chosen by_planner(const struct po_problem *q, const struct state *s, const double *w,
				bool blind)
{
	struct pl_belief b = { 0 };
	struct pl_problem p;
	struct pl_choice c;
	struct chosen out = { -1, 0 };
	double base;

	make_problem(&p, &b, q, s, w, blind);
	if (pl_first_steps(&p, &b, s->open, &c, 1, &base) == 1 && c.check)
		out.check = p.check[c.option].check;
	else
		for (int i = 0; i < c.group.n; i++)
			out.set |= 1u << p.remedy[c.group.remedy[i]].remedy;
	pl_belief_free(&b);
	pl_problem_free(&p);
	return out;
}

/* Most information per minute, access included, until one fault has .8; then chance over cost. */
static struct chosen by_gain(const struct po_problem *q, const struct state *s, const double *w)
{
	struct chosen out = { -1, 0 };
	double most = 0, ratio = -1;
	int sure = 0;

	for (int f = 0; f < q->faults; f++)
		sure = w[f] > w[sure] ? f : sure;
	for (int t = 0; t < q->checks && w[sure] < .8; t++) {
		double p = yes_share(q, w, t), bits = 0;

		if (s->answer[t])
			continue;
		for (int f = 0; f < q->faults; f++) {
			double y = q->yes[t][f];

			if (w[f] > 0 && y > 0)
				bits += w[f] * y * log2(y / p);
			if (w[f] > 0 && y < 1)
				bits += w[f] * (1 - y) * log2((1 - y) / (1 - p));
		}
		bits /= q->check[t] + opening(q, s->open, 1u << q->check_access[t]);
		if (bits > most) {
			most = bits;
			out.check = t;
		}
	}
	if (out.check >= 0 && most > 1e-9)
		return out;
	out.check = -1;
	for (int f = 0; f < q->faults; f++)
		if (w[f] / q->repair[f] > ratio) {
			ratio = w[f] / q->repair[f];
			out.set = 1u << f;
		}
	return out;
}

static double follow(struct solving *k, const struct state *s)
{
	double *kept = &k->value[index_of(k->q, s)], w[PO_FAULTS], cost, left;
	struct state after;
	struct chosen c;

	if (!isnan(*kept))
		return *kept;
	if (weights(k->q, s, w) == 0)
		return *kept = 0;
	c = k->rule == PO_GAIN ? by_gain(k->q, s, w) : by_planner(k->q, s, w, k->rule == PO_BLIND);
	if (c.check < 0) {
		cost = do_remedies(k->q, s, w, c.set, &after, &left);
		return *kept = cost + (left > 1e-12 ? left * follow(k, &after) : 0);
	}
	left = yes_share(k->q, w, c.check);
	cost = do_check(k->q, s, c.check, &after);
	after.answer[c.check] = 1;
	cost += left > 0 ? left * follow(k, &after) : 0;
	after.answer[c.check] = 2;
	cost += left < 1 ? (1 - left) * follow(k, &after) : 0;
	return *kept = cost;
}

double po_cost(const struct po_problem *q, enum po_rule rule)
{
	struct solving k = start(q, rule);
	struct state first = { .open = 1 };
	double value = follow(&k, &first);

	mem_free(k.value);
	return value;
}

void po_planning(const struct po_problem *q, struct pl_problem *p, struct pl_belief *b)
{
	struct state first = { .open = 1 };
	double w[PO_FAULTS];

	weights(q, &first, w);
	make_problem(p, b, q, &first, w, false);
}
