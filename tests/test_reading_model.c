/* Models of the reading against 10^7-sample Monte Carlo values.
 *
 * The reference values were made once with OpenTURNS 1.20 of Debian 12 (python3-openturns 1.20-9;
 * seed beside each circuit, leaves drawn from ot.Normal, ot.Uniform and ot.LogUniform, noise from
 * ot.Normal with the standard deviation JCGM 100 gives for the figure of that sample) and numpy
 * 1.24.2 for the arithmetic of the circuit, and frozen here.  A share of p has a sampling error of
 * sqrt(p / 10^7): 0.3 % at p = 0.01, 1 % at 1e-3.  Circuits and figures are our own. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "reading/model.h"

#define COUNT(a) (sizeof(a) / sizeof *(a))
#define BINS 6
#define WITHIN .02          /* relative, for shares of 1e-3 or more */

/* ---- trees ----------------------------------------------------------------------------------- */

#define LEAF(n) (&(const struct rd_node){ RD_OP_LEAF, n, 0, 0, NULL })
#define KIDS(...) ((const struct rd_node *const[]){ __VA_ARGS__ })
#define NODE(op, ...) (&(const struct rd_node){ op, 0, 0, \
	(int)(sizeof KIDS(__VA_ARGS__) / sizeof(struct rd_node *)), KIDS(__VA_ARGS__) })
#define FIXED(x) (&(const struct rd_node){ RD_OP_CONSTANT, 0, x, 0, NULL })
#define NORMAL(m, s) { RD_DIST_NORMAL, m, s }
#define UNIFORM(a, b) { RD_DIST_UNIFORM, a, b }
#define LOGUNI(a, b) { RD_DIST_LOG_UNIFORM, a, b }

struct circuit {
	const char *name;
	int seed;
	const struct rd_node *root;
	int nleaves; struct rd_dist leaf[5];
	struct rd_instrument instrument;
	double repeatability, range, short_below;
	int nbins; double edge[BINS + 1], share[BINS];
	double open, closed;
};

static const struct circuit circuits[] = {
	{ "two heaters on one pin", 1, NODE(RD_OP_PARALLEL, LEAF(0), LEAF(1)),
	  2, { NORMAL(12, .6), NORMAL(12, .6) }, { "", "", .5, 2, .01 }, .1, INFINITY, 0,
	  5, { 5.25, 5.6, 5.8, 6.0, 6.2, 6.75 },
	  { .0477852, .1594429, .3046926, .2968842, .1896401 }, 0, 0 },
	{ "three heaters on one pin", 2, NODE(RD_OP_PARALLEL, LEAF(0), LEAF(1), LEAF(2)),
	  3, { NORMAL(12, .6), NORMAL(12, .6), NORMAL(12, .6) }, { "", "", 1.5, 5, .1 }, .1, INFINITY, 0,
	  4, { 3.0, 3.5, 4.0, 4.5, 5.0 }, { .0811586, .4239541, .4138406, .0758697 }, 0, 0 },
	{ "four heaters, one gone high", 3, NODE(RD_OP_PARALLEL, LEAF(0), LEAF(1), LEAF(2), LEAF(3)),
	  4, { NORMAL(12, .6), NORMAL(12, .6), NORMAL(12, .6), LOGUNI(20, 200) },
	  { "", "", .5, 2, .01 }, .1, INFINITY, 0, 5, { 3.0, 3.4, 3.6, 3.8, 4.0, 4.3 },
	  { .0913805, .2105092, .3290077, .2813090, .0866014 }, 0, 0 },
	{ "secondary with two caps", 4, NODE(RD_OP_SERIES, LEAF(0), LEAF(1), LEAF(2)),
	  3, { NORMAL(14500, 600), NORMAL(5000, 250), UNIFORM(4250, 5750) },
	  { "", "", 1.5, 3, 10 }, 50, 30000, 0, 4, { 21500, 23500, 24500, 25500, 27500 },
	  { .1112729, .3893858, .3875501, .1116487 }, 0, 0 },
	/* the signal sits on the ground's own drop; its box divides by the supply: two leaves twice */
	{ "sensor with a bad ground", 5,
	  NODE(RD_OP_RATIO, NODE(RD_OP_SUM, LEAF(2), NODE(RD_OP_PRODUCT, LEAF(0),
	       NODE(RD_OP_DIFFERENCE, LEAF(1), LEAF(2)))), LEAF(1)),
	  3, { UNIFORM(.225, .25), NORMAL(5.0, .03), LOGUNI(.05, 1.5) },
	  { "", "", .5, 2, .001 }, .004, INFINITY, 0, 5, { .22, .25, .28, .32, .4, .5 },
	  { .1483965, .3505071, .1995895, .2005289, .1009738 }, 0, 0 },
	{ "star stator through leads", 6, NODE(RD_OP_SERIES, LEAF(0), LEAF(1), LEAF(2)),
	  3, { NORMAL(.22, .012), NORMAL(.22, .012), UNIFORM(.05, .2) }, { "", "", 1, 2, .01 }, .05,
	  INFINITY, 0, 5, { .40, .5, .55, .6, .65, .8 },
	  { .1733834, .2369217, .2689014, .1984665, .1144851 }, 0, 0 },
	{ "solenoid behind a corroded connector", 7, NODE(RD_OP_SERIES, LEAF(0), LEAF(1)),
	  2, { NORMAL(30, 1.5), LOGUNI(2, 2000) }, { "", "", 1.5, 5, .1 }, .1, 1000, 0,
	  6, { 25, 35, 40, 60, 150, 500, 1000 },
	  { .1254498, .1055481, .1607537, .2008158, .1977090, .1050482 }, .1046754, 0 },
	{ "voltage drops in a row", 8, NODE(RD_OP_SUM, LEAF(0), LEAF(1), LEAF(2), LEAF(3)),
	  4, { UNIFORM(.02, .1), LOGUNI(.05, .5), NORMAL(.08, .02), UNIFORM(0, .06) },
	  { "", "", 1.5, 2, .01 }, .02, INFINITY, 0, 4, { .15, .25, .35, .5, .7 },
	  { .1979935, .3392620, .2726623, .1783686 }, 0, 0 },
	{ "lowest header over highest", 9,
	  NODE(RD_OP_RATIO, NODE(RD_OP_LOWEST, LEAF(0), LEAF(1)), NODE(RD_OP_HIGHEST, LEAF(0), LEAF(1))),
	  2, { NORMAL(80, 4), UNIFORM(20, 60) }, { "", "", 0, 2, .005 }, .03, INFINITY, 0,
	  5, { .25, .4, .5, .6, .75, .9 },
	  { .2738406, .1998838, .1998407, .2613763, .0386032 }, 0, 0 },
	{ "spread of four vacuums", 10, NODE(RD_OP_SPREAD, LEAF(0), LEAF(1), LEAF(2), LEAF(3)),
	  4, { NORMAL(205, 4), NORMAL(205, 4), NORMAL(205, 4), NORMAL(190, 5) },
	  { "", "", 0, .5, 5 }, 3, INFINITY, 0, 5, { 0, 5, 10, 15, 20, 30 },
	  { .0175716, .0823903, .2042671, .2899696, .3618621 }, 0, 0 },
	{ "pair with one nearly shorted", 11, NODE(RD_OP_PARALLEL, LEAF(0), LEAF(1)),
	  2, { NORMAL(12, .6), LOGUNI(.05, 3) }, { "", "", .5, 2, .01 }, .05, INFINITY, .3,
	  5, { .3, .5, 1, 1.5, 2, 3 }, { .1314576, .1810094, .1105941, .0824340, .0545286 },
	  0, .4399763 },
	{ "sensor by its two arms", 12, NODE(RD_OP_RATIO, LEAF(0), NODE(RD_OP_SERIES, LEAF(0), LEAF(1))),
	  2, { NORMAL(1250, 60), UNIFORM(3500, 4300) }, { "", "", .5, 2, .001 }, .003, INFINITY, 0,
	  4, { .21, .22, .235, .25, .27 }, { .0441969, .2557342, .3698160, .2922812 }, 0, 0 },
	/* The same samples once more, out in the tails. */
	{ "two heaters, tails", 1, NODE(RD_OP_PARALLEL, LEAF(0), LEAF(1)),
	  2, { NORMAL(12, .6), NORMAL(12, .6) }, { "", "", .5, 2, .01 }, .1, INFINITY, 0,
	  3, { 4.9, 5.05, 5.2, 6.8 }, { 3.44e-5, 3.774e-4, .9992615 }, 0, 0 },
	{ "four heaters, one gone high, tails", 3,
	  NODE(RD_OP_PARALLEL, LEAF(0), LEAF(1), LEAF(2), LEAF(3)),
	  4, { NORMAL(12, .6), NORMAL(12, .6), NORMAL(12, .6), LOGUNI(20, 200) },
	  { "", "", .5, 2, .01 }, .1, INFINITY, 0, 4, { 2.9, 3.0, 3.1, 4.3, 4.4 },
	  { .0002135, .0016971, .9971107, .0008603 }, 0, 0 },
	{ "solenoid behind a corroded connector, tails", 7, NODE(RD_OP_SERIES, LEAF(0), LEAF(1)),
	  2, { NORMAL(30, 1.5), LOGUNI(2, 2000) }, { "", "", 1.5, 5, .1 }, .1, 1000, 0,
	  4, { 25, 28, 29, 30, 31 }, { .0001881, .0009084, .0035239, .0094881 },
	  .1046754, 0 },
	{ "voltage drops in a row, tails", 8, NODE(RD_OP_SUM, LEAF(0), LEAF(1), LEAF(2), LEAF(3)),
	  4, { UNIFORM(.02, .1), LOGUNI(.05, .5), NORMAL(.08, .02), UNIFORM(0, .06) },
	  { "", "", 1.5, 2, .01 }, .02, INFINITY, 0, 5, { .1, .12, .15, .65, .7, .75 },
	  { .0006212, .0050589, .9669611, .0213253, .0053975 }, 0, 0 },
	{ "sensor with a bad ground, tails", 5,
	  NODE(RD_OP_RATIO, NODE(RD_OP_SUM, LEAF(2), NODE(RD_OP_PRODUCT, LEAF(0),
	       NODE(RD_OP_DIFFERENCE, LEAF(1), LEAF(2)))), LEAF(1)),
	  3, { UNIFORM(.225, .25), NORMAL(5.0, .03), LOGUNI(.05, 1.5) },
	  { "", "", .5, 2, .001 }, .004, INFINITY, 0, 5, { .21, .22, .225, .23, .45, .5 },
	  { 4.2e-6, .0001413, .0018815, .9760545, .0219185 }, 0, 0 },
	{ "three even spreads in a row", 13, NODE(RD_OP_SUM, LEAF(0), LEAF(1), LEAF(2)),
	  3, { UNIFORM(4, 6), UNIFORM(4, 6), UNIFORM(4, 6) }, { "", "", 0, 1, .01 }, .02, INFINITY, 0,
	  6, { 12, 12.4, 12.8, 13.5, 15, 17.5, 18 },
	  { .0013376, .0093481, .0595539, .4297661, .4973741, .0026201 }, 0, 0 },
	{ "two bad contacts in a row", 14, NODE(RD_OP_SERIES, LEAF(0), LEAF(1), LEAF(2)),
	  3, { LOGUNI(1, 100), LOGUNI(1, 100), NORMAL(5, .2) }, { "", "", .5, 2, .01 }, .1, 120, 0,
	  6, { 6.5, 7, 8, 10, 20, 50, 120 },
	  { .0004828, .0136342, .0504222, .2101549, .3330016, .3533074 }, .0389937, 0 },
	{ "element bridged by a bad path", 15, NODE(RD_OP_PARALLEL, LEAF(0), LEAF(1)),
	  2, { UNIFORM(10, 14), LOGUNI(1, 1000) }, { "", "", .5, 2, .01 }, .1, INFINITY, 0,
	  6, { .8, 1.1, 2, 5, 9, 12, 13.5 },
	  { .0265259, .0992448, .1853758, .2187568, .3514615, .1107691 }, 0, 0 },
	{ "current through heater and contact", 16, NODE(RD_OP_RATIO, FIXED(12),
	  NODE(RD_OP_SERIES, LEAF(0), LEAF(1), LEAF(2))),
	  3, { NORMAL(3, .15), UNIFORM(0, .5), LOGUNI(.01, 3) }, { "", "", 3, 3, .01 }, .02, INFINITY, 0,
	  5, { 1.9, 2.2, 2.8, 3.3, 3.8, 4.3 },
	  { .0501911, .1360966, .2180383, .4521354, .1346728 }, 0, 0 },
	{ "drop at the load", 17, NODE(RD_OP_PRODUCT, LEAF(1), NODE(RD_OP_SERIES, LEAF(0), LEAF(2))),
	  3, { NORMAL(.12, .02), NORMAL(3.5, .2), LOGUNI(.01, 1) }, { "", "", .5, 2, .001 }, .01,
	  INFINITY, 0, 5, { .35, .5, .7, 1, 2, 3.5 },
	  { .1615509, .2710008, .1655597, .2191888, .1448130 }, 0, 0 },
	/* what moves the figure most is in the tree twice */
	{ "sensor, its ground alone in doubt", 18,
	  NODE(RD_OP_RATIO, NODE(RD_OP_SUM, LEAF(1), NODE(RD_OP_PRODUCT, FIXED(.235),
	       NODE(RD_OP_DIFFERENCE, LEAF(0), LEAF(1)))), LEAF(0)),
	  2, { NORMAL(5, .03), LOGUNI(.05, 1.5) }, { "", "", .1, 1, .001 }, .001, INFINITY, 0,
	  6, { .24, .243, .246, .25, .28, .32, .45 },
	  { .0235308, .0812517, .0919531, .3239539, .1871922, .2727044 }, 0, 0 },
	{ "power of a heater", 19, NODE(RD_OP_RATIO, NODE(RD_OP_PRODUCT, LEAF(0), LEAF(0)), LEAF(1)),
	  2, { NORMAL(12.4, .3), NORMAL(12, .6) }, { "", "", .5, 2, .01 }, .02, INFINITY, 0,
	  5, { 10, 11, 12, 13, 14, 15.5 }, { .0133145, .1577564, .4090904, .3152120, .1007519 }, 0, 0 },
	{ "pair written as product over sum", 20,
	  NODE(RD_OP_RATIO, NODE(RD_OP_PRODUCT, LEAF(0), LEAF(1)),
	       NODE(RD_OP_PRODUCT, FIXED(1000), NODE(RD_OP_SERIES, LEAF(0), LEAF(1)))),
	  2, { LOGUNI(100, 4000), NORMAL(5000, 100) }, { "", "", .5, 2, .001 }, .002, INFINITY, 0,
	  6, { .098, .105, .2, .8, 1.6, 2.1, 2.25 },
	  { .0162107, .1801747, .4120033, .2451381, .1169581, .0266762 }, 0, 0 },
};

static void agree(const char *what, const char *bin, double got, double want)
{
	if (want >= 1e-3 ? !(fabs(got / want - 1) <= WITHIN) : !(fabs(got - want) <= WITHIN * 1e-3))
		fail_msg("%s, %s: %.7f, Monte Carlo %.7f (%.2f %%)", what, bin, got, want,
			 100 * (got / want - 1));
}

static struct rd_meter meter_of(const struct circuit *c)
{
	return (struct rd_meter){ &c->instrument, c->repeatability, c->range, c->short_below };
}

static void test_bins_agree_with_monte_carlo(void **state)
{
	(void)state;
	for (size_t k = 0; k < COUNT(circuits); k++) {
		const struct circuit *c = &circuits[k];
		struct rd_meter m = meter_of(c);

		for (int b = 0; b < c->nbins; b++) {
			char bin[40];

			snprintf(bin, sizeof bin, "%g to %g", c->edge[b], c->edge[b + 1]);
			agree(c->name, bin, rd_model_between(c->root, c->leaf, c->nleaves, &m, c->edge[b],
							     c->edge[b + 1]), c->share[b]);
		}
		agree(c->name, "open", rd_model_open(c->root, c->leaf, c->nleaves, &m), c->open);
		agree(c->name, "short", rd_model_short(c->root, c->leaf, c->nleaves, &m), c->closed);
	}
}

/* The density, summed over fine steps, is the share of the bin. */
static void test_density_adds_up_to_monte_carlo(void **state)
{
	(void)state;
	for (size_t k = 0; k < COUNT(circuits); k++) {
		const struct circuit *c = &circuits[k];
		struct rd_meter m = meter_of(c);

		for (int b = 0; b < c->nbins; b++) {
			double h = (c->edge[b + 1] - c->edge[b]) / 100, sum = 0;

			for (int i = 0; i < 100; i++)
				sum += h * rd_model_likelihood(c->root, c->leaf, c->nleaves, &m, RD_NUMBER,
							       c->edge[b] + h * (i + .5), 0);
			agree(c->name, "density", sum, c->share[b]);
		}
	}
}

/* ---- open and short -------------------------------------------------------------------------- */

static const struct rd_meter perfect = { NULL, .1, 1e6, .3 };

static void shows(const struct rd_node *root, const struct rd_dist *leaf, int n, enum rd_kind kind)
{
	double open = rd_model_open(root, leaf, n, &perfect), closed = rd_model_short(root, leaf, n, &perfect);

	assert_true(fabs(open - (kind == RD_OPEN)) < 1e-6);
	assert_true(kind == RD_SHORT ? closed > .9 : closed < 1e-6);
}

static void test_open_and_short_pass_through_circuits(void **state)
{
	const struct rd_node *series = NODE(RD_OP_SERIES, LEAF(0), LEAF(1));
	const struct rd_node *parallel = NODE(RD_OP_PARALLEL, LEAF(0), LEAF(1));
	const struct rd_dist good = NORMAL(12, .6), open = { RD_DIST_OPEN, 0, 0 };
	const struct rd_dist closed = { RD_DIST_SHORT, 0, 0 };

	(void)state;
	shows(series, (struct rd_dist[]){ good, open }, 2, RD_OPEN);
	shows(series, (struct rd_dist[]){ good, closed }, 2, RD_NUMBER);
	shows(series, (struct rd_dist[]){ closed, closed }, 2, RD_SHORT);
	shows(parallel, (struct rd_dist[]){ good, open }, 2, RD_NUMBER);
	shows(parallel, (struct rd_dist[]){ open, open }, 2, RD_OPEN);
	shows(parallel, (struct rd_dist[]){ good, closed }, 2, RD_SHORT);
	shows(parallel, (struct rd_dist[]){ open, closed }, 2, RD_SHORT);
	/* trade's own figures (no source): one of two 12 ohm heaters open shows one heater */
	assert_true(fabs(rd_model_middle(parallel, (struct rd_dist[]){ good, open }, 2) - 12) < 1e-9);
	assert_true(fabs(rd_model_middle(parallel, (struct rd_dist[]){ good, good }, 2) - 6) < 1e-9);
	assert_true(isinf(rd_model_middle(series, (struct rd_dist[]){ good, open }, 2)));
}

/* ---- properties, over random circuits -------------------------------------------------------- */

#define RANDOM_CIRCUITS 40
#define NODES_MAX 32

static uint32_t seed;

static double any(double low, double high)
{
	seed = seed * 1664525u + 1013904223u; /* Numerical Recipes' linear congruence */
	return low + (high - low) * ((double)(seed >> 8) / 16777216.0);
}

static int one_of(int n) { return (int)any(0, n); }

struct random_circuit {
	struct rd_node node[NODES_MAX];
	const struct rd_node *kids[NODES_MAX][3];
	int nnodes, nleaves;
	struct rd_dist leaf[RD_LEAVES_MAX];
};

static struct rd_dist any_state(void)
{
	double typical = any(5, 15);

	switch (one_of(6)) {
	case 0: return (struct rd_dist){ RD_DIST_POINT, typical, 0 };
	case 1: return (struct rd_dist)UNIFORM(.8 * typical, 1.2 * typical);
	case 2: return (struct rd_dist)LOGUNI(typical, 20 * typical);
	default: return (struct rd_dist)NORMAL(typical, .05 * typical);
	}
}

static const struct rd_node *any_node(struct random_circuit *c, int depth)
{
	static const enum rd_op op[] = { RD_OP_SERIES, RD_OP_PARALLEL, RD_OP_SUM, RD_OP_PARALLEL };
	struct rd_node *n = &c->node[c->nnodes];
	int k = c->nnodes++;

	if (depth == 0 || c->nleaves >= 3 || one_of(3) == 0) {
		*n = (struct rd_node){ RD_OP_LEAF, c->nleaves, 0, 0, NULL };
		c->leaf[c->nleaves++] = any_state();
		return n;
	}
	*n = (struct rd_node){ op[one_of(4)], 0, 0, 2, c->kids[k] };
	for (int i = 0; i < 2; i++)
		c->kids[k][i] = any_node(c, depth - 1);
	return n;
}

/* Composite Simpson over an even number of steps. */
static double integral(const struct random_circuit *c, const struct rd_meter *m, double low, double high,
		       int steps)
{
	double h = (high - low) / steps, sum = 0;

	for (int i = 0; i <= steps; i++)
		sum += (i == 0 || i == steps ? 1 : i % 2 ? 4 : 2) *
		       rd_model_likelihood(c->node, c->leaf, c->nleaves, m, RD_NUMBER, low + h * i, 0);
	return sum * h / 3;
}

/* Everything the meter can show: numbers from its short limit to the end of its range, short, open. */
static void test_all_outcomes_add_up_to_one(void **state)
{
	(void)state;
	seed = 20261125;
	for (int k = 0; k < RANDOM_CIRCUITS; k++) {
		struct random_circuit c = { .nnodes = 0 };
		struct rd_instrument i = { "", "", any(0, 2), any(1, 5), .1 };
		struct rd_meter m = { &i, any(.1, .4), any(12, 60), any(.2, 4) };
		double sum, numbers;

		any_node(&c, 2);
		numbers = integral(&c, &m, m.short_below, m.range, 1200);
		sum = numbers + rd_model_open(c.node, c.leaf, c.nleaves, &m) +
		      rd_model_short(c.node, c.leaf, c.nleaves, &m);
		if (!(fabs(sum - 1) < 1e-6))
			fail_msg("circuit %d: all outcomes add up to %.9f", k, sum);
		if (!(fabs(numbers - rd_model_between(c.node, c.leaf, c.nleaves, &m, -INFINITY, INFINITY)) <
		      1e-6))
			fail_msg("circuit %d: numbers integrate to %.9f", k, numbers);
	}
}

/* The same question is answered the same, bit by bit. */
static void test_likelihood_is_the_same_when_asked_again(void **state)
{
	(void)state;
	for (size_t k = 0; k < COUNT(circuits); k++) {
		const struct circuit *c = &circuits[k];
		struct rd_meter m = meter_of(c);
		double once = rd_model_likelihood(c->root, c->leaf, c->nleaves, &m, RD_NUMBER, c->edge[1], 0);

		assert_true(once > 0);
		assert_true(once == rd_model_likelihood(c->root, c->leaf, c->nleaves, &m, RD_NUMBER,
							c->edge[1], 0));
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_bins_agree_with_monte_carlo),
		cmocka_unit_test(test_density_adds_up_to_monte_carlo),
		cmocka_unit_test(test_open_and_short_pass_through_circuits),
		cmocka_unit_test(test_all_outcomes_add_up_to_one),
		cmocka_unit_test(test_likelihood_is_the_same_when_asked_again),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
