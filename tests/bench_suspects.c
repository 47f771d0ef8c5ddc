/* Weighing on synthetic knowledge: 60 to 600 causes, up to 4,000 checks, 5 to 20 abnormal answers.
 * One figure a line; time is processor time of one weighing, the median of several cases.
 * Usage: bench_suspects [CAUSES ANSWERS], all sizes when none is named. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "base/mem.h"
#include "random_knowledge.h"

#define CASES 7

static double now_ms(void)
{
	struct timespec t;

	clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
	return 1e3 * (double)t.tv_sec + 1e-6 * (double)t.tv_nsec;
}

/* A fault is chosen; each answer is the likeliest of the abnormal outcomes of a check it votes on. */
static void abnormal(struct rng *r, const struct kn_knowledge *kn, struct su_evidence *e, int n)
{
	int fault = rng_below(r, kn->nfaults);

	for (int i = 0; i < n; i++) {
		int check = rng_below(r, kn->nchecks), tries = 0;
		struct su_table *t;
		int cell = KN_NONE;

		while (isnan(kn->checks[check].outcomes[0].vote[fault]) && tries++ < 20000)
			check = rng_below(r, kn->nchecks);
		memset(&e[i], 0, sizeof e[i]);
		e[i].check = check;
		e[i].place = KN_NONE;
		e[i].exponent = i % 2 ? 1 : .85;
		t = su_table_new(kn, check, KN_NONE);
		e[i].ncells = su_table_ncells(t);
		for (int c = 0; c < e[i].ncells; c++)
			if (!kn->checks[check].outcomes[su_table_cell_outcome(t, c)].rest &&
			    (cell == KN_NONE || su_table_row(t, su_table_join(t, 0, fault))[c] >
						su_table_row(t, su_table_join(t, 0, fault))[cell]))
				cell = c;
		e[i].share[cell] = 1;
		su_table_free(t);
	}
}

static int rising(const void *a, const void *b)
{
	double x = *(const double *)a, y = *(const double *)b;

	return (x > y) - (x < y);
}

struct figures { double ms, fine_ms, left_out, looked_at, mb; };

struct problem { int causes, checks, answers; double tolerance; };

/* One case: time of one weighing; what is left out and how many sets were looked at, the worst so far. */
static double weigh_case(const struct kn_knowledge *kn, const struct su_case *c,
			 const struct su_settings *s, struct figures *f)
{
	double begin = now_ms(), ms;
	struct su_suspects *w = su_weigh(kn, c, s, NULL);

	ms = now_ms() - begin;
	f->left_out = fmax(f->left_out, w ? w->left_out : 1);
	f->looked_at = fmax(f->looked_at, w ? (double)w->looked_at : 0);
	su_free(w);
	return ms;
}

static struct figures measure(const struct problem *p)
{
	struct rng r = { (uint64_t)p->causes * 1000 + (uint64_t)p->answers };
	struct random_size size = { p->causes, p->checks, false, false, 30 };
	struct kn_knowledge *kn = random_knowledge(&r, &size);
	struct su_settings s = su_settings_default(), fine = s;
	struct figures f = { 0 }, aside = { 0 };
	double ms[CASES], fine_ms[CASES];
	struct rusage use;

	s.tolerance = p->tolerance;
	fine.tolerance = 1e-6;
	for (int i = 0; i < CASES; i++) {
		struct su_evidence e[32];
		struct su_case c = { p->answers, e, 0, NULL, 0, false };

		abnormal(&r, kn, e, p->answers);
		ms[i] = weigh_case(kn, &c, &s, &f);
		fine_ms[i] = weigh_case(kn, &c, &fine, &aside);
		if (aside.left_out > fine.tolerance)
			fprintf(stderr, "%d causes, %d answers: %.2g left at the work limit\n", p->causes,
				p->answers, aside.left_out);
	}
	random_free(kn);
	for (int i = 0; i < CASES && getenv("EACH"); i++)
		fprintf(stderr, "%.1f ", ms[i]);
	qsort(ms, CASES, sizeof *ms, rising);
	qsort(fine_ms, CASES, sizeof *fine_ms, rising);
	getrusage(RUSAGE_SELF, &use);
	f.ms = ms[CASES / 2];
	f.fine_ms = fine_ms[CASES / 2];
	f.mb = (double)use.ru_maxrss / 1024;
	return f;
}

/* In a process of its own, so that the memory is this problem's, knowledge included. */
static struct figures alone(struct problem p)
{
	struct figures f = { 0 };
	int ends[2];
	pid_t child;

	if (pipe(ends) != 0 || (child = fork()) < 0)
		exit(1);
	if (child == 0) {
		f = measure(&p);
		_exit(write(ends[1], &f, sizeof f) == sizeof f ? 0 : 1);
	}
	close(ends[1]);
	if (read(ends[0], &f, sizeof f) != sizeof f)
		exit(1);
	close(ends[0]);
	waitpid(child, NULL, 0);
	return f;
}

static struct figures row_of_growth(int causes, int answers)
{
	struct figures f = alone((struct problem){ causes, causes < 600 ? 1000 : 4000, answers, 1e-4 });

	printf("# %3d causes, %2d abnormal answers: %6.1f ms, %.1g left out, %8.0f sets, %4.0f MB; below 1e-6 in "
	       "%6.1f ms\n", causes, answers, f.ms, f.left_out, f.looked_at, f.mb, f.fine_ms);
	printf("suspects.growth_%d_causes_%d_answers_ms = %.1f ms\n", causes, answers, f.ms);
	return f;
}

int main(int argc, char **argv)
{
	static const int sizes[] = { 60, 120, 300, 600 }, answers[] = { 5, 12, 20 };
	struct figures f;

	mem_keep_large(); /* as the program does */
	if (argc == 3) {
		row_of_growth(atoi(argv[1]), atoi(argv[2]));
		return 0;
	}
	for (int i = 0; i < 4; i++)
		for (int k = 0; k < 3; k++) {
			f = row_of_growth(sizes[i], answers[k]);
			if (sizes[i] == 300 && answers[k] == 12) {
				printf("suspects.update_300_ms = %.1f ms\n", f.ms);
				printf("suspects.left_out_300 = %.2g share\n", f.left_out);
				printf("suspects.update_300_to_1e-6_ms = %.1f ms\n", f.fine_ms);
			}
		}
	printf("suspects.update_600_ms = %.1f ms\n", f.ms);
	printf("suspects.left_out_600 = %.2g share\n", f.left_out);
	printf("suspects.memory_600_mb = %.0f MB\n", f.mb);
	return 0;
}
