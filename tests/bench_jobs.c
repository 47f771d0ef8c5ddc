/* Jobs by the thousand: how long one of 1,000 events takes to go on with, a folder of 10,000 to list,
 * and to learn from.
 *
 * What is resumed is a job in which things were measured again and again and much was taken back.  Its
 * figure is opening (reading, checking every sum) and the first view (weighing), without the trees.
 * Learning is the program's own, process, trees and file included.  Best of five, but one for learning:
 * it counts a job once. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "base/file.h"
#include "base/mem.h"
#include "job/job.h"

#define RUNS 5
#define JOBS 10000

static struct kn_knowledge *kn;
static char dir[64];

static double now_ms(void)
{
	struct timespec t;

	clock_gettime(CLOCK_MONOTONIC, &t);
	return (double)t.tv_sec * 1e3 + (double)t.tv_nsec / 1e6;
}

static int no_sync(int fd) { return fd < 0 ? -1 : 0; }

static void add(struct job *j, enum job_kind kind, long long when, const char *a, const char *b, const char *c,
		const char *d)
{
	struct job_event e = { .kind = kind, .when = when, .field = { a, b, c, d } };
	struct hs_err err = { 0 };

	if (job_add(j, &e, &err) == 0)
		return;
	fprintf(stderr, "%s\n", err.text);
	exit(1);
}

static struct job *create(const char *id)
{
	struct hs_err err = { 0 };
	struct job *j = job_create(dir, id, kn, &err);

	if (j)
		return j;
	fprintf(stderr, "%s\n", err.text);
	exit(1);
}

/* ---- one long job ------------------------------------------------------------------------------- */

static void write_long_job(void)
{
	static const char *const said[][2] = { { "fuel-level", "5.0 5.2 1.4 4.9" }, { "where-wet", "overflow-pipe 3" },
		{ "wet-with-tap-off", "dry" }, { "seat-hold", "0.4 0.3 6 0.2" }, { "needle-tip", "ringed 3" },
		{ "float-height", "13.5 13.4 13.6 13.5" }, { "plug-gap", "0.75 0.75 0.75 0.75" } };
	struct job *j = create("long");
	struct hs_err err = { 0 };

	add(j, JOB_BEGAN, 1, kn->machine, kn->digest, "complaint", NULL);
	add(j, JOB_COMPLAINED, 2, "flooding", NULL, NULL, NULL);
	for (int i = 0; job_nevents(j) < 1000; i++) {
		const char *const *s = said[i % 7];

		if (i % 11 == 10)
			add(j, JOB_NOTED, i, "looked at again, a few words on it", NULL, NULL, NULL);
		else
			add(j, JOB_ANSWERED, i, s[0], "", s[1], "");
		if (i % 5 == 4 && job_undo(j, NULL, &err) < 0)
			exit(1);
	}
	job_close(j);
}

/* *opened: reading and checking alone. */
static double resume(double *opened)
{
	double best = 1e9;

	*opened = 1e9;

	for (int i = 0; i < RUNS; i++) {
		struct hs_err err = { 0 };
		double start = now_ms(), took;
		struct job *j = job_open(dir, "long", kn, NULL, &err);

		took = now_ms() - start;
		*opened = took < *opened ? took : *opened;
		if (!j || !job_view(j, &err)) {
			fprintf(stderr, "%s\n", err.text);
			exit(1);
		}
		took = now_ms() - start;
		best = took < best ? took : best;
		job_close(j);
	}
	return best;
}

/* ---- many ------------------------------------------------------------------------------------------ */

/* Twenty-five events each, as a short job has. */
static void write_short_job(int i)
{
	static const char *const found[] = { "float-needle.worn 1", "pilot-jet.blocked 1 air-filter.clogged 0.03",
		"float-needle.worn 0.61 float.set-too-high 0.3", "spark-plug.fouled 0.02 coil.open-primary 1" };
	char id[32];
	struct job *j;

	snprintf(id, sizeof id, "%s-2026-11-25-%d", kn->machine, i);
	j = create(id);
	add(j, JOB_BEGAN, 1000 + i, kn->machine, kn->digest, "complaint", NULL);
	add(j, JOB_COMPLAINED, 1001 + i, "flooding", NULL, NULL, NULL);
	for (int k = 0; k < 9; k++)
		add(j, JOB_TOLD, 1002 + i, k % 2 ? "tool:multimeter" : "circumstance:engine-cold", "yes", NULL, NULL);
	for (int k = 0; k < 6; k++)
		add(j, JOB_ANSWERED, 1003 + i, "fuel-level", "", "5.0 5.2 1.4 4.9", "");
	for (int k = 0; k < 5; k++)
		add(j, JOB_ACCESS, 1004 + i, "tank-off", k % 2 ? "closed" : "open", NULL, NULL);
	add(j, JOB_REPAIRED, 1005 + i, "renew-float-needle", "3", NULL, NULL);
	add(j, JOB_ANSWERED, 1006 + i, "flooding", "", "no", "");
	add(j, JOB_CLOSED, 1007 + i, "proven", "dry overnight. Why it happened: fuel left over winter.", "",
	    found[i % 4]);
	job_close(j);
}

static double list(void)
{
	double best = 1e9;

	for (int i = 0; i < RUNS; i++) {
		struct hs_err err = { 0 };
		struct job_summary *jobs;
		double start = now_ms(), took;
		int n = job_list(dir, &jobs, &err);

		took = now_ms() - start;
		if (n != JOBS + 1) {
			fprintf(stderr, "%d jobs listed: %s\n", n, err.text);
			exit(1);
		}
		best = took < best ? took : best;
		mem_free(jobs);
	}
	return best;
}

static double learn(const char *trees)
{
	const char *program = getenv("HALFSPLIT_PROGRAM");
	char command[9000];
	double start;

	snprintf(command, sizeof command, "'%s' --trees '%s' --job-dir '%s' learn >/dev/null",
		 program ? program : "build/halfsplit", trees, dir);
	start = now_ms();
	if (system(command) != 0)
		return -1;
	return (now_ms() - start) / 1e3;
}

int main(void)
{
	const char *root = getenv("HALFSPLIT_ROOT");
	char trees[4096], command[128];
	struct hs_err err = { 0 };
	double seconds, opened, resumed;

	snprintf(trees, sizeof trees, "%s/trees", root ? root : ".");
	kn = kn_load(trees, "four", &err);
	snprintf(dir, sizeof dir, "%s/halfsplit-bench-XXXXXX",
		 access("/dev/shm", W_OK) == 0 ? "/dev/shm" : "/tmp");
	if (!kn || !mkdtemp(dir))
		return 1;
	file_calls.fsync = no_sync; /* the disk is not what is measured */
	file_calls.fdatasync = no_sync;
	write_long_job();
	resumed = resume(&opened);
	printf("job.resume_1000_ms = %.1f ms\njob.open_1000_ms = %.1f ms\n", resumed, opened);
	for (int i = 0; i < JOBS; i++)
		write_short_job(i);
	printf("job.list_10000_ms = %.0f ms\n", list());
	seconds = learn(trees);
	if (seconds >= 0)
		printf("job.learn_10000_s = %.2f s\n", seconds);
	snprintf(command, sizeof command, "rm -rf '%s'", dir);
	kn_free(kn);
	return system(command) != 0 || seconds < 0;
}
