/* The distribution of what the meter shows, by quadrature.
 *
 * One random quantity is integrated in closed form: through the tree of elements "the figure is at
 * most y" becomes an interval of one leaf, given the others (solve.c; searched when the leaf is in
 * the tree more than once and the figure rises or falls with it).  It is the one that moves
 * the figure most, or the meter's own error when that is larger or no leaf can be solved.  What is
 * left is smooth and goes to Gauss quadrature, the more points the more a leaf moves the figure
 * beside what is smoothing it.  Where the solved leaf has ends (uniform, log-uniform) the meter's
 * error is cut at them, so that there is no kink inside a stretch.
 *
 * Highest, lowest and spread have kinks everywhere; they go to a rank-1 lattice of Korobov form
 * (Sloan and Joe, Lattice Methods for Multiple Integration, 1994, chapter 4), folded by the
 * baker's transformation (Hickernell 2002).  Points are always the same: so is the result.
 *
 * The meter's error is normal about the true figure x, with the standard uncertainty the
 * instrument has at x (JCGM 100). */
#include "reading/model.h"

#include <math.h>
#include <string.h>

#include "reading/gauss.h"
#include "reading/normal.h"
#include "reading/solve.h"

#define POINTS_MOST 4096   /* of all outer dimensions together */
#define ERROR_POINTS_LEAST 7 /* so that a stretch with an end and one without join smoothly */
#define SEARCH_FAR 6       /* standard deviations of a leaf that is searched */
#define FAR 5.5            /* standard deviations after which nothing is left (4e-8) */
#define METER RD_LEAVES_MAX  /* the meter's error among the random quantities */

/* Of all multipliers for these primes, those of least worst-case error P2 in three and in four
 * dimensions (computed for this purpose). */
#define LATTICE_MOST 4093
static const struct lattice { int points, multiplier; } small_lattice = { 1021, 94 },
							large_lattice = { LATTICE_MOST, 1238 };

enum wanted { BELOW, DENSITY };   /* P(shown <= y), or its slope in y */

struct outer { int leaf; const struct rd_gauss *g; };

struct model {
	const struct rd_node *root;
	const struct rd_dist *leaf; int nleaves;
	double percent, digits, repeatability; /* u(x) of the meter; half-widths */
	int solved;                 /* leaf integrated in closed form, or METER */
	struct rd_path path;        /* to that leaf */
	bool searched;              /* it is in the tree more than once: no path, a search */
	int nerror;                 /* points for the meter's error when it is not what is solved */
	const struct lattice *lattice; /* NULL: Gauss */
	int nouter; struct outer outer[RD_LEAVES_MAX + 1];
	enum wanted want;
};

/* ---- leaves ---------------------------------------------------------------------------------- */

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

static bool has_ends(const struct rd_dist *d)
{
	return d->kind == RD_DIST_UNIFORM || d->kind == RD_DIST_LOG_UNIFORM;
}

static bool is_random(const struct rd_dist *d)
{
	return (d->kind == RD_DIST_NORMAL && d->b > 0) || (has_ends(d) && d->b > d->a);
}

/* The value at p of a leaf with ends, at z standard deviations of a normal one. */
static double at_point(const struct rd_dist *d, double p_or_z)
{
	switch (d->kind) {
	case RD_DIST_NORMAL: return d->a + d->b * p_or_z;
	case RD_DIST_UNIFORM: return d->a + (d->b - d->a) * p_or_z;
	default: return d->a * pow(d->b / d->a, p_or_z);
	}
}

static double below(const struct rd_dist *d, double x)
{
	if (d->kind == RD_DIST_NORMAL)
		return normal_cdf((x - d->a) / d->b);
	if (x <= d->a || x >= d->b)
		return x >= d->b;
	if (d->kind == RD_DIST_UNIFORM)
		return (x - d->a) / (d->b - d->a);
	return log(x / d->a) / log(d->b / d->a);
}

static double density(const struct rd_dist *d, double x)
{
	if (d->kind == RD_DIST_NORMAL)
		return normal_density((x - d->a) / d->b) / d->b;
	if (x <= d->a || x >= d->b)
		return 0;
	return 1 / (d->kind == RD_DIST_UNIFORM ? d->b - d->a : x * log(d->b / d->a));
}

/* ---- the meter ------------------------------------------------------------------------------- */

static double u_at(const struct model *m, double x)
{
	double half = m->percent * fabs(x) + m->digits;

	return sqrt(half * half / 3 + m->repeatability * m->repeatability);
}

/* The true figure x that shows as y when the error is z standard deviations: x + z u(x) = y. */
static struct rd_end true_figure(const struct model *m, double y, double z)
{
	double x = y, slope = 1;

	if (m->percent <= 0)
		return (struct rd_end){ y - z * u_at(m, y), 1 };
	for (int i = 0; i < 2; i++) { /* u is nearly straight: the second step is exact enough */
		double u = u_at(m, x), du = 0;

		if (u > 0)
			du = (m->percent * fabs(x) + m->digits) * copysign(m->percent, x) / (3 * u);
		slope = 1 / (1 + z * du);
		x -= (x + z * u - y) * slope;
	}
	return (struct rd_end){ x, slope };
}

/* ---- one point of the outer leaves ----------------------------------------------------------- */

static double by_meter(const struct model *m, double y, const double *leaf)
{
	double x = rd_figure(m->root, leaf), u = u_at(m, x), z = (y - x) / u;

	if (!(u > 0))
		return m->want == BELOW && x <= y;
	return m->want == BELOW ? normal_cdf(z) : normal_density(z) / u;
}

static struct rd_event event_at_most(const struct model *m, double y, const double *leaf)
{
	const struct rd_dist *d = &m->leaf[m->solved];
	double copy[RD_LEAVES_MAX];

	if (!m->searched)
		return rd_at_most(&m->path, y, leaf);
	memcpy(copy, leaf, sizeof(double) * (size_t)m->nleaves);
	return rd_search_at_most(m->root, m->solved, at_point(d, has_ends(d) ? 0 : -SEARCH_FAR),
				 at_point(d, has_ends(d) ? 1 : SEARCH_FAR), y, copy);
}

/* The meter's error given: only the solved leaf is left. */
static double by_leaf(const struct model *m, double y, double z, const double *leaf)
{
	struct rd_end x = true_figure(m, y, z);
	struct rd_event e = event_at_most(m, x.at, leaf);
	const struct rd_dist *d = &m->leaf[m->solved];
	double p;

	if (!(e.lo.at < e.hi.at))
		return m->want == BELOW && e.outside;
	if (m->want == DENSITY) {
		p = (isinf(e.hi.at) ? 0 : density(d, e.hi.at) * e.hi.slope) -
		    (isinf(e.lo.at) ? 0 : density(d, e.lo.at) * e.lo.slope);
		return (e.outside ? -p : p) * x.slope;
	}
	p = (isinf(e.hi.at) ? 1 : below(d, e.hi.at)) - (isinf(e.lo.at) ? 0 : below(d, e.lo.at));
	return e.outside ? 1 - p : p;
}

static double by_leaf_over(const struct model *m, double y, const struct rd_gauss *g,
			   const double *leaf)
{
	double sum = 0;

	for (int i = 0; i < g->n; i++)
		sum += g->w[i] * by_leaf(m, y, g->x[i], leaf);
	return sum;
}

/* How many standard deviations of error show y when the solved leaf is at `end`. */
static double error_for(const struct model *m, double y, double *leaf, double end)
{
	double x, z;

	leaf[m->solved] = end;
	x = rd_figure(m->root, leaf);
	z = (y - x) / u_at(m, x);
	return isnan(z) ? -FAR : fmax(-FAR, fmin(FAR, z));
}

/* The solved leaf and the meter's error.  Trees that come here are monotone in the leaf: an error
 * below `lo` makes the event certain, above `hi` impossible. */
static double by_both(const struct model *m, double y, double *leaf)
{
	const struct rd_dist *d = &m->leaf[m->solved];
	const struct rd_gauss *g;
	double lo, hi, a, sum;

	if (!has_ends(d))
		return by_leaf_over(m, y, rd_gauss_normal(m->nerror), leaf);
	a = error_for(m, y, leaf, d->a);
	hi = error_for(m, y, leaf, d->b);
	lo = fmin(a, hi);
	hi = fmax(a, hi);
	if (lo <= -FAR && hi >= FAR) {
		int n = m->nerror > ERROR_POINTS_LEAST ? m->nerror : ERROR_POINTS_LEAST;

		return by_leaf_over(m, y, rd_gauss_normal(n), leaf);
	}
	sum = m->want == BELOW ? normal_cdf(lo) : 0;
	if (!(lo < hi))
		return sum;
	g = rd_gauss_uniform(8 + (int)(1.3 * (hi - lo)));
	for (int i = 0; i < g->n; i++) {
		double z = lo + (hi - lo) * g->x[i];

		sum += g->w[i] * (hi - lo) * normal_density(z) * by_leaf(m, y, z, leaf);
	}
	return sum;
}

static double given_outer(const struct model *m, double y, double *leaf)
{
	if (m->solved == METER)
		return by_meter(m, y, leaf);
	if (m->digits <= 0 && m->percent <= 0 && m->repeatability <= 0)
		return by_leaf(m, y, 0, leaf);
	return by_both(m, y, leaf);
}

/* ---- all points ------------------------------------------------------------------------------ */

static void middles(const struct rd_dist *leaves, int n, double *out)
{
	for (int i = 0; i < n; i++)
		out[i] = middle_of(&leaves[i]);
}

/* The coordinate k of n, folded in the middle: what does not end where it began looks periodic to
 * the lattice, and the error falls with the square of the number of points. */
static double folded(int k, int n)
{
	double p = (k + .5) / n;

	return p <= .5 ? 2 * p : 2 - 2 * p;
}

static const double *lattice_z(const struct lattice *l)
{
	static double small[LATTICE_MOST], large[LATTICE_MOST];
	double *z = l == &small_lattice ? small : large;

	if (z[0] == 0)
		for (int i = l->points - 1; i >= 0; i--)
			z[i] = normal_quantile(fmin(folded(i, l->points), 1 - .25 / l->points));
	return z;
}

static double over_lattice(const struct model *m, double y, double *leaf)
{
	const struct lattice *l = m->lattice;
	const double *z = lattice_z(l);
	double sum = 0;

	for (int i = 0; i < l->points; i++) {
		double error = 0;
		int k = i;

		for (int d = 0; d < m->nouter; d++) {
			int o = m->outer[d].leaf;

			if (o == METER)
				error = z[k];
			else if (m->leaf[o].kind == RD_DIST_NORMAL)
				leaf[o] = at_point(&m->leaf[o], z[k]);
			else
				leaf[o] = at_point(&m->leaf[o], folded(k, l->points));
			k = k * l->multiplier % l->points;
		}
		sum += m->solved == METER ? by_meter(m, y, leaf) : by_leaf(m, y, error, leaf);
	}
	return sum / l->points;
}

static double over_gauss(const struct model *m, double y, double *leaf, int dimension)
{
	const struct outer *o = &m->outer[dimension];
	double sum = 0;

	if (dimension == m->nouter)
		return given_outer(m, y, leaf);
	for (int i = 0; i < o->g->n; i++) {
		leaf[o->leaf] = at_point(&m->leaf[o->leaf], o->g->x[i]);
		sum += o->g->w[i] * over_gauss(m, y, leaf, dimension + 1);
	}
	return sum;
}

static double wanted(const struct model *m, double y)
{
	double leaf[RD_LEAVES_MAX];

	middles(m->leaf, m->nleaves, leaf);
	return m->lattice ? over_lattice(m, y, leaf) : over_gauss(m, y, leaf, 0);
}

static double at_most(const struct model *m, double y) { return fmax(0, fmin(1, wanted(m, y))); }

static double slope_over(const struct model *m, double y, double h)
{
	return h > 0 ? fmax(0, at_most(m, y + h) - at_most(m, y - h)) / (2 * h) : 0;
}

/* ---- setting up ------------------------------------------------------------------------------ */

/* How far one standard deviation of a leaf moves the figure. */
static double moves(const struct model *m, int leaf)
{
	const struct rd_dist *d = &m->leaf[leaf];
	double x[RD_LEAVES_MAX], a, b;

	middles(m->leaf, m->nleaves, x);
	x[leaf] = at_point(d, has_ends(d) ? .84 : 1);
	a = rd_figure(m->root, x);
	x[leaf] = at_point(d, has_ends(d) ? .16 : -1);
	b = rd_figure(m->root, x);
	return isfinite(a - b) ? fabs(a - b) / 2 : 0;
}

/* Points for a quantity that moves the figure `ratio` times as far as what smooths it: measured on
 * sums, where the result is known, for 1 % of density down to 1e-3 of its top. */
static int normal_points(double ratio)
{
	return (int)ceil(fmin(2 + 3.5 * ratio + 1.5 * ratio * ratio, 40));
}

static int points_for(const struct rd_dist *d, double ratio)
{
	if (d->kind == RD_DIST_NORMAL)
		return normal_points(ratio);
	return (int)ceil(fmin(d->kind == RD_DIST_UNIFORM ? 2 + 2.5 * ratio : 6 + 12 * ratio, 40));
}

static const struct rd_gauss *gauss_for(const struct rd_dist *d, int n)
{
	return d->kind == RD_DIST_NORMAL ? rd_gauss_normal(n) : rd_gauss_uniform(n);
}

/* As many points as wanted, fewer where all dimensions together would be too many. */
static void share_points(struct model *m, int *want)
{
	for (;;) {
		double product = 1;
		int most = 0;

		for (int i = 0; i < m->nouter; i++) {
			product *= want[i];
			most = want[i] > want[most] ? i : most;
		}
		if (product <= POINTS_MOST || want[most] <= 2)
			break;
		want[most]--;
	}
	for (int i = 0; i < m->nouter; i++)
		m->outer[i].g = gauss_for(&m->leaf[m->outer[i].leaf], want[i]);
}

/* Does the figure rise or fall all the way with this leaf, the others in their middle? */
static bool monotone(const struct model *m, int leaf)
{
	const struct rd_dist *d = &m->leaf[leaf];
	double x[RD_LEAVES_MAX], before = NAN;
	int rises = 0, falls = 0;

	middles(m->leaf, m->nleaves, x);
	for (int i = 0; i <= 12; i++) {
		double y;

		x[leaf] = at_point(d, has_ends(d) ? i / 12.0 : SEARCH_FAR * (i - 6) / 6.0);
		y = rd_figure(m->root, x);
		if (!isfinite(y))
			return false;
		rises += y > before;
		falls += y < before;
		before = y;
	}
	return rises == 12 || falls == 12;
}

/* What is integrated in closed form, and how far it moves the figure.  A normal leaf smooths
 * better than one with ends, so it is taken though it moves up to four times less. */
static double choose_solved(struct model *m, const double *by, double u)
{
	double most = u, score_most = 4 * u;
	struct rd_path path = { 0 };

	m->solved = METER;
	for (int i = 0; i < m->nleaves; i++) {
		double score = by[i] * (has_ends(&m->leaf[i]) ? 1 : 4);
		bool straight, searched;

		if (score <= score_most)
			continue;
		straight = rd_path_to(m->root, i, &path);
		searched = !straight && !m->lattice && monotone(m, i);
		if (straight || searched) {
			m->searched = searched;
			score_most = score;
			most = by[i];
			m->solved = i;
			m->path = path;
		}
	}
	if (m->lattice && u > .1 * most) { /* the meter's error smooths all kinks */
		m->solved = METER;
		most = u;
	}
	return most;
}

/* How wide the closed-form part and the meter's error smooth what is left. */
static double smoothing(const struct model *m, double most, double u)
{
	if (m->solved == METER)
		return u;
	return has_ends(&m->leaf[m->solved]) ? hypot(.3 * most, u) : hypot(most, u);
}

/* Gauss points for each outer leaf. Ends of the solved leaf leave kinks: no few points there. */
static void choose_points(struct model *m, const double *by, double smooth)
{
	bool ends = m->solved != METER && has_ends(&m->leaf[m->solved]);
	int least = !ends ? 1 : m->nouter > 1 ? 12 : 24, want[RD_LEAVES_MAX] = { 0 };

	for (int i = 0; i < m->nouter; i++) {
		int leaf = m->outer[i].leaf;

		want[i] = points_for(&m->leaf[leaf], smooth > 0 ? by[leaf] / smooth : 10);
		want[i] = want[i] < least ? least : want[i];
	}
	share_points(m, want);
}

static void set_up(struct model *m)
{
	double by[RD_LEAVES_MAX], u, most;

	u = u_at(m, rd_model_middle(m->root, m->leaf, m->nleaves));
	for (int i = 0; i < m->nleaves; i++)
		by[i] = is_random(&m->leaf[i]) ? moves(m, i) : 0;
	m->lattice = rd_compares(m->root) ? &large_lattice : NULL;
	most = choose_solved(m, by, u);
	for (int i = 0; i < m->nleaves; i++)
		if (i != m->solved && is_random(&m->leaf[i]))
			m->outer[m->nouter++].leaf = i;
	if (!m->lattice) {
		m->nerror = m->solved == METER ? 1 : normal_points(u / most);
		choose_points(m, by, smoothing(m, most, u));
		return;
	}
	if (m->solved != METER && u > 0)
		m->outer[m->nouter++].leaf = METER;
	if (m->nouter <= 3)
		m->lattice = &small_lattice;
}

static struct model model_of(const struct rd_node *root, const struct rd_dist *leaves, int nleaves,
			     const struct rd_meter *meter)
{
	struct model m = { .root = root, .leaf = leaves, .nleaves = nleaves };

	if (meter)
		m.repeatability = meter->repeatability;
	if (meter && meter->instrument) {
		m.percent = meter->instrument->percent / 100;
		m.digits = meter->instrument->digits * meter->instrument->least_count;
	}
	set_up(&m);
	return m;
}

/* ---- the doors ------------------------------------------------------------------------------- */

double rd_model_middle(const struct rd_node *root, const struct rd_dist *leaves, int nleaves)
{
	double x[RD_LEAVES_MAX], y;

	middles(leaves, nleaves, x);
	y = rd_figure(root, x);
	return isnan(y) ? INFINITY : y;
}

/* Open whatever the random leaves are: opens and shorts alone decide. */
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
	m = model_of(root, leaves, nleaves, meter);
	return 1 - at_most(&m, meter->range);
}

double rd_model_short(const struct rd_node *root, const struct rd_dist *leaves, int nleaves,
		      const struct rd_meter *meter)
{
	struct model m;

	if (!meter || meter->short_below <= 0 || certainly_open(root, leaves, nleaves))
		return 0;
	m = model_of(root, leaves, nleaves, meter);
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
	m = model_of(root, leaves, nleaves, meter);
	return fmax(0, (isinf(high) ? 1 : at_most(&m, high)) - (isinf(low) ? 0 : at_most(&m, low)));
}

double rd_model_likelihood(const struct rd_node *root, const struct rd_dist *leaves, int nleaves,
			   const struct rd_meter *meter, enum rd_kind kind, double value, double u)
{
	const struct rd_meter known = { NULL, u, INFINITY, 0 };
	struct model m;

	if (kind == RD_OPEN)
		return rd_model_open(root, leaves, nleaves, meter);
	if (kind == RD_SHORT)
		return rd_model_short(root, leaves, nleaves, meter);
	if (certainly_open(root, leaves, nleaves) || (meter && value > meter->range))
		return 0;
	m = model_of(root, leaves, nleaves, u > 0 ? &known : meter);
	/* Part of the density may sit where other leaves meet, unseen by the solved one: a slope. */
	if (m.lattice && m.solved != METER)
		return slope_over(&m, value, fmax(.5 * u_at(&m, value), 1e-6 * fabs(value)));
	m.want = DENSITY;
	return fmax(0, wanted(&m, value));
}
