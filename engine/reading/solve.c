#include "reading/solve.h"

#include <math.h>

/* ---- forwards -------------------------------------------------------------------------------- */

static double value_of(const struct rd_node *n, const double *leaf)
{
	return n->op == RD_OP_LEAF ? leaf[n->leaf] : rd_figure(n, leaf);
}

/* What the kids but one make together; for parallel their conductance. */
static double sum_but(const struct rd_node *n, const double *leaf, int skip)
{
	double sum = n->op == RD_OP_PRODUCT;

	for (int i = 0; i < n->nkids; i++) {
		double x;

		if (i == skip)
			continue;
		x = value_of(n->kids[i], leaf);
		if (n->op == RD_OP_PARALLEL)
			sum += 1 / fmax(x, 0); /* less than a dead short there is not */
		else if (n->op == RD_OP_PRODUCT)
			sum *= x;
		else
			sum += x;
	}
	return sum;
}

struct range { double high, low; };

static struct range range_but(const struct rd_node *n, const double *leaf, int skip)
{
	struct range r = { -INFINITY, INFINITY };

	for (int i = 0; i < n->nkids; i++)
		if (i != skip) {
			double x = value_of(n->kids[i], leaf);

			r.high = fmax(r.high, x);
			r.low = fmin(r.low, x);
		}
	return r;
}

double rd_figure(const struct rd_node *n, const double *leaf)
{
	struct range r;
	double x;

	switch (n->op) {
	case RD_OP_LEAF: return leaf[n->leaf];
	case RD_OP_CONSTANT: return n->constant;
	case RD_OP_DIFFERENCE: return value_of(n->kids[0], leaf) - value_of(n->kids[1], leaf);
	case RD_OP_RATIO: return value_of(n->kids[0], leaf) / value_of(n->kids[1], leaf);
	case RD_OP_PARALLEL:
		x = sum_but(n, leaf, -1);
		return x > 0 ? 1 / x : INFINITY;
	case RD_OP_SERIES: case RD_OP_SUM: case RD_OP_PRODUCT: return sum_but(n, leaf, -1);
	default: break;
	}
	r = range_but(n, leaf, -1);
	return n->op == RD_OP_HIGHEST ? r.high : n->op == RD_OP_LOWEST ? r.low : r.high - r.low;
}

/* ---- backwards ------------------------------------------------------------------------------- */

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

bool rd_path_to(const struct rd_node *root, int leaf, struct rd_path *out)
{
	const struct rd_node *n = root;

	out->n = 0;
	if (times_in(root, leaf) != 1)
		return false;
	while (n->op != RD_OP_LEAF) {
		int kid = 0;

		while (!times_in(n->kids[kid], leaf))
			kid++;
		if (out->n == RD_DEPTH_MAX || (compares_here(n) && n->kids[kid]->op != RD_OP_LEAF))
			return false;
		out->node[out->n] = n;
		out->kid[out->n++] = kid;
		n = n->kids[kid];
	}
	return true;
}

static const struct rd_end bottom = { -INFINITY, 0 }, top = { INFINITY, 0 };

static struct rd_event always(bool yes)
{
	return yes ? (struct rd_event){ bottom, top, false } : (struct rd_event){ top, top, false };
}

/* What the kid must be for the node to be y; falling: a bigger kid makes a smaller node. */
struct kid_for { struct rd_end y; bool falling, settled, result; };

static struct kid_for settled(bool at_most_y)
{
	return (struct kid_for){ .settled = true, .result = at_most_y };
}

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
		return kid_of_parallel(sum_but(n, leaf, kid), y);
	case RD_OP_DIFFERENCE:
		others = value_of(n->kids[1 - kid], leaf);
		return kid == 0 ? moved(y.at + others, y.slope, false)
				: moved(others - y.at, -y.slope, true);
	case RD_OP_RATIO:
		others = value_of(n->kids[1 - kid], leaf);
		if (kid == 0)
			return moved(y.at * others, y.slope * others, others < 0);
		if (y.at <= 0) /* positive over positive is never below 0 */
			return settled(false);
		return moved(others / y.at, -y.slope * others / (y.at * y.at), true);
	case RD_OP_PRODUCT:
		others = sum_but(n, leaf, kid);
		return others == 0 ? settled(y.at >= 0)
				   : moved(y.at / others, y.slope / others, others < 0);
	default:
		others = sum_but(n, leaf, kid);
		return others == INFINITY ? settled(y.at == INFINITY)
					  : moved(y.at - others, y.slope, false);
	}
}

/* Highest, lowest and spread: the leaf beside the others. */
static struct rd_event beside(const struct rd_node *n, int kid, struct rd_end y, const double *leaf)
{
	struct range others = range_but(n, leaf, kid);

	if (n->op == RD_OP_HIGHEST)
		return others.high <= y.at ? (struct rd_event){ bottom, y, false } : always(false);
	if (n->op == RD_OP_LOWEST)
		return others.low <= y.at ? always(true) : (struct rd_event){ bottom, y, false };
	if (others.high - others.low > y.at)
		return always(false);
	return (struct rd_event){ { others.high - y.at, -y.slope }, { others.low + y.at, y.slope },
				  false };
}

struct rd_event rd_at_most(const struct rd_path *path, double at, const double *leaf)
{
	struct rd_end y = { at, 1 };
	bool at_most = true;

	for (int i = 0; i < path->n; i++) {
		const struct rd_node *n = path->node[i];
		struct kid_for k;

		if (compares_here(n)) {
			struct rd_event in = beside(n, path->kid[i], y, leaf);

			in.outside = !at_most;
			return in;
		}
		k = kid_for(n, path->kid[i], y, leaf);
		if (k.settled)
			return always(k.result == at_most);
		y = k.y;
		at_most = at_most != k.falling;
	}
	return at_most ? (struct rd_event){ bottom, y, false } : (struct rd_event){ y, top, false };
}

/* ---- by searching ------------------------------------------------------------------------------- */

static double off(const struct rd_node *root, int leaf_no, double x, double y, double *leaf)
{
	leaf[leaf_no] = x;
	return rd_figure(root, leaf) - y;
}

/* Regula falsi with the Illinois rule: the end that stays has its value halved. */
static double zero_between(const struct rd_node *root, int leaf_no, double lo, double at_lo, double hi,
			   double at_hi, double y, double *leaf)
{
	double x = lo, enough = 1e-13 * fmax(fabs(lo), fabs(hi));

	for (int i = 0; i < 100 && fabs(hi - lo) > enough; i++) {
		double at_x;

		x = hi - at_hi * (hi - lo) / (at_hi - at_lo);
		at_x = off(root, leaf_no, x, y, leaf);
		if (at_x == 0)
			break;
		if ((at_x > 0) == (at_hi > 0)) {
			at_lo /= 2;
		} else {
			lo = hi;
			at_lo = at_hi;
		}
		hi = x;
		at_hi = at_x;
	}
	return x;
}

struct rd_event rd_search_at_most(const struct rd_node *root, int leaf_no, double lo, double hi, double y,
				  double *leaf)
{
	double at_lo = off(root, leaf_no, lo, y, leaf), at_hi = off(root, leaf_no, hi, y, leaf), x, h, rise;
	struct rd_end end;

	if ((at_lo <= 0) == (at_hi <= 0))
		return always(at_lo <= 0);
	x = zero_between(root, leaf_no, lo, at_lo, hi, at_hi, y, leaf);
	h = 1e-6 * fmax(fabs(x), hi - lo);
	rise = off(root, leaf_no, x + h, y, leaf) - off(root, leaf_no, x - h, y, leaf);
	end = (struct rd_end){ x, 2 * h / rise };
	return at_lo <= 0 ? (struct rd_event){ bottom, end, false } : (struct rd_event){ end, top, false };
}
