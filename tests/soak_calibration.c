/* Calibration on random knowledge of the size of a small bike, and on the trees, 5,000 and more
 * entries a decile; with 5 % of the answers replaced at random as well (reported only). */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "calibrate.h"

static double worst_points(const struct calibration *c)
{
	double worst = 0;

	for (int d = 0; d < 10; d++)
		if (c->n[d] >= 5000)
			worst = fmax(worst, 100 * fabs(c->said[d] - c->was[d]) / (double)c->n[d]);
	return worst;
}

static void run(const char *name, double noise, int jobs)
{
	struct calibration c = { 0 };

	for (int i = 0; i < 100; i++) {
		struct rng r = { 80000 + (uint64_t)i };
		struct random_size size = { 10, 6, i % 3 == 0, false, 0 };
		struct kn_knowledge *kn = random_knowledge(&r, &size);

		for (int k = 0; k < kn->nchecks; k++)
			kn->checks[k].same_fact = KN_NONE;
		for (int job = 0; job < jobs; job++)
			calibrate_job(&r, kn, 5, noise, &c);
		random_free(kn);
	}
	for (int d = 0; d < 10; d++)
		printf("# %s %3d-%3d %%: %ld entries, said %.2f %%, was %.2f %%\n", name, 10 * d, 10 * d + 10,
		       c.n[d], c.n[d] ? 100 * c.said[d] / (double)c.n[d] : 0,
		       c.n[d] ? 100 * c.was[d] / (double)c.n[d] : 0);
	printf("suspects.calibration_worst_%s = %.2f %%\n", name, worst_points(&c));
}

int main(int argc, char **argv)
{
	int jobs = argc > 1 ? atoi(argv[1]) : 3000;

	run("pct", 0, jobs);
	run("noisy_pct", .05, jobs / 10);
	return 0;
}
