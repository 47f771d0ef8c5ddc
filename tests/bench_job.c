/* How long an answer takes until the next question is known, and what memory a whole job needs.
 *
 * Every script of tests/data/scripts is played by the program itself into a folder (that gives its
 * peak memory), and the job it leaves is replayed event by event through the library into a second
 * job file, synced and all: what is timed is what happens between Enter and the next question, the
 * drawing of it excepted.  Three rounds; every time counts, so the 99th percentile is of all of
 * them, interference by other processes included; the figure of processor time is without it. */
#include <dirent.h>
#include <fcntl.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "base/mem.h"
#include "job/job.h"
#include "knowledge/knowledge.h"

#define ROUNDS 3
#define JOBS_MAX 100

extern char **environ;

struct times { int n, room; double *ms; };

static struct times answers, processor, plans, weighings, first_steps;

static double clock_ms(clockid_t which)
{
	struct timespec t;

	clock_gettime(which, &t);
	return (double)t.tv_sec * 1e3 + (double)t.tv_nsec / 1e6;
}

static double now_ms(void)
{
	return clock_ms(CLOCK_MONOTONIC);
}

static void note(struct times *t, double ms)
{
	if (t->n == t->room) {
		t->room = t->room ? 2 * t->room : 64;
		t->ms = mem_resize_array(t->ms, (size_t)t->room, sizeof *t->ms);
	}
	t->ms[t->n++] = ms;
}

static int rising(const void *a, const void *b)
{
	double x = *(const double *)a, y = *(const double *)b;

	return (x > y) - (x < y);
}

/* The value that a share of all times does not exceed (nearest rank). */
static double share(struct times *t, double share_below)
{
	int rank = (int)(share_below * t->n + .999999) - 1;

	qsort(t->ms, (size_t)t->n, sizeof *t->ms, rising);
	return t->n == 0 ? 0 : t->ms[rank < 0 ? 0 : rank];
}

/* ---- playing ---------------------------------------------------------------------------------------- */

/* Peak memory in MB of the program over one script; -1 when it fails. */
static double play(char *program, char *script, char *jobs)
{
	char trees[] = "--trees", folder[] = "trees", dir[] = "--job-dir", from[] = "--script";
	char *argv[] = {program, trees, folder, dir, jobs, from, script, NULL};
	posix_spawn_file_actions_t quiet;
	struct rusage used;
	int status, failed;
	pid_t pid;

	posix_spawn_file_actions_init(&quiet);
	posix_spawn_file_actions_addopen(&quiet, STDOUT_FILENO, "/dev/null", O_WRONLY, 0);
	failed = posix_spawn(&pid, program, &quiet, NULL, argv, environ);
	posix_spawn_file_actions_destroy(&quiet);
	if (failed || wait4(pid, &status, 0, &used) < 0 || !WIFEXITED(status) ||
	    WEXITSTATUS(status) > 1) {
		fprintf(stderr, "%s could not be played\n", script);
		return -1;
	}
	return (double)used.ru_maxrss / 1024;
}

/* Every script into the folder; the highest peak in MB, or -1. */
static double play_all(char *program, char *jobs)
{
	DIR *d = opendir("tests/data/scripts");
	double highest = 0;

	for (struct dirent *e; d && (e = readdir(d));) {
		char path[512];
		double mb;

		if (!strstr(e->d_name, ".script"))
			continue;
		snprintf(path, sizeof path, "tests/data/scripts/%s", e->d_name);
		mb = play(program, path, jobs);
		if (mb < 0)
			highest = -1;
		else if (highest >= 0 && mb > highest)
			highest = mb;
	}
	if (d)
		closedir(d);
	return highest;
}

/* ---- replaying -------------------------------------------------------------------------------------- */

static int place_by_id(const struct kn_knowledge *kn, int check, const char *id)
{
	int kind = kn->checks[check].per;

	for (int p = 0; kind != KN_NONE && p < kn->kinds[kind].nplaces; p++)
		if (!strcmp(kn->kinds[kind].places[p].id, id))
			return p;
	return KN_NONE;
}

static enum job_source source_by_name(const char *name)
{
	if (!strcmp(name, "instrument"))
		return JOB_INSTRUMENT;
	if (!strcmp(name, "eyes"))
		return JOB_EYES;
	return strcmp(name, "sure") ? JOB_UNSURE : JOB_SURE;
}

/* An answer as the conversation gives it, from the event it left. 0 or -1. */
static int give(struct job *j, const struct job_event *e, struct hs_err *err)
{
	const struct kn_knowledge *kn = job_knowledge(j);
	struct job_answer a = {.check = kn_check_by_id(kn, e->field[0]), .text = e->field[2]};
	struct job_understood u;

	if (a.check == KN_NONE)
		return -1;
	a.place = place_by_id(kn, a.check, e->field[1]);
	a.source_given = e->field[3][0] != '\0';
	a.source = a.source_given ? source_by_name(e->field[3]) : JOB_EYES;
	a.flags = (strstr(e->field[4], "leads-waived") ? JOB_LEADS_WAIVED : 0) |
		(strstr(e->field[4], "size-ok") ? JOB_SLIP_OK : 0);
	return job_answer(j, &a, &u, err) == JOB_OK ? 0 : -1;
}

static bool asks_anew(enum job_kind k)
{
	return k == JOB_ANSWERED || k == JOB_SKIPPED || k == JOB_REPAIRED;
}

static int weigh_alone(const struct job_view *v, struct hs_err *err)
{
	double begun = now_ms();
	struct su_suspects *s = su_weigh(v->kn, &v->the_case, NULL, err);

	note(&weighings, now_ms() - begun);
	su_free(s);
	return s ? 0 : -1;
}

/* One event, and what is to be known before the next question. 0 or -1. */
static int step(struct job *j, const struct job_event *was, struct hs_err *err)
{
	struct job_event e = {.kind = was->kind};
	double begun = now_ms(), used = clock_ms(CLOCK_PROCESS_CPUTIME_ID), viewed, planned;
	const struct job_view *v;

	memcpy(e.field, was->field, sizeof e.field);
	if (e.kind == JOB_ANSWERED ? give(j, &e, err) < 0 : job_add(j, &e, err) < 0)
		return -1;
	if (!asks_anew(e.kind))
		return 0;
	v = job_view(j, err);
	viewed = now_ms();
	if (!v || !job_plan(j, err))
		return -1;
	planned = now_ms();
	note(&answers, planned - begun);
	note(&processor, clock_ms(CLOCK_PROCESS_CPUTIME_ID) - used);
	note(&plans, planned - viewed);
	return weigh_alone(v, err);
}

/* The first step of a job whose complaint and circumstances have been told. 0 or -1. */
static int first_step(struct job *j, struct hs_err *err)
{
	double begun = now_ms();
	const struct job_view *v = job_view(j, err);

	if (!v || !job_plan(j, err))
		return -1;
	note(&first_steps, now_ms() - begun);
	return weigh_alone(v, err);
}

/* 0 or -1 with err. */
static int replay(const char *jobs, const char *id, const char *copies, struct hs_err *err)
{
	char machine[65], digest[17];
	struct kn_knowledge *kn = NULL;
	struct job *from = NULL, *to = NULL;
	bool begun = false;
	int result = -1;

	if (job_peek(jobs, id, machine, digest, err) < 0)
		return -1;
	kn = kn_load("trees", machine, err);
	from = kn ? job_open(jobs, id, kn, NULL, err) : NULL;
	to = from ? job_create(copies, id, kn, err) : NULL;
	for (int i = 0; to && i < job_nevents(from); i++) {
		const struct job_event *e = job_event_at(from, i);
		if (!begun && asks_anew(e->kind)) {
			begun = true;
			if (first_step(to, err) < 0)
				goto done;
		}
		if (step(to, e, err) < 0)
			goto done;
	}
	result = to ? 0 : -1;
done:
	job_close(to);
	job_close(from);
	kn_free(kn);
	return result;
}

/* Every job of the folder, again for every round. 0 or -1. */
static int replay_all(const char *jobs, const char *own)
{
	struct job_summary *list;
	struct hs_err err = { 0 };
	int n = job_list(jobs, &list, &err), result = n > 0 ? 0 : -1;

	for (int round = 0; n > 0 && round < ROUNDS; round++)
		for (int i = 0; i < n; i++) {
			char copies[512];
			snprintf(copies, sizeof copies, "%s/copies-%d", own, round);
			if (replay(jobs, list[i].id, copies, &err) < 0) {
				fprintf(stderr, "%s: %s\n", list[i].id, err.text);
				result = -1;
			}
		}
	mem_free(n > 0 ? list : NULL);
	return result;
}

/* ---- telling ---------------------------------------------------------------------------------------- */

static void tell(void)
{
	printf("answer.next_question_p99_ms = %.2f ms\n", share(&answers, .99));
	printf("answer.next_question_max_ms = %.2f ms\n", share(&answers, 1));
	printf("answer.next_question_median_ms = %.2f ms\n", share(&answers, .5));
	printf("answer.next_question_cpu_p99_ms = %.2f ms\n", share(&processor, .99));
	printf("answer.replayed = %d answers\n", answers.n);
	printf("suspects.update_shipped_ms = %.2f ms\n", share(&weighings, .5));
	printf("suspects.update_shipped_p99_ms = %.2f ms\n", share(&weighings, .99));
	printf("plan.next_p99_ms = %.2f ms\n", share(&plans, .99));
	printf("plan.first_step_ms = %.2f ms\n", share(&first_steps, .5));
	printf("plan.first_step_max_ms = %.2f ms\n", share(&first_steps, 1));
}

int main(void)
{
	const char *root = getenv("HALFSPLIT_ROOT"), *program = getenv("HALFSPLIT_PROGRAM");
	const char *tmp = getenv("TMPDIR");
	char *own = mem_strdup(program ? program : "build/halfsplit");
	char dir[256], jobs[300];
	double mb;

	mem_keep_large(); /* as the program does */
	snprintf(dir, sizeof dir, "%s/bench-job-XXXXXX", tmp ? tmp : "/tmp");
	if ((root && chdir(root) < 0) || !mkdtemp(dir))
		return 1;
	snprintf(jobs, sizeof jobs, "%s/jobs", dir);
	mb = play_all(own, jobs);
	if (mb < 0 || replay_all(jobs, dir) < 0)
		return 1;
	tell();
	printf("memory.peak_mb = %.1f MB\n", mb);
	mem_free(own);
	return 0;
}
