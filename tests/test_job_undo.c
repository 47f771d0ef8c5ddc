/* Whatever was answered, taken back, put back and changed, and wherever the job was left and gone on
 * with: it equals a fresh job in which only the final answers were given, in their order.  Equal
 * means bit for bit, weights included.
 *
 * Left and gone on with: the file is closed and opened again; every sixth time its last line is torn
 * first, as by a crash, and given again. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>
#include <cmocka.h>

#include "base/file.h"
#include "base/mem.h"
#include "job/job.h"
#include "fixture.h"

#define ROUNDS 60
#define STEPS 60

static struct kn_knowledge *kn;
static char dir[64];
static unsigned seed = 2026;
static long changes;

static unsigned pick(unsigned n)
{
	seed = seed * 1664525u + 1013904223u;
	return (seed >> 8) % n;
}

static int no_sync(int fd) { return fd < 0 ? -1 : 0; }

static int set_up(void **state)
{
	(void)state;
	kn = fixture_trees("tests/data/job/small.xml", NULL);
	snprintf(dir, sizeof dir, "%s/halfsplit-undo-XXXXXX",
		 access("/dev/shm", W_OK) == 0 ? "/dev/shm" : "/tmp");
	file_calls.fsync = no_sync;         /* about events, not about the disk */
	file_calls.fdatasync = no_sync;
	return kn && mkdtemp(dir) ? 0 : -1;
}

static int tear_down(void **state)
{
	char command[128];

	(void)state;
	kn_free(kn);
	file_calls = file_real;
	snprintf(command, sizeof command, "rm -rf '%s'", dir);
	return system(command);
}

/* ---- what may happen -------------------------------------------------------------------------- */

static const struct job_event possible[] = {
	{ .kind = JOB_COMPLAINED, .field = { "flooding" } },
	{ .kind = JOB_TOLD, .field = { "history:stored", "yes" } },
	{ .kind = JOB_TOLD, .field = { "history:stored", "no" } },
	{ .kind = JOB_TOLD, .field = { "circumstance:engine-cold", "yes" } },
	{ .kind = JOB_TOLD, .field = { "circumstance:engine-cold", "no" } },
	{ .kind = JOB_TOLD, .field = { "tool:multimeter", "no" } },
	{ .kind = JOB_TOLD, .field = { "air", "5" } },
	{ .kind = JOB_ANSWERED, .field = { "leads", "", "0.3" } },
	{ .kind = JOB_ANSWERED, .field = { "coil", "", "3.3" } },
	{ .kind = JOB_ANSWERED, .field = { "coil", "", "2.1", "unsure", "leads-waived" } },
	{ .kind = JOB_ANSWERED, .field = { "coil", "", "open" } },
	{ .kind = JOB_ANSWERED, .field = { "bowl-wet", "", "1:dry 2:wet" } },
	{ .kind = JOB_ANSWERED, .field = { "bowl-wet", "1", "damp" } },
	{ .kind = JOB_ANSWERED, .field = { "bowl-wet", "2", "dry" } },
	{ .kind = JOB_ANSWERED, .field = { "cold-start", "", "no" } },
	{ .kind = JOB_ANSWERED, .field = { "bowl-sample", "", "rust" } },
	{ .kind = JOB_ANSWERED, .field = { "float-height", "", "13 15.5" } },
	{ .kind = JOB_ANSWERED, .field = { "float-height", "2", "13.1" } },
	{ .kind = JOB_ANSWERED, .field = { "flooding", "", "no" } },
	{ .kind = JOB_ANSWERED, .field = { "no-such-check", "", "x" } },
	{ .kind = JOB_SKIPPED, .field = { "bowl-sample", "", "cannot" } },
	{ .kind = JOB_ACCESS, .field = { "bench", "open" } },
	{ .kind = JOB_ACCESS, .field = { "bench", "closed" } },
	{ .kind = JOB_SETTING, .field = { "mixture-screw", "2", "found", "1 7/8" } },
	{ .kind = JOB_SETTING, .field = { "mixture-screw", "2", "left", "2" } },
	{ .kind = JOB_REPAIRED, .field = { "renew-gasket", "2" } },
	{ .kind = JOB_REPAIRED, .field = { "drain-and-renew-needle", "" } },
	{ .kind = JOB_NOTED, .field = { "a note" } },
	{ .kind = JOB_CLOSED, .field = { "watch", "later" } },
	{ .kind = JOB_CLOSED, .field = { "reopened", "" } },
};
#define POSSIBLE (sizeof possible / sizeof *possible)

/* ---- the model: what was said, and whether it still holds ---------------------------------------- */

struct model {
	int n, said[STEPS + 1];          /* index in possible */
	bool is_change[STEPS + 1];       /* of what was said as target */
	int target[STEPS + 1];
	bool holds[STEPS + 1];
	long seq[STEPS + 1];
	int nundone, undone[STEPS + 1];  /* index in said, the last one last */
};

static struct job *add(struct job *j, const struct job_event *what)
{
	struct job_event e = *what;
	struct hs_err err = { 0 };

	e.when = 1700000000;
	assert_int_equal(job_add(j, &e, &err), 0);
	return j;
}

static void say(struct job *j, struct model *m)
{
	int what = (int)pick(POSSIBLE);

	add(j, &possible[what]);
	m->said[m->n] = what;
	m->is_change[m->n] = false;
	m->holds[m->n] = true;
	m->seq[m->n++] = job_nevents(j);
	m->nundone = 0;
}

static void back(struct job *j, struct model *m)
{
	struct hs_err err = { 0 };
	int i = m->n - 1;

	while (i >= 0 && !m->holds[i])
		i--;
	assert_int_equal(job_undo(j, NULL, &err), i >= 0 ? 0 : -1);
	if (i < 0)
		return;
	m->holds[i] = false;
	m->undone[m->nundone++] = i;
}

static void forward(struct job *j, struct model *m)
{
	struct hs_err err = { 0 };

	assert_int_equal(job_redo(j, NULL, &err), m->nundone ? 0 : -1);
	if (m->nundone)
		m->holds[m->undone[--m->nundone]] = true;
}

/* Some early answer is taken back by its number and another given. */
static void edit(struct job *j, struct model *m)
{
	int i = m->n ? (int)pick((unsigned)m->n) : 0;
	char seq[24];

	if (!m->n || !m->holds[i])
		return;
	snprintf(seq, sizeof seq, "%ld", m->seq[i]);
	add(j, &(struct job_event){ .kind = JOB_TOOK_BACK, .field = { seq } });
	m->holds[i] = false;
	say(j, m);
}

/* What answer i came to: the last change of it that holds. */
static int final(const struct model *m, int i)
{
	int said = m->said[i];

	for (int k = i + 1; k < m->n; k++)
		if (m->is_change[k] && m->target[k] == i && m->holds[k])
			said = m->said[k];
	return said;
}

static bool compatible(enum job_kind a, enum job_kind b)
{
	bool answers = (a == JOB_ANSWERED || a == JOB_SKIPPED) && (b == JOB_ANSWERED || b == JOB_SKIPPED);

	return answers || (a == b && a != JOB_ACCESS && a != JOB_CLOSED);
}

/* Some early answer is changed in its place; what came after it stays. */
static void change(struct job *j, struct model *m)
{
	int i = m->n ? (int)pick((unsigned)m->n) : 0, to = (int)pick(POSSIBLE);
	struct job_event now = possible[to];
	struct hs_err err = { 0 };
	enum job_kind kind;

	if (!m->n || m->n > STEPS || m->is_change[i])
		return;
	now.when = 1700000000;
	kind = possible[final(m, i)].kind;
	assert_int_equal(job_change(j, (int)m->seq[i] - 1, &now, &err),
			 m->holds[i] && compatible(kind, now.kind) ? 0 : -1);
	if (!m->holds[i] || !compatible(kind, now.kind))
		return;
	m->target[m->n] = i;
	m->said[m->n] = to;
	m->is_change[m->n] = m->holds[m->n] = true;
	m->seq[m->n++] = job_nevents(j);
	m->nundone = 0;
	changes++;
}

/* The last line torn in the middle: it is as if it had not been written. */
static void tear(const char *id)
{
	char path[200];
	size_t size;
	char *data;

	snprintf(path, sizeof path, "%s/%s.job", dir, id);
	data = file_read(path, 1 << 20, &size, NULL);
	assert_non_null(data);
	mem_free(data);
	assert_int_equal(truncate(path, (off_t)size - 3), 0);
}

static struct job *leave_and_go_on(struct job *j, const char *id)
{
	int n = job_nevents(j);
	bool torn = pick(6) == 0 && n > 1;
	struct job_event last = *job_event_at(j, n - 1);
	char field[JOB_FIELDS_MAX][64] = { "" };
	struct hs_err err = { 0 };
	long recovered = 0;

	for (int i = 0; i < job_kind_fields(last.kind); i++) {
		snprintf(field[i], sizeof field[i], "%s", last.field[i]);
		last.field[i] = field[i];
	}
	job_close(j);
	if (torn)
		tear(id);
	j = job_open(dir, id, kn, &recovered, &err);
	assert_non_null(j);
	assert_int_equal(recovered > 0, torn);
	assert_int_equal(job_nevents(j), torn ? n - 1 : n);
	return torn ? add(j, &last) : j;
}

/* ---- equality --------------------------------------------------------------------------------------- */

static void print_facts(const struct job_view *v, struct text *t)
{
	text_addf(t, "%d %d %llx %llx %x %x %x %a %a %a\n", (int)v->state, v->complaint_gone,
		  (unsigned long long)v->tools, (unsigned long long)v->open, v->circumstances,
		  v->circumstances_known, v->the_case.histories, v->leads, v->air_degC, v->altitude_m);
	for (int i = 0; i < v->ncomplaints; i++)
		text_addf(t, "complaint %d\n", v->complaints[i]);
	for (int i = 0; i < v->nholds; i++)
		text_addf(t, "hold %d\n", v->holds[i]);
	for (int i = 0; i < v->nrepairs; i++)
		text_addf(t, "repair %d %d\n", v->repairs[i].remedy, v->repairs[i].place);
	for (int i = 0; i < v->nsettings; i++)
		text_addf(t, "setting %d %d %s|%s\n", v->settings[i].setting, v->settings[i].place,
			  v->settings[i].found, v->settings[i].left);
	for (int i = 0; i < v->nnotes; i++)
		text_addf(t, "note %s\n", v->notes[i]);
	for (int c = 0; c < kn->nchecks; c++)
		text_addf(t, "%d", v->done[c]);
}

static char *print_view(struct job *j)
{
	struct hs_err err = { 0 };
	const struct job_view *v = job_view(j, &err);
	struct text t = { 0 };

	assert_non_null(v);
	print_facts(v, &t);
	for (int i = 0; i < v->nfindings; i++)
		text_addf(&t, "\n%d %d %d %d %s %s", v->findings[i].check, v->findings[i].place,
			  v->findings[i].epoch, v->findings[i].counts, v->findings[i].understood.echo,
			  v->findings[i].why);
	text_addf(&t, "\n%d rows, %a\n", v->the_case.nevidence, v->suspects->log_evidence);
	for (int f = 0; f < kn->nfaults; f++)
		text_addf(&t, "%a %a\n", v->suspects->now[f], v->suspects->was[f]);
	return t.s;
}

static void assert_equals_a_fresh_job(struct job *j, const struct model *m)
{
	struct job *fresh = job_new(kn);
	char *a, *b;

	add(fresh, &(struct job_event){ .kind = JOB_BEGAN, .field = { kn->machine, kn->digest, "bench" } });
	for (int i = 0; i < m->n; i++)
		if (m->holds[i] && !m->is_change[i])
			add(fresh, &possible[final(m, i)]);
	a = print_view(j);
	b = print_view(fresh);
	assert_string_equal(a, b);
	mem_free(a);
	mem_free(b);
	job_close(fresh);
}

static void assert_counts_its_steps(struct job *j, const struct model *m)
{
	struct hs_err err = { 0 };
	int n = 0;

	for (int i = 0; i < m->n; i++)
		n += m->holds[i];
	assert_int_equal(job_view(j, &err)->nundo, n);
}

static void test_any_history_equals_the_fresh_job(void **state)
{
	long compared = 0, resumed = 0;

	(void)state;
	for (int round = 0; round < ROUNDS; round++) {
		struct hs_err err = { 0 };
		struct model m = { .n = 0 };
		char id[16];
		struct job *j;

		snprintf(id, sizeof id, "r%d", round);
		j = job_create(dir, id, kn, &err);
		assert_non_null(j);
		add(j, &(struct job_event){ .kind = JOB_BEGAN, .field = { kn->machine, kn->digest, "bench" } });
		while (m.n < STEPS) {
			unsigned what = pick(10);

			if (what < 2)
				back(j, &m);
			else if (what < 3)
				forward(j, &m);
			else if (what < 4)
				edit(j, &m);
			else if (what < 6)
				change(j, &m);
			else
				say(j, &m);
			if (pick(5) == 0) {
				j = leave_and_go_on(j, id);
				resumed++;
			}
			if (pick(4) == 0) {
				assert_equals_a_fresh_job(j, &m);
				assert_counts_its_steps(j, &m);
				compared++;
			}
		}
		assert_equals_a_fresh_job(j, &m);
		job_close(j);
	}
	printf("# %d random jobs, %ld answers changed in their place, %ld times left and gone on with, "
	       "%ld times compared\n", ROUNDS, changes, resumed, compared + ROUNDS);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_any_history_equals_the_fresh_job),
	};

	return cmocka_run_group_tests(tests, set_up, tear_down);
}
