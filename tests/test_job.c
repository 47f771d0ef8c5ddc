/* Jobs as files: the format, recovery, locks, faults of the disk, undo and redo.
 *
 * Outside value: CRC-32 of "123456789" is cbf43926 (ITU-T V.42; check value of the catalogue of
 * parametrised CRC algorithms). The golden file below was worked out with Python's zlib.crc32. */
#include <errno.h>
#include <fcntl.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>
#include <cmocka.h>

#include "base/file.h"
#include "base/mem.h"
#include "job/inner.h"
#include "fixture.h"

static struct kn_knowledge *kn;
static char dir[64];

static int set_up(void **state)
{
	(void)state;
	kn = fixture_trees("tests/data/good-trees/tiny.xml", "pair");
	return kn ? 0 : -1;
}

static int tear_down(void **state)
{
	(void)state;
	kn_free(kn);
	return 0;
}

static int folder(void **state)
{
	(void)state;
	/* Thousands of small files: in memory where there is such a place. */
	snprintf(dir, sizeof dir, "%s/halfsplit-job-XXXXXX",
		 access("/dev/shm", W_OK) == 0 ? "/dev/shm" : "/tmp");
	file_calls = file_real;
	return mkdtemp(dir) ? 0 : -1;
}

static int no_sync(int fd) { return fd < 0 ? -1 : 0; }

/* For the thousands of recoveries that are about bytes, not about the disk. */
static void without_sync(void)
{
	file_calls.fsync = no_sync;
	file_calls.fdatasync = no_sync;
}

static int no_folder(void **state)
{
	char command[128];

	(void)state;
	file_calls = file_real;
	snprintf(command, sizeof command, "rm -rf '%s'", dir);
	return system(command);
}

static const char *path_of(const char *name)
{
	static char path[200];

	snprintf(path, sizeof path, "%s/%s", dir, name);
	return path;
}

static char *slurp(const char *name, size_t *size)
{
	char *data = file_read(path_of(name), 1 << 20, size, NULL);

	assert_non_null(data);
	return data;
}

static void put(const char *name, const char *data, size_t size)
{
	FILE *f = fopen(path_of(name), "wb");

	assert_non_null(f);
	assert_int_equal(fwrite(data, 1, size, f), size);
	assert_int_equal(fclose(f), 0);
}

static int add(struct job *j, enum job_kind kind, const char *a, const char *b, const char *c)
{
	struct job_event e = { .kind = kind, .when = 1700000000, .field = { a, b, c } };
	struct hs_err err = { 0 };

	return job_add(j, &e, &err);
}

/* A short job with every kind of event in it. */
static void play(struct job *j)
{
	assert_int_equal(add(j, JOB_BEGAN, kn->machine, kn->digest, "complaint"), 0);
	assert_int_equal(add(j, JOB_COMPLAINED, "flooding", NULL, NULL), 0);
	assert_int_equal(add(j, JOB_TOLD, "history:stored", "yes", NULL), 0);
	assert_int_equal(add(j, JOB_TOLD, "air", "12.5", NULL), 0);
	assert_int_equal(add(j, JOB_ANSWERED, "smell", "", "strong"), 0);
	assert_int_equal(add(j, JOB_SKIPPED, "pump-hums", "", "cannot"), 0);
	assert_int_equal(add(j, JOB_ANSWERED, "fuel-level", "1", "2,5"), 0);
	assert_int_equal(add(j, JOB_ACCESS, "tank-off", "open", NULL), 0);
	assert_int_equal(add(j, JOB_NOTED, "50 % of it,\nand \"more\" \xc3\xa4", NULL, NULL), 0);
	assert_int_equal(add(j, JOB_REPAIRED, "renew-needle", "1", NULL), 0);
	assert_int_equal(add(j, JOB_TOOK_BACK, "3", NULL, NULL), 0);
	assert_int_equal(add(j, JOB_ANSWERED, "flooding", "", "no"), 0);
	assert_int_equal(add(j, JOB_CLOSED, "proven", "dry after a day", NULL), 0);
}

/* Everything a view says that two equal jobs must agree on, bit for bit. */
static void print_view(struct job *j, struct text *t)
{
	struct hs_err err = { 0 };
	const struct job_view *v = job_view(j, &err);

	assert_non_null(v);
	text_addf(t, "%d %d %d %llx %llx %x %x %d %d %d\n", (int)v->state, v->complaint_gone,
		  v->nholds, (unsigned long long)v->tools, (unsigned long long)v->open,
		  v->circumstances, v->the_case.histories, v->nrepairs, v->nsettings, v->nnotes);
	for (int i = 0; i < v->nfindings; i++)
		text_addf(t, "%d %d %d %d %s\n", v->findings[i].check, v->findings[i].place,
			  v->findings[i].epoch, v->findings[i].counts, v->findings[i].understood.echo);
	for (int f = 0; f < kn->nfaults; f++)
		text_addf(t, "%a %a\n", v->suspects->now[f], v->suspects->was[f]);
	text_addf(t, "%a\n", v->suspects->log_evidence);
}

static void assert_same_view(struct job *a, struct job *b)
{
	struct text x = { 0 }, y = { 0 };

	print_view(a, &x);
	print_view(b, &y);
	assert_string_equal(text_str(&x), text_str(&y));
	text_free(&x);
	text_free(&y);
}

/* ---- the format ----------------------------------------------------------------------------------- */

static void test_checksum_against_published_value(void **state)
{
	(void)state;
	assert_int_equal(job_crc(0, "123456789", 9), 0xcbf43926u);
	assert_int_equal(job_crc(job_crc(0, "1234", 4), "56789", 5), 0xcbf43926u);
}

/* A file of version 1, kept for ever: it must open in every later version. */
static const char golden[] =
	"halfsplit-job 1\n"
	"00054a51 000001 began 1700000000 pair 0123456789abcdef complaint\n"
	"b12a93ad 000002 complained 1700000001 flooding\n"
	"6f38280f 000003 answered 1700000002 fuel-level 1 2,5%20mm %- %-\n"
	"5541fd13 000004 noted 1700000003 50%20%25%0aof%20\xc3\xa4\n"
	"14117c6e 000005 took-back 1700000004 3\n";

static void test_golden_file_opens(void **state)
{
	struct hs_err err = { 0 };
	long recovered = -1;
	struct job *j;

	(void)state;
	put("old.job", golden, sizeof golden - 1);
	j = job_open(dir, "old", kn, &recovered, &err);
	assert_non_null(j);
	assert_int_equal(recovered, 0);
	assert_int_equal(job_nevents(j), 5);
	assert_string_equal(job_event_at(j, 2)->field[2], "2,5 mm");
	assert_string_equal(job_event_at(j, 2)->field[3], "");
	assert_string_equal(job_event_at(j, 3)->field[0], "50 %\nof \xc3\xa4");
	assert_int_equal(job_event_at(j, 3)->when, 1700000003);
	assert_int_equal(job_view(j, &err)->nfindings, 0);
	job_close(j);
}

static void test_writer_makes_the_golden_bytes(void **state)
{
	struct hs_err err = { 0 };
	struct job *j = job_create(dir, "new", kn, &err);
	const struct job_event e[] = {
		{ JOB_BEGAN, 0, 1700000000, { "pair", "0123456789abcdef", "complaint" } },
		{ JOB_COMPLAINED, 0, 1700000001, { "flooding" } },
		{ JOB_ANSWERED, 0, 1700000002, { "fuel-level", "1", "2,5 mm", "", "" } },
		{ JOB_NOTED, 0, 1700000003, { "50 %\nof \xc3\xa4" } },
		{ JOB_TOOK_BACK, 0, 1700000004, { "3" } } };
	size_t size;
	char *data;

	(void)state;
	assert_non_null(j);
	for (size_t i = 0; i < sizeof e / sizeof *e; i++)
		assert_int_equal(job_add(j, &e[i], &err), 0);
	job_close(j);
	data = slurp("new.job", &size);
	assert_string_equal(data, golden);
	mem_free(data);
}

static void test_every_byte_comes_back(void **state)
{
	struct hs_err err = { 0 };
	struct job *j = job_create(dir, "bytes", kn, &err);
	char all[256 + 64], at = 0;
	long recovered;

	(void)state;
	for (int c = 1; c < 128; c++)
		all[(int)at++] = (char)c;
	strcpy(all + 127, "\xc2\x85\xe2\x80\xae\xf0\x9f\x94\xa7%-%20%");
	assert_int_equal(add(j, JOB_BEGAN, "pair", "", ""), 0);
	assert_int_equal(add(j, JOB_NOTED, all, NULL, NULL), 0);
	assert_int_equal(add(j, JOB_NOTED, "%-", NULL, NULL), 0);
	assert_int_equal(add(j, JOB_NOTED, "bad \xff utf-8", NULL, NULL), -1);
	job_close(j);
	j = job_open(dir, "bytes", kn, &recovered, &err);
	assert_non_null(j);
	assert_int_equal(job_nevents(j), 3);
	assert_string_equal(job_event_at(j, 1)->field[0], all);
	assert_string_equal(job_event_at(j, 2)->field[0], "%-");
	job_close(j);
}

/* A line of a kind that this version does not know, in the middle of the golden job. */
static void test_unknown_kind_is_kept_and_skipped(void **state)
{
	struct text t = { 0 }, line = { 0 };
	struct hs_err err = { 0 };
	const char *later = "000002 x-rayed 1700000001 one two three four five six seven\n";
	unsigned crc;
	long recovered = -1;
	struct job *j;
	struct job_event next = { JOB_COMPLAINED, 3, 1700000002, { "flooding" } };
	size_t before;

	(void)state;
	text_addn(&t, golden, (size_t)(strstr(golden, "b12a93ad") - golden));
	crc = job_crc(job_crc(0, "00054a51", 8), later, strlen(later));
	text_addf(&t, "%08x %s", crc, later);
	job_event_write(&line, &next, crc);
	text_add(&t, text_str(&line));
	put("later.job", text_str(&t), t.len);
	before = t.len;
	j = job_open(dir, "later", kn, &recovered, &err);
	assert_non_null(j);
	assert_int_equal(recovered, 0);
	assert_int_equal(job_nevents(j), 3);
	assert_int_equal(job_event_at(j, 1)->kind, JOB_UNKNOWN);
	assert_int_equal(job_view(j, &err)->ncomplaints, 1);
	assert_int_equal(job_view(j, &err)->nundo, 1);
	assert_int_equal(add(j, JOB_NOTED, "on", NULL, NULL), 0);
	job_close(j);
	text_free(&line);
	line.s = slurp("later.job", &line.len);
	assert_true(line.len > before);
	assert_memory_equal(line.s, text_str(&t), before);
	mem_free(line.s);
	text_free(&t);
}

/* ---- replay and recovery -------------------------------------------------------------------------- */

static void test_replay_equals_live(void **state)
{
	struct hs_err err = { 0 };
	struct job *live = job_create(dir, "a", kn, &err), *memory = job_new(kn), *again;
	long recovered = -1;

	(void)state;
	assert_non_null(live);
	play(live);
	play(memory);
	assert_same_view(live, memory);
	job_close(live);
	again = job_open(dir, "a", kn, &recovered, &err);
	assert_non_null(again);
	assert_int_equal(recovered, 0);
	assert_same_view(again, memory);
	job_close(again);
	job_close(memory);
}

static size_t lines_in(const char *data, size_t size)
{
	size_t n = 0;

	for (size_t i = 0; i < size; i++)
		n += data[i] == '\n';
	return n;
}

/* Killed at any byte, the job opens with every whole line before it. */
static void test_every_prefix_opens(void **state)
{
	struct hs_err err = { 0 };
	struct job *j = job_create(dir, "full", kn, &err);
	size_t size, first;
	char *data;

	(void)state;
	without_sync();
	play(j);
	job_close(j);
	data = slurp("full.job", &size);
	first = (size_t)(strchr(strchr(data, '\n') + 1, '\n') - data) + 1;
	for (size_t cut = 0; cut < size; cut++) {
		size_t whole = lines_in(data, cut), aside;
		long recovered = -1;
		char *bad;

		put("cut.job", data, cut);
		err_clear(&err);
		j = job_open(dir, "cut", kn, &recovered, &err);
		if (cut < first) {
			assert_null(j);
			assert_int_equal(err.code, HS_BAD_JOB);
			unlink(path_of("cut.job.bad"));
			continue;
		}
		assert_non_null(j);
		assert_int_equal(job_nevents(j), whole - 1);
		for (int i = 0; i < job_nevents(j); i++)
			assert_int_equal(job_event_at(j, i)->seq, i + 1);
		job_close(j);
		if (recovered > 0) {
			bad = slurp("cut.job.bad", &aside);
			assert_int_equal(aside, recovered);
			assert_memory_equal(bad, data + cut - recovered, aside);
			mem_free(bad);
			unlink(path_of("cut.job.bad"));
		} else {
			assert_int_equal(data[cut - 1], '\n');
		}
	}
	printf("# %zu truncations, every one opens with the whole lines before it\n", size);
	mem_free(data);
}

/* No flipped bit goes unnoticed: exactly the lines before it are left. */
static void test_every_flipped_bit_is_found(void **state)
{
	struct hs_err err = { 0 };
	struct job *j = job_create(dir, "full", kn, &err);
	size_t size;
	char *data;

	(void)state;
	without_sync();
	play(j);
	job_close(j);
	data = slurp("full.job", &size);
	for (size_t bit = 0; bit < size * 8; bit++) {
		size_t good = lines_in(data, bit / 8);
		long recovered = -1;

		data[bit / 8] = (char)(data[bit / 8] ^ 1 << bit % 8);
		put("flip.job", data, size);
		err_clear(&err);
		j = job_open(dir, "flip", kn, &recovered, &err);
		data[bit / 8] = (char)(data[bit / 8] ^ 1 << bit % 8);
		if (good < 2) {
			assert_null(j);
			assert_int_equal(err.code, HS_BAD_JOB);
			continue;
		}
		assert_non_null(j);
		assert_true(recovered > 0);
		assert_int_equal(job_nevents(j), good - 1);
		job_close(j);
	}
	printf("# %zu single flipped bits, every one found\n", size * 8);
	mem_free(data);
}

static void refuse_lines(const char *name, const char *data, size_t size, int events)
{
	struct hs_err err = { 0 };
	long recovered = 0;
	struct job *j;

	put(name, data, size);
	j = job_open(dir, "edit", kn, &recovered, &err);
	assert_non_null(j);
	assert_int_equal(job_nevents(j), events);
	assert_true(recovered > 0);
	job_close(j);
}

static void test_missing_doubled_and_swapped_lines_are_found(void **state)
{
	const char *l3 = strstr(golden, "b12a93ad"), *l4 = strstr(golden, "6f38280f"),
		   *l5 = strstr(golden, "5541fd13"), *end = golden + sizeof golden - 1;
	struct text t = { 0 };

	(void)state;
	text_addn(&t, golden, (size_t)(l3 - golden));  /* without the complaint */
	text_add(&t, l4);
	refuse_lines("edit.job", text_str(&t), t.len, 1);
	text_clear(&t);
	text_addn(&t, golden, (size_t)(l4 - golden));  /* the complaint twice */
	text_add(&t, l3);
	refuse_lines("edit.job", text_str(&t), t.len, 2);
	text_clear(&t);
	text_addn(&t, golden, (size_t)(l4 - golden));  /* lines 4 and 5 exchanged */
	text_addn(&t, l5, (size_t)(strchr(l5, '\n') - l5) + 1);
	text_addn(&t, l4, (size_t)(l5 - l4));
	refuse_lines("edit.job", text_str(&t), t.len, 2);
	text_clear(&t);
	text_addn(&t, golden, (size_t)(end - golden)); /* a tail of zeros, as after a power cut */
	text_addn(&t, "\0\0\0\0\0\0\0\0", 8);
	refuse_lines("edit.job", text_str(&t), t.len, 5);
	text_free(&t);
}

static void test_foreign_files_are_refused(void **state)
{
	struct hs_err err = { 0 };
	char machine[65], digest[17];
	long recovered;

	(void)state;
	put("x.job", "halfsplit-job 2\n", 16);
	assert_null(job_open(dir, "x", kn, &recovered, &err));
	assert_int_equal(err.code, HS_BAD_JOB);
	err_clear(&err);
	assert_int_equal(job_peek(dir, "x", machine, digest, &err), -1);
	err_clear(&err);
	assert_null(job_open(dir, "none", kn, &recovered, &err));
	assert_int_equal(err.code, HS_NOT_FOUND);
	err_clear(&err);
	assert_null(job_open(dir, "../x", kn, &recovered, &err));
	assert_int_equal(err.code, HS_NOT_FOUND);
}

static void test_symbolic_link_is_not_followed(void **state)
{
	struct hs_err err = { 0 };
	char target[200];
	long recovered;

	(void)state;
	put("real.job", golden, sizeof golden - 1);
	snprintf(target, sizeof target, "%s", path_of("real.job"));
	assert_int_equal(symlink(target, path_of("link.job")), 0);
	assert_null(job_open(dir, "link", kn, &recovered, &err));
	assert_int_equal(err.code, HS_IO);
}

/* ---- one writer ------------------------------------------------------------------------------------ */

static void test_second_writer_is_refused(void **state)
{
	struct hs_err err = { 0 };
	struct job *j = job_create(dir, "one", kn, &err), *again;
	long recovered;
	int status;
	pid_t child;

	(void)state;
	assert_int_equal(add(j, JOB_BEGAN, "pair", "", "complaint"), 0);
	assert_null(job_open(dir, "one", kn, &recovered, &err));
	assert_int_equal(err.code, HS_BAD_JOB);
	err_clear(&err);
	assert_null(job_create(dir, "one", kn, &err));
	child = fork();
	if (child == 0) {
		struct hs_err mine = { 0 };

		again = job_open(dir, "one", kn, &recovered, &mine);
		status = again || mine.code != HS_BAD_JOB;
		job_close(again);
		job_close(j);
		kn_free(kn);
		_exit(status);
	}
	assert_int_equal(waitpid(child, &status, 0), child);
	assert_int_equal(status, 0);
	job_close(j);
	again = job_open(dir, "one", kn, &recovered, &err);
	assert_non_null(again);
	job_close(again);
}

/* ---- the disk ---------------------------------------------------------------------------------------- */

static int countdown, lasting, wrong;  /* calls until the fault; for ever after; the errno */

static bool faulty(void)
{
	if (countdown > 0)
		countdown--;
	if (countdown != 0)
		return false;
	if (!lasting)
		countdown = -1;
	errno = wrong;
	return true;
}

static ssize_t fault_write(int fd, const void *data, size_t size)
{
	if (!faulty())
		return write(fd, data, size > 7 ? 7 : size); /* never more than 7 bytes at once */
	if (size > 3 && write(fd, data, 3) < 0)              /* a full disk takes a part first */
		return -1;
	errno = wrong;
	return -1;
}

static int fault_fdatasync(int fd) { return faulty() ? -1 : no_sync(fd); }
static int fault_fsync(int fd) { return faulty() ? -1 : no_sync(fd); }
static int fault_ftruncate(int fd, off_t size) { return faulty() ? -1 : ftruncate(fd, size); }

static int fault_open(int at, const char *path, int flags, mode_t mode)
{
	return faulty() ? -1 : openat(at, path, flags, mode);
}
static int fault_close(int fd)
{
	bool bad = faulty();            /* what close() says, the descriptor is gone */

	return close(fd) < 0 || bad ? -1 : 0;
}

static void fail_calls(int at, bool for_ever, int reason)
{
	file_calls.open = fault_open;
	file_calls.write = fault_write;
	file_calls.fdatasync = fault_fdatasync;
	file_calls.fsync = fault_fsync;
	file_calls.ftruncate = fault_ftruncate;
	file_calls.close = fault_close;
	countdown = at;
	lasting = for_ever;
	wrong = reason;
}

static int play_until_error(struct job *j, const char *first_note)
{
	int done = 0;

	if (job_nevents(j) == 0 && add(j, JOB_BEGAN, "pair", "", "complaint") < 0)
		return 0;
	for (int i = 0; i < 5; i++)
		done += add(j, JOB_NOTED, first_note, NULL, NULL) == 0;
	return done;
}

/* Every call of the disk fails once or for ever, at every index: what was acknowledged is there when
 * the job is opened again, and nothing that was not - but for one event whose sync failed and that
 * could not be cut off either: it was said to be uncertain, and the job took no more. */
static void one_fault(int at, bool for_ever, int reason, bool *any)
{
	struct hs_err err = { 0 };
	long recovered = 0;
	struct job *j;
	bool torn;
	int done, nevents, found;

	fail_calls(at, for_ever, reason);
	j = job_create(dir, "disk", kn, &err);
	done = j ? play_until_error(j, "a note that is long enough to be torn") : 0;
	nevents = j ? job_nevents(j) : 0;
	torn = j && j->broken;
	*any = countdown <= 0;
	job_close(j);
	file_calls = file_real;
	if (!j) {
		assert_int_equal(err.code, HS_IO);
		assert_int_equal(access(path_of("disk.job"), F_OK), -1);
		return;
	}
	assert_true(done <= nevents);
	err_clear(&err);
	j = job_open(dir, "disk", kn, &recovered, &err);
	found = j ? job_nevents(j) : 0;
	assert_true(found == nevents || (torn && found == nevents + 1));
	job_close(j);
	unlink(path_of("disk.job"));
	unlink(path_of("disk.job.bad"));
}

static void test_every_fault_of_the_disk_at_every_call(void **state)
{
	static const int reasons[] = { ENOSPC, EIO, EDQUOT };
	int calls = 0;

	(void)state;
	for (size_t r = 0; r < sizeof reasons / sizeof *reasons; r++)
		for (int lasts = 0; lasts < 2; lasts++) {
			bool any = true;

			for (int at = 1; any; at++) {
				one_fault(at, lasts, reasons[r], &any);
				calls++;
			}
		}
	printf("# writing: %d runs, each with one call of the disk failing at another place, once and for "
	       "ever\n", calls);
	assert_true(calls > 200);
}

/* A torn job is opened while the disk fails: it is refused or opened whole, and nothing is lost either
 * way. */
static bool one_fault_of_recovery(int at, bool for_ever, const char *data, size_t size, int events)
{
	struct hs_err err = { 0 };
	long recovered = 0;
	struct job *j;
	bool any;

	put("torn.job", data, size);
	fail_calls(at, for_ever, EIO);
	j = job_open(dir, "torn", kn, &recovered, &err);
	any = countdown <= 0;
	if (j)
		assert_int_equal(job_nevents(j), events);
	else
		assert_int_equal(err.code, HS_IO);
	job_close(j);
	file_calls = file_real;
	err_clear(&err);
	j = job_open(dir, "torn", kn, &recovered, &err);
	assert_non_null(j);
	assert_int_equal(job_nevents(j), events);
	job_close(j);
	unlink(path_of("torn.job"));
	assert_int_equal(unlink(path_of("torn.job.bad")), 0);
	return any;
}

static void test_every_fault_of_the_disk_while_a_torn_job_is_opened(void **state)
{
	struct hs_err err = { 0 };
	struct job *j = job_create(dir, "full", kn, &err);
	size_t size;
	char *data;
	int runs = 0, events;

	(void)state;
	without_sync();
	play(j);
	events = job_nevents(j) - 1;
	job_close(j);
	file_calls = file_real;
	data = slurp("full.job", &size);
	for (int lasts = 0; lasts < 2; lasts++)
		for (int at = 1; one_fault_of_recovery(at, lasts, data, size - 3, events); at++)
			runs++;
	printf("# recovering: %d runs, each with one call of the disk failing at another place\n", runs);
	assert_true(runs >= 10);
	mem_free(data);
}

static void test_full_disk_says_so_and_goes_on(void **state)
{
	struct hs_err err = { 0 };
	struct job *j = job_create(dir, "full", kn, &err);
	struct job_event e = { .kind = JOB_NOTED, .field = { "a note of some length" } };
	size_t before, after;
	char *data;

	(void)state;
	assert_int_equal(add(j, JOB_BEGAN, "pair", "", "complaint"), 0);
	mem_free(slurp("full.job", &before));
	file_calls.write = fault_write;
	countdown = 1;
	lasting = 0;
	wrong = ENOSPC;
	assert_int_equal(job_add(j, &e, &err), -1);
	assert_int_equal(err.code, HS_IO);
	assert_non_null(strstr(err.text, "not saved"));
	assert_non_null(strstr(err.text, "space"));
	assert_int_equal(job_nevents(j), 1);
	mem_free(slurp("full.job", &after));
	assert_int_equal(after, before);
	err_clear(&err);
	assert_int_equal(job_add(j, &e, &err), 0);  /* room again: the same answer goes in */
	assert_int_equal(job_nevents(j), 2);
	job_close(j);
	data = slurp("full.job", &after);
	assert_true(after > before);
	mem_free(data);
}

static void test_folder_that_cannot_be_written(void **state)
{
	struct hs_err err = { 0 };
	char path[300];

	(void)state;
	put("a-file", "x", 1);
	snprintf(path, sizeof path, "%s/a-file/jobs", dir);
	assert_null(job_create(path, "one", kn, &err));
	assert_int_equal(err.code, HS_IO);
	assert_non_null(strstr(err.text, "a-file"));
	if (geteuid() == 0)
		return; /* permissions do not hold root back */
	err_clear(&err);
	assert_int_equal(chmod(dir, 0500), 0);
	assert_null(job_create(dir, "one", kn, &err));
	assert_int_equal(err.code, HS_IO);
	assert_int_equal(chmod(dir, 0700), 0);
}

static void test_folders_are_made_private(void **state)
{
	struct hs_err err = { 0 };
	struct stat s;
	char path[200];
	struct job *j;

	(void)state;
	snprintf(path, sizeof path, "%s/some/where", dir);
	j = job_create(path, "one", kn, &err);
	assert_non_null(j);
	assert_int_equal(stat(path, &s), 0);
	assert_int_equal(s.st_mode & 07777, 0700);
	snprintf(path, sizeof path, "%s/some/where/one.job", dir);
	assert_int_equal(stat(path, &s), 0);
	assert_int_equal(s.st_mode & 07777, 0600);
	job_close(j);
}

static void test_names_that_are_refused(void **state)
{
	static const char *const bad[] = { "", ".", "..", ".x", "-x", "a/b", "a b", "\xc3\xa4", "a\n",
		"0123456789012345678901234567890123456789012345678901234567890123x" };
	struct hs_err err = { 0 };

	(void)state;
	for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
		err_clear(&err);
		assert_null(job_create(dir, bad[i], kn, &err));
		assert_int_equal(err.code, HS_BAD_INPUT);
	}
}

/* ---- undo and redo ------------------------------------------------------------------------------------ */

static void test_undo_equals_never_said(void **state)
{
	struct hs_err err = { 0 };
	struct job *a = job_new(kn), *b = job_new(kn);
	struct text what = { 0 };

	(void)state;
	play(a);
	play(b);
	assert_int_equal(add(a, JOB_ANSWERED, "header-touch", "", "one-cold 2"), 0);
	assert_int_equal(job_undo(a, &what, &err), 0);
	assert_non_null(strstr(text_str(&what), "one-cold 2"));
	assert_same_view(a, b);
	text_free(&what);
	job_close(a);
	job_close(b);
}

static unsigned next_random(unsigned *seed)
{
	*seed = *seed * 1664525u + 1013904223u;
	return *seed >> 8;
}

struct model { const char *answer[64]; int n; const char *undone[64]; int nundone; };

static void random_step(struct job *j, struct model *m, unsigned *seed)
{
	static const char *const answers[] = { "smell=strong", "smell=none", "pump=x", "header=alike",
					       "header=one-cold 1" };
	struct hs_err err = { 0 };
	unsigned what = next_random(seed) % 4;

	if (what == 0) {
		int done = job_undo(j, NULL, &err);

		assert_int_equal(done, m->n ? 0 : -1);
		if (m->n)
			m->undone[m->nundone++] = m->answer[--m->n];
	} else if (what == 1) {
		int done = job_redo(j, NULL, &err);

		assert_int_equal(done, m->nundone ? 0 : -1);
		if (m->nundone)
			m->answer[m->n++] = m->undone[--m->nundone];
	} else {
		const char *a = answers[next_random(seed) % 5];

		assert_int_equal(add(j, JOB_ANSWERED, a[0] == 's' ? "smell" : a[0] == 'p' ? "pump-hums"
						      : "header-touch", "", strchr(a, '=') + 1), 0);
		m->answer[m->n++] = a;
		m->nundone = 0;
	}
}

/* Any sequence of answers, steps back and forward equals a fresh job with what is left. */
static void test_random_undo_and_redo_equal_a_fresh_job(void **state)
{
	struct hs_err err = { 0 };
	unsigned seed = 7;

	(void)state;
	for (int round = 0; round < 20; round++) {
		struct job *a = job_new(kn), *b = job_new(kn);
		struct model m = { .n = 0 };

		assert_int_equal(add(a, JOB_BEGAN, "pair", "", "complaint"), 0);
		assert_int_equal(add(b, JOB_BEGAN, "pair", "", "complaint"), 0);
		for (int i = 0; i < 40; i++)
			random_step(a, &m, &seed);
		for (int i = 0; i < m.n; i++) {
			const char *s = m.answer[i];

			assert_int_equal(add(b, JOB_ANSWERED, s[0] == 's' ? "smell" : s[0] == 'p'
					 ? "pump-hums" : "header-touch", "", strchr(s, '=') + 1), 0);
		}
		assert_int_equal(job_view(a, &err)->nundo, m.n);
		assert_int_equal(job_view(a, &err)->nredo, m.nundone);
		assert_same_view(a, b);
		job_close(a);
		job_close(b);
	}
}

/* ---- lists ---------------------------------------------------------------------------------------------- */

static void test_list_is_newest_first(void **state)
{
	struct hs_err err = { 0 };
	struct job_summary *jobs = NULL;
	char machine[65], digest[17];
	struct job *j;

	(void)state;
	j = job_create(dir, "first", kn, &err);
	play(j);
	job_close(j);
	j = job_create(dir, "second", kn, &err);
	play(j);
	assert_int_equal(job_add(j, &(struct job_event){ .kind = JOB_NOTED, .when = 1800000000,
							 .field = { "later" } }, &err), 0);
	put("broken.job", "no job", 6);
	assert_int_equal(job_list(dir, &jobs, &err), 2);   /* an open one is listed too */
	assert_string_equal(jobs[0].id, "second");
	assert_string_equal(jobs[1].id, "first");
	assert_string_equal(jobs[1].machine, "pair");
	assert_string_equal(jobs[1].complaint, "flooding");
	assert_int_equal(jobs[0].changed, 1800000000);
	assert_int_equal(jobs[1].nevents, 13);
	mem_free(jobs);
	job_close(j);
	assert_int_equal(job_peek(dir, "first", machine, digest, &err), 0);
	assert_string_equal(machine, "pair");
	assert_string_equal(digest, kn->digest);
}

static void test_fresh_id_is_new(void **state)
{
	struct hs_err err = { 0 };
	char one[65], two[65];

	(void)state;
	job_fresh_id(dir, "pair", one);
	job_close(job_create(dir, one, kn, &err));
	job_fresh_id(dir, "pair", two);
	assert_string_not_equal(one, two);
	assert_memory_equal(one, "pair-2", 6);
}

static void test_default_folder_follows_xdg(void **state)
{
	char out[200];

	(void)state;
	setenv("XDG_DATA_HOME", "/some/data", 1);
	job_default_dir(out, sizeof out);
	assert_string_equal(out, "/some/data/halfsplit/jobs");
	setenv("XDG_DATA_HOME", "relative", 1); /* XDG base directory 0.8: relative paths are invalid */
	setenv("HOME", "/home/me", 1);
	job_default_dir(out, sizeof out);
	assert_string_equal(out, "/home/me/.local/share/halfsplit/jobs");
	unsetenv("XDG_DATA_HOME");
}

#define WITH_FOLDER(f) cmocka_unit_test_setup_teardown(f, folder, no_folder)

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_checksum_against_published_value),
		WITH_FOLDER(test_golden_file_opens),
		WITH_FOLDER(test_writer_makes_the_golden_bytes),
		WITH_FOLDER(test_every_byte_comes_back),
		WITH_FOLDER(test_unknown_kind_is_kept_and_skipped),
		WITH_FOLDER(test_replay_equals_live),
		WITH_FOLDER(test_every_prefix_opens),
		WITH_FOLDER(test_every_flipped_bit_is_found),
		WITH_FOLDER(test_missing_doubled_and_swapped_lines_are_found),
		WITH_FOLDER(test_foreign_files_are_refused),
		WITH_FOLDER(test_symbolic_link_is_not_followed),
		WITH_FOLDER(test_second_writer_is_refused),
		WITH_FOLDER(test_every_fault_of_the_disk_at_every_call),
		WITH_FOLDER(test_every_fault_of_the_disk_while_a_torn_job_is_opened),
		WITH_FOLDER(test_full_disk_says_so_and_goes_on),
		WITH_FOLDER(test_folder_that_cannot_be_written),
		WITH_FOLDER(test_folders_are_made_private),
		WITH_FOLDER(test_names_that_are_refused),
		cmocka_unit_test(test_undo_equals_never_said),
		cmocka_unit_test(test_random_undo_and_redo_equal_a_fresh_job),
		WITH_FOLDER(test_list_is_newest_first),
		WITH_FOLDER(test_fresh_id_is_new),
		cmocka_unit_test(test_default_folder_follows_xdg),
	};

	return cmocka_run_group_tests(tests, set_up, tear_down);
}
