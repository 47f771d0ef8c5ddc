/* A writer adds answers to a job through the library, says after each on a pipe that it counts, and
 * is killed; then the job is opened and held against what was said.
 *
 * The same job is gone on with after each kill, so recovery is followed by writing and that by the
 * next kill.  Half of the writers write in small pieces, which POSIX allows any disk to do: so that
 * kills fall between the pieces of one line and leave it torn. */
#include <errno.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "base/file.h"
#include "base/mem.h"
#include "job/job.h"
#include "kill.h"

#define EVENTS_MOST 150     /* then the next job is begun */
#define LONGEST_US 1500     /* from the last of ... */
#define FEW 12              /* ... so many answers */

static unsigned seed_now;

static unsigned next_random(void)
{
	seed_now = seed_now * 1664525u + 1013904223u;
	return seed_now >> 8;
}

static void wrong(struct kill_figures *f, const char *format, ...)
	__attribute__((format(printf, 2, 3)));

static void wrong(struct kill_figures *f, const char *format, ...)
{
	va_list args;

	if (f->why[0])
		return;
	va_start(args, format);
	vsnprintf(f->why, sizeof f->why, format, args);
	va_end(args);
}

/* ---- what is written ------------------------------------------------------------------------------ */

/* The text of event `seq` of job `round`: its length and its bytes follow from the two. */
static void text_of(long seq, int round, char out[1200])
{
	int n = snprintf(out, 1200, "answer %ld of job %d, %%", seq, round);
	int more = (int)(seq * 7919 + round * 104729) % 1100;

	for (int i = n; i < more; i++)
		out[i] = (char)(' ' + (i * 31 + (int)seq) % 95);
	out[n > more ? n : more] = '\0';
}

static struct job_event event_of(const struct kn_knowledge *kn, long seq, const char *text)
{
	if (seq == 1)
		return (struct job_event){ .kind = JOB_BEGAN, .when = 1,
					   .field = { kn->machine, kn->digest, "complaint" } };
	return (struct job_event){ .kind = JOB_ANSWERED, .when = seq,
				   .field = { kn->checks[0].id, "", text, "", "" } };
}

static bool same_event(const struct kn_knowledge *kn, const struct job_event *e, int round)
{
	char text[1200];
	struct job_event want;

	text_of(e->seq, round, text);
	want = event_of(kn, e->seq, text);
	if (e->kind != want.kind || e->when != want.when)
		return false;
	for (int i = 0; i < job_kind_fields(e->kind); i++)
		if (strcmp(e->field[i], want.field[i]) != 0)
			return false;
	return true;
}

/* ---- the writer ------------------------------------------------------------------------------------ */

static ssize_t write_in_pieces(int fd, const void *data, size_t size)
{
	return write(fd, data, size > 40 ? 40 : size);
}

/* Never returns; the pipe gets the number of each event that counts. */
static void write_until_killed(const char *dir, const char *id, const struct kn_knowledge *kn,
			       int round, bool create, bool in_pieces, int pipe_end)
{
	struct hs_err err = { 0 };
	struct job *j;
	char text[1200];

	if (in_pieces)
		file_calls.write = write_in_pieces;
	j = create ? job_create(dir, id, kn, &err) : job_open(dir, id, kn, NULL, &err);
	if (!j)
		_exit(2);
	for (long seq = job_nevents(j) + 1;; seq++) {
		struct job_event e;

		text_of(seq, round, text);
		e = event_of(kn, seq, text);
		if (job_add(j, &e, &err) < 0)
			_exit(3);
		if (write(pipe_end, &seq, sizeof seq) != (ssize_t)sizeof seq)
			_exit(4);
	}
}

/* The last of at most `most` numbers said on the pipe, `before` when nothing was. */
static long last_said(int pipe_end, long before, unsigned most)
{
	long seq;

	while (most-- && read(pipe_end, &seq, sizeof seq) == (ssize_t)sizeof seq)
		before = seq;
	return before;
}

/* One writer, killed at a random moment, three times in four after it has said a few numbers: on a
 * busy machine it might never come to write.  Returns the last acknowledged event. */
static long kill_one(const char *dir, const char *id, const struct kn_knowledge *kn, int round,
		     bool create, long before, struct kill_figures *f)
{
	struct timespec moment = { 0, (long)(next_random() % LONGEST_US) * 1000 };
	bool in_pieces = next_random() % 2;
	unsigned first = next_random() % 4 ? 1 + next_random() % FEW : 0;
	int ends[2], status;
	pid_t writer;
	long said;

	if (pipe(ends) < 0 || (writer = fork()) < 0) {
		f->broken++;
		wrong(f, "no writer: %s", strerror(errno));
		return before;
	}
	if (writer == 0) {
		close(ends[0]);
		write_until_killed(dir, id, kn, round, create, in_pieces, ends[1]);
	}
	close(ends[1]);
	said = last_said(ends[0], before, first);
	nanosleep(&moment, NULL);
	kill(writer, SIGKILL);
	if (waitpid(writer, &status, 0) != writer || !WIFSIGNALED(status)) {
		f->broken++;
		wrong(f, "a writer ended by itself with status %x", (unsigned)status);
	}
	f->kills++;
	said = last_said(ends[0], said, (unsigned)-1);
	close(ends[0]);
	return said;
}

/* ---- afterwards ------------------------------------------------------------------------------------ */

static void judge(struct job *j, const struct kn_knowledge *kn, int round, long said,
		  struct kill_figures *f)
{
	long there = job_nevents(j);

	if (there < said) {
		f->lost += said - there;
		wrong(f, "job %d: %ld events acknowledged, %ld there", round, said, there);
	}
	if (there > said + 1) {
		f->invented += there - said - 1;
		wrong(f, "job %d: %ld events acknowledged, %ld there", round, said, there);
	}
	f->in_flight += there > said;
	for (int i = 0; i < there; i++)
		if (!same_event(kn, job_event_at(j, i), round)) {
			f->invented++;
			wrong(f, "job %d: event %d is not what was written", round, i + 1);
		}
}

static void forget_file(const char *dir, const char *id)
{
	char path[4200];

	snprintf(path, sizeof path, "%s/%s.job", dir, id);
	unlink(path);
	snprintf(path, sizeof path, "%s/%s.job.bad", dir, id);
	unlink(path);
}

/* The events there are now; 0: the job has no first event, and may be begun anew. */
static long look(const char *dir, const char *id, const struct kn_knowledge *kn, int round, long said,
		 struct kill_figures *f)
{
	struct hs_err err = { 0 };
	long bytes = 0, there;
	struct job *j = job_open(dir, id, kn, &bytes, &err);

	if (!j && said == 0) {
		f->unborn++;
		forget_file(dir, id);
		return 0;
	}
	if (!j) {
		f->broken++;
		f->lost += said;
		wrong(f, "job %d cannot be opened: %s", round, err.text);
		forget_file(dir, id);
		return 0;
	}
	judge(j, kn, round, said, f);
	f->torn += bytes > 0;
	f->torn_bytes += bytes;
	there = job_nevents(j);
	job_close(j);
	return there;
}

void kill_writers(const char *dir, const char *trees, int kills, unsigned seed,
		  struct kill_figures *f)
{
	struct hs_err err = { 0 };
	struct kn_knowledge *kn = kn_load(trees, NULL, &err);
	long there = 0;
	int round = 0;

	memset(f, 0, sizeof *f);
	seed_now = seed;
	if (!kn) {
		f->broken++;
		wrong(f, "%s", err.text);
	}
	while (kn && f->kills < kills && f->broken < 10) {
		char id[32];
		long said;

		snprintf(id, sizeof id, "job-%d", round);
		said = kill_one(dir, id, kn, round, there == 0, there, f);
		f->acknowledged += said - there;
		there = look(dir, id, kn, round, said, f);
		if (there > EVENTS_MOST) {
			forget_file(dir, id);
			there = 0;
			round++;
		}
	}
	kn_free(kn);
}

void kill_print(const char *name, const struct kill_figures *f)
{
	printf("# %s: %ld kills, %ld answers acknowledged, %ld lost, %ld invented; %ld in flight and kept, "
	       "%ld lines torn (%ld bytes set aside), %ld before the first event\n", name, f->kills,
	       f->acknowledged, f->lost, f->invented, f->in_flight, f->torn, f->torn_bytes, f->unborn);
}
