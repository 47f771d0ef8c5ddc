/* Weighing on synthetic knowledge: 60 to 600 causes, up to 4,000 checks, 5 to 20 abnormal answers.
 * One figure a line; time is processor time of one weighing, the median of several cases. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <time.h>

#include "base/mem.h"
#include "random_knowledge.h"

#define CASES 7

static double now_ms(void)
{
	struct timespec t;

	clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
	return 1e3 * (double)t.tv_sec + 1e-6 * (double)t.tv_nsec;
}

/* A fault is chosen; each answer is an explicit outcome it votes for where it has one. */
static void abnormal(struct rng *r, const struct kn_knowledge *kn, struct su_evidence *e, int n)
{
	int fault = rng_below(r, kn->nfaults);

	for (int i = 0; i < n; i++) {
		int check = rng_below(r, kn->nchecks), tries = 0;
		struct su_table *t;
		int cell = 0;

		while (isnan(kn->checks[check].outcomes[0].vote[fault]) && tries++ < 20000)
			check = rng_below(r, kn->nchecks);
		memset(&e[i], 0, sizeof e[i]);
		e[i].check = check;
		e[i].place = KN_NONE;
		e[i].exponent = i % 2 ? 1 : .85;
		t = su_table_new(kn, check, KN_NONE);
		e[i].ncells = su_table_ncells(t);
		for (int c = 0; c < e[i].ncells; c++)
			if (su_table_row(t, su_table_join(t, 0, fault))[c] >
			    su_table_row(t, su_table_join(t, 0, fault))[cell])
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

struct figures { double ms, left_out; };

static struct figures measure(int causes, int checks, int answers, double tolerance, long work)
{
	struct rng r = { (uint64_t)causes * 1000 + (uint64_t)answers };
	struct random_size size = { causes, checks, false, false, 30 };
	struct kn_knowledge *kn = random_knowledge(&r, &size);
	struct su_settings s = { tolerance, work, 1024 };
	double ms[CASES], left = 0;

	for (int i = 0; i < CASES; i++) {
		struct su_evidence e[32];
		struct su_case c = { answers, e, 0, NULL, 0, false };
		struct su_suspects *w;

		abnormal(&r, kn, e, answers);
		ms[i] = now_ms();
		w = su_weigh(kn, &c, &s, NULL);
		ms[i] = now_ms() - ms[i];
		if (getenv("BENCH_DETAIL"))
			fprintf(stderr, "%d causes %d answers: %.1f ms, %ld looked at, left %.2g, none %.2g\n", causes, answers, ms[i], w ? w->looked_at : 0, w ? w->left_out : 1, w ? w->number[1] : 0);
		left = fmax(left, w ? w->left_out : 1);
		su_free(w);
	}
	random_free(kn);
	qsort(ms, CASES, sizeof *ms, rising);
	return (struct figures){ ms[CASES / 2], left };
}

int main(void)
{
	static const int sizes[] = { 60, 120, 300, 600 };
	struct rusage use;
	struct figures f;

	f = measure(300, 1000, 12, 1e-4, 60000000);
	printf("suspects.update_300_ms = %.1f ms\n", f.ms);
	printf("suspects.left_out_300 = %.2g share\n", f.left_out);
	f = measure(300, 1000, 12, 1e-6, 60000000);
	printf("suspects.update_300_to_1e-6_ms = %.1f ms\n", f.ms);
	for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++)
		for (int answers = 5; answers <= 20; answers += 15) {
			f = measure(sizes[i], sizes[i] < 600 ? 1000 : 4000, answers, 1e-4, 60000000);
			printf("suspects.growth_%d_causes_%d_answers_ms = %.1f ms\n", sizes[i], answers, f.ms);
			if (sizes[i] == 600 && answers == 20) {
				printf("suspects.update_600_ms = %.1f ms\n", f.ms);
				printf("suspects.left_out_600 = %.2g share\n", f.left_out);
			}
		}
	getrusage(RUSAGE_SELF, &use);
	printf("suspects.memory_600_mb = %.0f MB\n", (double)use.ru_maxrss / 1024);
	return 0;
}
