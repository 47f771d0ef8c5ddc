/* The distribution of what the meter shows, by quadrature.
 *
 * One random quantity is integrated in closed form: through the tree of elements the event "the
 * root is at most y" becomes an interval of one leaf, given the others (every element can be
 * solved for any one of its kids).  The others, and the meter's own uncertainty, are integrated
 * over a rank-1 lattice of fixed points: the same points always, so the same number on every
 * machine.  The closed-form quantity is the one that moves the figure most, so what is left to the
 * lattice is smooth.  Density is the slope of the distribution over a tenth of the uncertainty.
 *
 * Fixed lattice: generator of Korobov form, modulus 1021 (prime) and multiplier 76, as in the
 * tables of good lattice points (Sloan and Joe, Lattice Methods for Multiple Integration, 1994,
 * for the idea; the multiplier was chosen here by trying, tests/test_reading_model.c measures it). */
#include "reading/model.h"

#include <math.h>

#include "reading/normal.h"

#define POINTS 1021
#define MULTIPLIER 76
#define NOISE RD_LEAVES_MAX   /* stands for the meter among the random quantities */
#define RANDOM_MAX (RD_LEAVES_MAX + 1)

struct interval { double lo, hi; bool outside; };  /* lo < x <= hi, or its complement */

struct model {
	const struct rd_node *root;
	const struct rd_dist *leaf; int nleaves;
	double u;                   /* of the meter; 0: a perfect one */
	int solved;                 /* leaf integrated in closed form, or NOISE */
	int nrandom, random[RANDOM_MAX]; /* the others */
};

/* ---- leaves ----------------------------------------------------------------------------------- */

static double middle_of(const struct rd_dist *d)
{
	switch (d->kind) {
	case RD_DIST_UNIFORM: return (d->a + d->b) / 2;
	case RD_DIST_LOG_UNIFORM: return sqrt(d->a * d->b);
	case RD_DIST_OPEN: return INFINITY;
	case RD_DIST_SHORT: return 0;
	default: return d->a;
	}
}

static bool is_random(const struct rd_dist *d)
{
	return (d->kind == RD_DIST_NORMAL && d->b > 0) ||
	       ((d->kind == RD_DIST_UNIFORM || d->kind == RD_DIST_LOG_UNIFORM) && d->b > d->a);
}

static double spread_of(const struct rd_dist *d)
{
	return d->kind == RD_DIST_NORMAL ? d->b : (d->b - d->a) / 3.5;
}

static double quantile(const struct rd_dist *d, double p, double z)
{
	switch (d->kind) {
	case RD_DIST_NORMAL: return d->a + d->b * z;
	case RD_DIST_UNIFORM: return d->a + (d->b - d->a) * p;
	case RD_DIST_LOG_UNIFORM: return d->a * pow(d->b / d->a, p);
	default: return middle_of(d);
	}
}

static double below(const struct rd_dist *d, double x)
{
	switch (d->kind) {
	case RD_DIST_NORMAL: return normal_cdf((x - d->a) / d->b);
	case RD_DIST_UNIFORM: return fmax(0, fmin(1, (x - d->a) / (d->b - d->a)));
	case RD_DIST_LOG_UNIFORM:
		return x <= d->a ? 0 : x >= d->b ? 1 : log(x / d->a) / log(d->b / d->a);
	default: return middle_of(d) <= x;
	}
}

/* ---- forwards: the figure ------------------------------------------------------------------------ */

static double figure(const struct rd_node *n, const double *leaf);

static double combine(const struct rd_node *n, const double *leaf, int skip)
{
	double sum = 0, product = 1, high = -INFINITY, low = INFINITY, conductance = 0;

	for (int i = 0; i < n->nkids; i++) {
		double x;

		if (i == skip)
			continue;
		x = figure(n->kids[i], leaf);
		sum += x;
		product *= x;
		high = fmax(high, x);
		low = fmin(low, x);
		conductance += 1 / fmax(x, 0);
	}
	switch (n->op) {
	case RD_OP_SERIES: case RD_OP_SUM: return sum;
	case RD_OP_PARALLEL: return conductance; /* of the others; the caller inverts */
	case RD_OP_PRODUCT: return product;
	case RD_OP_HIGHEST: return high;
	case RD_OP_LOWEST: return low;
	default: return high - low; /* spread */
	}
}

static double figure(const struct rd_node *n, const double *leaf)
{
	double x;

	switch (n->op) {
	case RD_OP_LEAF: return leaf[n->leaf];
	case RD_OP_CONSTANT: return n->constant;
	case RD_OP_DIFFERENCE:
		return figure(n->kids[0], leaf) - figure(n->kids[1], leaf);
	case RD_OP_RATIO:
		return figure(n->kids[0], leaf) / figure(n->kids[1], leaf);
	case RD_OP_PARALLEL:
		x = combine(n, leaf, -1);
		return x > 0 ? 1 / x : INFINITY;
	default: return combine(n, leaf, -1);
	}
}

/* ---- backwards: the event as an interval of one leaf ----------------------------------------------- */

static int count(const struct rd_node *n, int leaf)
{
	int sum = n->op == RD_OP_LEAF && n->leaf == leaf;

	for (int i = 0; i < n->nkids; i++)
		sum += count(n->kids[i], leaf);
	return sum;
}

static const struct interval never = { INFINITY, INFINITY, false };
static const struct interval always = { -INFINITY, INFINITY, false };

static struct interval up_to(double hi) { return (struct interval){ -INFINITY, hi, false }; }
static struct interval from(double lo) { return (struct interval){ lo, INFINITY, false }; }

/* An increasing or decreasing map of the kid onto the node: where does y come from? */
struct solved { double y; bool falling, settled, result; };

static struct solved solve_kid(const struct rd_node *n, int kid, double y, const double *leaf)
{
	double others;

	switch (n->op) {
	case RD_OP_SERIES: case RD_OP_SUM:
		others = combine(n, leaf, kid);
		if (others == INFINITY)
			return (struct solved){ .settled = true, .result = y == INFINITY };
		return (struct solved){ .y = y - others };
	case RD_OP_PARALLEL:
		others = combine(n, leaf, kid);
		if (y <= 0)
			return (struct solved){ .y = y < 0 ? -INFINITY : 0 };
		/* 1/y - others <= 0: even an open kid leaves less than y */
		return 1 / y <= others ? (struct solved){ .settled = true, .result = true }
				       : (struct solved){ .y = 1 / (1 / y - others) };
	case RD_OP_DIFFERENCE:
		others = figure(n->kids[1 - kid], leaf);
		return kid == 0 ? (struct solved){ .y = y + others }
				: (struct solved){ .y = others - y, .falling = true };
	case RD_OP_RATIO:
		others = figure(n->kids[1 - kid], leaf);
		if (kid == 0)
			return (struct solved){ .y = y * others, .falling = others < 0 };
		if (y <= 0) /* positive over positive: never below 0 */
			return (struct solved){ .settled = true, .result = false };
		return (struct solved){ .y = others / y, .falling = true };
	case RD_OP_PRODUCT:
		others = combine(n, leaf, kid);
		return others == 0 ? (struct solved){ .settled = true, .result = y >= 0 }
				   : (struct solved){ .y = y / others, .falling = others < 0 };
	default:
		return (struct solved){ .y = y };
	}
}

/* Highest, lowest and spread are not solved by one bound but by comparing with the others. */
static struct interval beside_others(const struct rd_node *n, int kid, double y, bool at_most,
				     const double *leaf)
{
	double high = -INFINITY, low = INFINITY;
	struct interval in;

	for (int i = 0; i < n->nkids; i++)
		if (i != kid) {
			double x = figure(n->kids[i], leaf);

			high = fmax(high, x);
			low = fmin(low, x);
		}
	if (n->op == RD_OP_HIGHEST)
		in = high <= y ? up_to(y) : never;
	else if (n->op == RD_OP_LOWEST)
		in = low <= y ? always : up_to(y);
	else
		in = high - low <= y ? (struct interval){ high - y, low + y, false } : never;
	in.outside = !at_most;
	return in;
}

/* The values of `leaf_no` for which the node is at most y (or above it). */
static struct interval event(const struct rd_node *n, int leaf_no, double y, bool at_most,
			     const double *leaf)
{
	struct solved s;
	int kid = 0;

	if (n->op == RD_OP_LEAF)
		return at_most ? up_to(y) : from(y);
	while (!count(n->kids[kid], leaf_no))
		kid++;
	if (n->op == RD_OP_HIGHEST || n->op == RD_OP_LOWEST || n->op == RD_OP_SPREAD) {
		struct interval in = beside_others(n, kid, y, at_most, leaf);
		/* the kid is a leaf or, deeper, one bound has to be carried on: both ends separately is
		 * not needed by any tree, so only leaves are solved here (see may_be_solved) */
		return in;
	}
	s = solve_kid(n, kid, y, leaf);
	if (s.settled)
		return s.result == at_most ? always : never;
	return event(n->kids[kid], leaf_no, s.y, at_most != s.falling, leaf);
}

static bool compares(const struct rd_node *n)
{
	return n->op == RD_OP_HIGHEST || n->op == RD_OP_LOWEST || n->op == RD_OP_SPREAD;
}

/* Once in the tree, and directly under any element that compares. */
static bool may_be_solved(const struct rd_node *n, int leaf)
{
	if (count(n, leaf) != 1)
		return false;
	if (n->op == RD_OP_LEAF)
		return true;
	for (int i = 0; i < n->nkids; i++)
		if (count(n->kids[i], leaf))
			return compares(n) ? n->kids[i]->op == RD_OP_LEAF
					   : may_be_solved(n->kids[i], leaf);
	return false;
}

/* ---- setting up -------------------------------------------------------------------------------------- */

static void middles(const struct rd_dist *leaves, int n, double *out)
{
	for (int i = 0; i < n; i++)
		out[i] = middle_of(&leaves[i]);
}

/* How far one leaf's standard deviation moves the figure. */
static double moves(const struct model *m, int leaf)
{
	double x[RD_LEAVES_MAX], a, b;

	middles(m->leaf, m->nleaves, x);
	x[leaf] = middle_of(&m->leaf[leaf]) + spread_of(&m->leaf[leaf]);
	a = figure(m->root, x);
	x[leaf] = middle_of(&m->leaf[leaf]) - spread_of(&m->leaf[leaf]);
	b = figure(m->root, x);
	return isfinite(a - b) ? fabs(a - b) / 2 : 0;
}

static void set_up(struct model *m, const struct rd_node *root, const struct rd_dist *leaves,
		   int nleaves, double u)
{
	double most = u;

	*m = (struct model){ .root = root, .leaf = leaves, .nleaves = nleaves, .u = u, .solved = NOISE };
	for (int i = 0; i < nleaves; i++)
		if (is_random(&leaves[i]) && may_be_solved(root, i)) {
			double by = moves(m, i);

			if (by > most) {
				most = by;
				m->solved = i;
			}
		}
	for (int i = 0; i < nleaves; i++)
		if (i != m->solved && is_random(&leaves[i]))
			m->random[m->nrandom++] = i;
	if (m->solved != NOISE && u > 0)
		m->random[m->nrandom++] = NOISE;
}

/* Normal quantiles of the lattice's coordinates, the same for every dimension. */
static const double *lattice_z(void)
{
	static double z[POINTS];

	if (z[0] == 0)
		for (int i = POINTS - 1; i >= 0; i--)
			z[i] = normal_quantile((i + .5) / POINTS);
	return z;
}

/* The i-th point: fills the random leaves, returns the meter's error. */
static double point(const struct model *m, int i, double *leaf)
{
	const double *z = lattice_z();
	long step = 1;
	double error = 0;

	for (int d = 0; d < m->nrandom; d++) {
		int k = (int)((long)i * step % POINTS);

		if (m->random[d] == NOISE)
			error = m->u * z[k];
		else
			leaf[m->random[d]] = quantile(&m->leaf[m->random[d]], (k + .5) / POINTS, z[k]);
		step = step * MULTIPLIER % POINTS;
	}
	return error;
}

static int points_of(const struct model *m) { return m->nrandom ? POINTS : 1; }

/* P(shown figure <= y); what is open counts as above. */
static double at_most(const struct model *m, double y)
{
	double leaf[RD_LEAVES_MAX], sum = 0;
	int n = points_of(m);

	middles(m->leaf, m->nleaves, leaf);
	for (int i = 0; i < n; i++) {
		double error = point(m, i, leaf);
		struct interval in;
		double p;

		if (m->solved == NOISE) {
			double x = figure(m->root, leaf);

			sum += m->u > 0 ? normal_cdf((y - x) / m->u) : x <= y;
			continue;
		}
		in = event(m->root, m->solved, y - error, true, leaf);
		p = in.lo < in.hi ? below(&m->leaf[m->solved], in.hi) - below(&m->leaf[m->solved], in.lo)
				  : 0;
		sum += in.outside ? 1 - p : p;
	}
	return sum / n;
}

/* Density at y. */
static double density(const struct model *m, double y)
{
	double leaf[RD_LEAVES_MAX], sum = 0, h;
	int n = points_of(m);

	middles(m->leaf, m->nleaves, leaf);
	if (m->solved == NOISE && m->u > 0) {
		for (int i = 0; i < n; i++) {
			point(m, i, leaf);
			sum += normal_density((y - figure(m->root, leaf)) / m->u) / m->u;
		}
		return sum / n;
	}
	h = m->u > 0 ? .1 * m->u : fmax(1e-4 * fabs(y), 1e-9);
	return fmax(0, at_most(m, y + h) - at_most(m, y - h)) / (2 * h);
}

/* ---- the doors ------------------------------------------------------------------------------------------ */

static double meter_u(const struct rd_meter *meter, double value)
{
	return meter ? rd_instrument_u(meter->instrument, isfinite(value) ? value : 0, 0,
				       meter->repeatability)
		     : 0;
}

double rd_model_middle(const struct rd_node *root, const struct rd_dist *leaves, int nleaves)
{
	double x[RD_LEAVES_MAX], y;

	middles(leaves, nleaves, x);
	y = figure(root, x);
	return isnan(y) ? INFINITY : y;
}

/* The meter's uncertainty goes with what it shows: taken where the figure usually is. */
static void usual(struct model *m, const struct rd_node *root, const struct rd_dist *leaves,
		  int nleaves, const struct rd_meter *meter)
{
	set_up(m, root, leaves, nleaves, meter_u(meter, rd_model_middle(root, leaves, nleaves)));
}

/* Is the figure open whatever the random leaves are?  Opens and shorts alone decide. */
static bool certainly_open(const struct rd_node *root, const struct rd_dist *leaves, int nleaves)
{
	return !isfinite(rd_model_middle(root, leaves, nleaves));
}

double rd_model_open(const struct rd_node *root, const struct rd_dist *leaves, int nleaves,
		     const struct rd_meter *meter)
{
	struct model m;

	if (certainly_open(root, leaves, nleaves))
		return 1;
	if (!meter || isinf(meter->range))
		return 0;
	usual(&m, root, leaves, nleaves, meter);
	return fmax(0, 1 - at_most(&m, meter->range));
}

double rd_model_short(const struct rd_node *root, const struct rd_dist *leaves, int nleaves,
		      const struct rd_meter *meter)
{
	struct model m;

	if (!meter || meter->short_below <= 0 || certainly_open(root, leaves, nleaves))
		return 0;
	usual(&m, root, leaves, nleaves, meter);
	return at_most(&m, meter->short_below);
}

double rd_model_between(const struct rd_node *root, const struct rd_dist *leaves, int nleaves,
			const struct rd_meter *meter, double low, double high)
{
	struct model m;

	if (certainly_open(root, leaves, nleaves))
		return 0;
	if (meter) {
		low = meter->short_below > 0 ? fmax(low, meter->short_below) : low;
		high = fmin(high, meter->range);
	}
	if (!(low < high))
		return 0;
	usual(&m, root, leaves, nleaves, meter);
	return fmax(0, (isinf(high) ? 1 : at_most(&m, high)) - (isinf(low) ? 0 : at_most(&m, low)));
}

double rd_model_likelihood(const struct rd_node *root, const struct rd_dist *leaves, int nleaves,
			   const struct rd_meter *meter, enum rd_kind kind, double value, double u)
{
	struct model m;

	if (kind == RD_OPEN)
		return rd_model_open(root, leaves, nleaves, meter);
	if (kind == RD_SHORT)
		return rd_model_short(root, leaves, nleaves, meter);
	if (certainly_open(root, leaves, nleaves) || (meter && value > meter->range))
		return 0;
	set_up(&m, root, leaves, nleaves, u > 0 ? u : meter_u(meter, value));
	return density(&m, value);
}
