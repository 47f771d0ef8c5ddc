/* Of everything given 70 to 80 %, 70 to 80 % must be true: reliability tables with 5,000 entries and
 * more in every decile, within 2 points, on random knowledge of the size of a small bike and on the
 * trees of three machines, at once in a process each; then with 5 % of the answers replaced at random,
 * reported only.  Usage: soak_calibration [ENTRIES a decile]. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/mman.h>
#include <sys/wait.h>
#include <unistd.h>

#include "calibrate.h"
#include "fixture.h"

#define WITHIN 2.0            /* points */
#define ANSWERS_TREES 20      /* the upper deciles come late in a job */
#define JOBS_MOST 400000
#define MACHINES 3

/* The more carburettors, the longer a job takes to weigh: each gives its share of the entries. */
static const struct { const char *machine; double share; } shares[MACHINES] = {
	{ "single", .4 }, { "twin", .4 }, { "four", .2 }
};

static int on_machine(int m, double noise, long entries, struct calibration *c)
{
	struct kn_knowledge *kn = fixture_trees("trees", shares[m].machine);
	struct su_settings by_default = su_settings_default();
	struct rng r = { 4711 + (uint64_t)m };
	struct simulation *s;

	if (!kn)
		return 1;
	s = simulation_new(kn, true, &by_default);
	for (int job = 0; job < JOBS_MOST && calibration_least(c) < entries; job++)
		simulate_job(s, &r, ANSWERS_TREES, noise, entries, c);
	simulation_free(s);
	kn_free(kn);
	return 0;
}

static void on_trees(double noise, long entries, struct calibration *sum)
{
	struct calibration *c = mmap(NULL, MACHINES * sizeof *c, PROT_READ | PROT_WRITE,
				     MAP_SHARED | MAP_ANONYMOUS, -1, 0);
	int status;

	if (c == MAP_FAILED)
		exit(1);
	fflush(NULL);
	for (int m = 0; m < MACHINES; m++)
		if (fork() == 0)
			_exit(on_machine(m, noise, (long)ceil(shares[m].share * (double)entries), &c[m]));
	for (int m = 0; m < MACHINES; m++)
		if (wait(&status) < 0 || !WIFEXITED(status) || WEXITSTATUS(status))
			exit(1);
	for (int m = 0; m < MACHINES; m++) {
		printf("# %s: worst %.2f points apart\n", shares[m].machine, calibration_worst(&c[m]));
		calibration_add(sum, &c[m]);
	}
	munmap(c, MACHINES * sizeof *c);
}

static double report(const char *name, const struct calibration *c)
{
	calibration_print(c, name);
	printf("suspects.calibration_%s_worst_pct = %.2f %%\n", name, calibration_worst(c));
	fflush(stdout);
	return calibration_worst(c);
}

int main(int argc, char **argv)
{
	long entries = argc > 1 ? atol(argv[1]) : 5000;
	struct calibration small = { 0 }, trees = { 0 }, noisy = { 0 }, trees_noisy = { 0 };
	double worst;
	long least;

	calibrate_small(80000, 0, entries, &small);
	worst = report("small", &small);
	on_trees(0, entries, &trees);
	worst = fmax(worst, report("trees", &trees));
	calibrate_small(80000, .05, entries, &noisy);
	report("small_noisy", &noisy);
	on_trees(.05, entries, &trees_noisy);
	report("trees_noisy", &trees_noisy);
	least = calibration_least(&small) < calibration_least(&trees) ? calibration_least(&small)
								     : calibration_least(&trees);
	printf("suspects.calibration_soak_worst_pct = %.2f %%\n", worst);
	if (entries >= 5000 && (least < entries || worst > WITHIN)) {
		fprintf(stderr, "%ld entries in a decile, %.2f points apart\n", least, worst);
		return 1;
	}
	return 0;
}
