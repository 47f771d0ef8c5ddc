/* Excess of the planner over the exact optimum on 200 random problems, by the limits and the code
 * path of the job's advice; beside it a pure information-gain rule and one blind to access. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "plan_oracle.h"

static int rising(const void *a, const void *b)
{
	double x = *(const double *)a, y = *(const double *)b;

	return (x > y) - (x < y);
}

int main(int argc, char **argv)
{
	int n = argc > 1 ? atoi(argv[1]) : 200;
	double *excess = calloc((size_t)n, sizeof *excess), sum[3] = { 0 };

	for (int i = 0; i < n; i++) {
		struct rng r = { 5000 + (uint64_t)i };
		struct po_problem q;
		double optimum;

		po_random(&r, 6 + i % 2, 6, 3 + i % 2, .15, &q);
		optimum = po_optimum(&q);
		for (int rule = 0; rule < 3; rule++) {
			double over = 100 * (po_cost(&q, (enum po_rule)rule) / optimum - 1);

			sum[rule] += over;
			if (rule == PO_PLANNER)
				excess[i] = over;
		}
	}
	qsort(excess, (size_t)n, sizeof *excess, rising);
	printf("plan.excess_mean_pct = %.3f %%\n", sum[PO_PLANNER] / n);
	printf("plan.excess_p95_pct = %.2f %%\n", excess[n * 95 / 100]);
	printf("plan.excess_max_pct = %.2f %%\n", excess[n - 1]);
	printf("plan.gain_rule_excess_mean_pct = %.1f %%\n", sum[PO_GAIN] / n);
	printf("plan.access_blind_excess_mean_pct = %.1f %%\n", sum[PO_BLIND] / n);
	free(excess);
	return 0;
}
