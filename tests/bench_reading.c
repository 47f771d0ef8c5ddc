/* How many answers are parsed, corrected and judged a second, and what a likelihood from a model
 * of the reading costs.  Processor time of one thread. */
#include <math.h>
#include <stdio.h>
#include <time.h>

#include "reading/model.h"
#include "reading/reading.h"

#define SECONDS .5

#define LEAF(n) (&(const struct rd_node){ RD_OP_LEAF, n, 0, 0, NULL })
#define KIDS(...) ((const struct rd_node *const[]){ __VA_ARGS__ })
#define NODE(op, ...) (&(const struct rd_node){ op, 0, 0, \
	(int)(sizeof KIDS(__VA_ARGS__) / sizeof(struct rd_node *)), KIDS(__VA_ARGS__) })

static double now(void)
{
	struct timespec t;

	clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
	return (double)t.tv_sec + (double)t.tv_nsec * 1e-9;
}

/* Answers as people type them, for one low-ohm check through leads. */
static double judged_per_s(bool wordless)
{
	static const char *const typed[] = { "6.2", "12,4 ohm", "8.1 8.0 8.2", "6R2", "12.4-0.3", "OL",
					     "5.9", "0.0062 kohm" };
	struct rd_setup s;
	struct rd_result r;
	double start, sum = 0;
	long n = 0;

	rd_setup_init(&s);
	s.wordless = wordless;
	s.unit = RD_OHM;
	s.low = 5.25;
	s.high = 6.75;
	s.typical = 6;
	s.instrument = rd_instrument_by_id("good-meter");
	s.repeatability = .1;
	s.through_leads = true;
	s.leads = .2;
	s.leads_u = .02;
	s.part_degC = 12;
	s.part_degC_u = 3;
	s.reference_degC = 20;
	for (start = now(); now() - start < SECONDS;)
		for (int i = 0; i < 800; i++, n++) {
			rd_read(&s, typed[i % 8], &r, NULL);
			sum += r.p_inside;
		}
	if (sum <= 0)
		return NAN;
	return (double)n / (now() - start);
}

static const struct { const char *name; const struct rd_node *root; int n; struct rd_dist leaf[4];
		      double low, high; } circuit[] = {
	{ "one part", LEAF(0), 1, { { RD_DIST_NORMAL, 12, .6 } }, 10, 14 },
	{ "pair", NODE(RD_OP_PARALLEL, LEAF(0), LEAF(1)), 2,
	  { { RD_DIST_NORMAL, 12, .6 }, { RD_DIST_NORMAL, 12, .6 } }, 5, 7 },
	{ "pair, one going high", NODE(RD_OP_PARALLEL, LEAF(0), LEAF(1)), 2,
	  { { RD_DIST_NORMAL, 12, .6 }, { RD_DIST_LOG_UNIFORM, 20, 200 } }, 7, 12 },
	{ "secondary and two caps", NODE(RD_OP_SERIES, LEAF(0), LEAF(1), LEAF(2)), 3,
	  { { RD_DIST_NORMAL, 14.5, .6 }, { RD_DIST_NORMAL, 5, .25 }, { RD_DIST_UNIFORM, 4.25, 5.75 } },
	  22, 27 },
	{ "four heaters", NODE(RD_OP_PARALLEL, LEAF(0), LEAF(1), LEAF(2), LEAF(3)), 4,
	  { { RD_DIST_NORMAL, 12, .6 }, { RD_DIST_NORMAL, 12, .6 }, { RD_DIST_NORMAL, 12, .6 },
	    { RD_DIST_NORMAL, 12, .6 } }, 2.5, 3.5 },
	{ "lower over higher", NODE(RD_OP_RATIO, NODE(RD_OP_LOWEST, LEAF(0), LEAF(1)),
				    NODE(RD_OP_HIGHEST, LEAF(0), LEAF(1))), 2,
	  { { RD_DIST_NORMAL, 80, 4 }, { RD_DIST_UNIFORM, 20, 60 } }, .2, .8 },
};
#define CIRCUITS ((int)(sizeof circuit / sizeof *circuit))

static double likelihood_us(int k, const struct rd_meter *meter)
{
	double start, sum = 0;
	long n = 0;

	for (start = now(); now() - start < SECONDS / CIRCUITS;)
		for (int i = 0; i < 16; i++, n++)
			sum += rd_model_likelihood(circuit[k].root, circuit[k].leaf, circuit[k].n, meter,
						   RD_NUMBER,
						   circuit[k].low + (circuit[k].high - circuit[k].low) * i / 16, 0);
	return sum > 0 ? (now() - start) / (double)n * 1e6 : NAN;
}

int main(void)
{
	struct rd_meter meter = { rd_instrument_by_id("good-meter"), .1, INFINITY, 0 };
	double sum = 0;

	printf("reading.judged_per_s = %.0f 1/s\n", judged_per_s(true));
	printf("reading.worded_per_s = %.0f 1/s\n", judged_per_s(false)); /* with echo and notes */
	likelihood_us(0, &meter); /* makes the nodes */
	for (int k = 0; k < CIRCUITS; k++) {
		double us = likelihood_us(k, &meter);

		fprintf(stderr, "%-24s %8.2f us\n", circuit[k].name, us);
		sum += us;
	}
	printf("reading.model_us = %.1f us\n", sum / CIRCUITS);
	return 0;
}
