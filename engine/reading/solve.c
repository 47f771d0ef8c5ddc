#include "reading/solve.h"

#include <math.h>

/* ---- forwards ----------------------------------------------------------------------------------- */

struct sums { double sum, product, high, low, conductance; };

static struct sums sums_but(const struct rd_node *n, const double *leaf, int skip)
{
	struct sums s = { 0, 1, -INFINITY, INFINITY, 0 };

	for (int i = 0; i < n->nkids; i++) {
		double x;

		if (i == skip)
			continue;
		x = rd_figure(n->kids[i], leaf);
		s.sum += x;
		s.product *= x;
		s.high = fmax(s.high, x);
		s.low = fmin(s.low, x);
		s.conductance += 1 / fmax(x, 0); /* less than a dead short there is not */
	}
	return s;
}

double rd_figure(const struct rd_node *n, const double *leaf)
{
	struct sums s;

	switch (n->op) {
	case RD_OP_LEAF: return leaf[n->leaf];
	case RD_OP_CONSTANT: return n->constant;
	case RD_OP_DIFFERENCE: return rd_figure(n->kids[0], leaf) - rd_figure(n->kids[1], leaf);
	case RD_OP_RATIO: return rd_figure(n->kids[0], leaf) / rd_figure(n->kids[1], leaf);
	default: break;
	}
	s = sums_but(n, leaf, -1);
	switch (n->op) {
	case RD_OP_PARALLEL: return s.conductance > 0 ? 1 / s.conductance : INFINITY;
	case RD_OP_PRODUCT: return s.product;
	case RD_OP_HIGHEST: return s.high;
	case RD_OP_LOWEST: return s.low;
	case RD_OP_SPREAD: return s.high - s.low;
	default: return s.sum;
	}
}

/* ---- backwards ---------------------------------------------------------------------------------- */

static int times_in(const struct rd_node *n, int leaf)
{
	int sum = n->op == RD_OP_LEAF && n->leaf == leaf;

	for (int i = 0; i < n->nkids; i++)
		sum += times_in(n->kids[i], leaf);
	return sum;
}

static bool compares_here(const struct rd_node *n)
{
	return n->op == RD_OP_HIGHEST || n->op == RD_OP_LOWEST || n->op == RD_OP_SPREAD;
}

bool rd_compares(const struct rd_node *n)
{
	bool any = compares_here(n);

	for (int i = 0; i < n->nkids; i++)
		any = any || rd_compares(n->kids[i]);
	return any;
}

/* In reach: directly under any element that compares (two ends carried further down are not
 * needed by any tree). */
static bool in_reach(const struct rd_node *n, int leaf)
{
	if (n->op == RD_OP_LEAF)
		return true;
	for (int i = 0; i < n->nkids; i++)
		if (times_in(n->kids[i], leaf))
			return compares_here(n) ? n->kids[i]->op == RD_OP_LEAF : in_reach(n->kids[i], leaf);
	return false;
}

bool rd_may_be_solved(const struct rd_node *n, int leaf)
{
	return times_in(n, leaf) == 1 && in_reach(n, leaf);
}

static const struct rd_end bottom = { -INFINITY, 0 }, top = { INFINITY, 0 };

static struct rd_event always(bool yes)
{
	return yes ? (struct rd_event){ bottom, top, false } : (struct rd_event){ top, top, false };
}

/* What the kid must be for the node to be y; falling: a bigger kid makes a smaller node. */
struct kid_for { struct rd_end y; bool falling, settled, result; };

static struct kid_for settled(bool at_most_y) { return (struct kid_for){ .settled = true, .result = at_most_y }; }

static struct kid_for moved(double to, double slope, bool falling)
{
	return (struct kid_for){ .y = { to, slope }, .falling = falling };
}

static struct kid_for kid_of_parallel(double others, struct rd_end y)
{
	double kid;

	if (y.at <= 0)
		return moved(y.at < 0 ? -INFINITY : 0, 0, false);
	if (1 / y.at <= others) /* even an open kid leaves less than y */
		return settled(true);
	kid = 1 / (1 / y.at - others);
	return moved(kid, y.slope * kid * kid / (y.at * y.at), false);
}

static struct kid_for kid_for(const struct rd_node *n, int kid, struct rd_end y, const double *leaf)
{
	double others;

	switch (n->op) {
	case RD_OP_PARALLEL:
		return kid_of_parallel(sums_but(n, leaf, kid).conductance, y);
	case RD_OP_DIFFERENCE:
		others = rd_figure(n->kids[1 - kid], leaf);
		return kid == 0 ? moved(y.at + others, y.slope, false) : moved(others - y.at, -y.slope, true);
	case RD_OP_RATIO:
		others = rd_figure(n->kids[1 - kid], leaf);
		if (kid == 0)
			return moved(y.at * others, y.slope * others, others < 0);
		if (y.at <= 0) /* positive over positive is never below 0 */
			return settled(false);
		return moved(others / y.at, -y.slope * others / (y.at * y.at), true);
	case RD_OP_PRODUCT:
		others = sums_but(n, leaf, kid).product;
		return others == 0 ? settled(y.at >= 0) : moved(y.at / others, y.slope / others, others < 0);
	default:
		others = sums_but(n, leaf, kid).sum;
		return others == INFINITY ? settled(y.at == INFINITY) : moved(y.at - others, y.slope, false);
	}
}

/* Highest, lowest and spread: the leaf beside the others. */
static struct rd_event beside(const struct rd_node *n, int kid, struct rd_end y, const double *leaf)
{
	struct sums others = sums_but(n, leaf, kid);

	if (n->op == RD_OP_HIGHEST)
		return others.high <= y.at ? (struct rd_event){ bottom, y, false } : always(false);
	if (n->op == RD_OP_LOWEST)
		return others.low <= y.at ? always(true) : (struct rd_event){ bottom, y, false };
	if (others.high - others.low > y.at)
		return always(false);
	return (struct rd_event){ { others.high - y.at, -y.slope }, { others.low + y.at, y.slope }, false };
}

static struct rd_event event(const struct rd_node *n, int leaf_no, struct rd_end y, bool at_most,
			     const double *leaf)
{
	struct kid_for k;
	int kid = 0;

	if (n->op == RD_OP_LEAF)
		return at_most ? (struct rd_event){ bottom, y, false } : (struct rd_event){ y, top, false };
	while (!times_in(n->kids[kid], leaf_no))
		kid++;
	if (compares_here(n)) {
		struct rd_event in = beside(n, kid, y, leaf);

		in.outside = !at_most;
		return in;
	}
	k = kid_for(n, kid, y, leaf);
	return k.settled ? always(k.result == at_most)
			 : event(n->kids[kid], leaf_no, k.y, at_most != k.falling, leaf);
}

struct rd_event rd_at_most(const struct rd_node *root, int leaf_no, double y, const double *leaf)
{
	return event(root, leaf_no, (struct rd_end){ y, 1 }, true, leaf);
}
