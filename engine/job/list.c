/* Jobs of a folder; where they are; names for new ones. */
#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "base/file.h"
#include "base/mem.h"
#include "job/inner.h"

#define SUMMARY_BYTES (16u << 20)

void job_default_dir(char *out, int size)
{
	const char *data = getenv("XDG_DATA_HOME"), *home = getenv("HOME");

	if (data && data[0] == '/')
		snprintf(out, (size_t)size, "%s/halfsplit/jobs", data);
	else
		snprintf(out, (size_t)size, "%s/.local/share/halfsplit/jobs",
			 home && home[0] == '/' ? home : "");
}

void job_fresh_id(const char *dir, const char *machine, char out[65])
{
	time_t now = time(NULL);
	struct tm local;
	char day[16], path[4300];

	localtime_r(&now, &local);
	strftime(day, sizeof day, "%Y-%m-%d", &local);
	for (int n = 1; n < 10000; n++) {
		snprintf(out, 65, "%.30s-%s-%d", machine, day, n);
		snprintf(path, sizeof path, "%.4095s/%s.job", dir, out);
		if (access(path, F_OK) < 0)
			return;
	}
}

/* Events out of the bytes of a file; -1 when it is no job. */
static int take_events(const char *data, size_t size, const char *id, struct job *j, struct hs_err *err)
{
	size_t at = strlen(JOB_HEADER);
	unsigned crc = job_crc(0, JOB_HEADER, at);

	if (size < at || memcmp(data, JOB_HEADER, at) != 0)
		at = size;
	while (at < size) {
		const char *end = memchr(data + at, '\n', size - at);
		struct job_event e;

		if (!end || job_event_read(data + at, (size_t)(end - data) - at, crc, j->nevents + 1, j->arena,
					   &e, &crc) < 0)
			break;
		job_take(j, &e);
		at = (size_t)(end - data) + 1;
	}
	if (j->nevents > 0 && j->events[0].kind == JOB_BEGAN)
		return 0;
	return err_set(err, HS_BAD_JOB, "%s.job is not a job of this program, or it is damaged from its "
		       "beginning.", id);
}

static void blank(struct job *j)
{
	memset(j, 0, sizeof *j);
	j->fd = j->dir_fd = -1;
	j->arena = arena_new();
}

/* Events of a file, read without knowledge and without a lock; -1 when it is no job. */
static int read_file(const char *dir, const char *id, struct job *j, struct hs_err *err)
{
	char path[4300];
	size_t size;
	char *data;
	int result;

	blank(j);
	snprintf(path, sizeof path, "%.4095s/%s.job", dir, id);
	data = file_read(path, SUMMARY_BYTES, &size, err);
	if (!data)
		return -1;
	result = take_events(data, size, id, j, err);
	mem_free(data);
	return result;
}

struct job *job_read(const char *dir, const char *id, const struct kn_knowledge *kn, struct hs_err *err)
{
	struct job *j = mem_alloc(sizeof *j);

	if (!journal_id_good(id))
		err_set(err, HS_NOT_FOUND, "There is no job \"%s\".", id);
	else if (read_file(dir, id, j, err) == 0) {
		snprintf(j->id, sizeof j->id, "%s", id);
		j->kn = kn;
		return j;
	}
	job_close(j);
	return NULL;
}

bool job_mentions(const struct job *j, const char *word)
{
	if (strcasestr(j->id, word))
		return true;
	for (int i = 0; i < j->nevents; i++)
		for (int f = 0; j->in_force[i] && f < job_kind_fields(j->events[i].kind); f++)
			if (strcasestr(j->events[i].field[f], word))
				return true;
	return false;
}

static void forget(struct job *j)
{
	arena_free(j->arena);
	mem_free(j->events);
	mem_free(j->said);
	mem_free(j->in_force);
}

int job_peek(const char *dir, const char *id, char machine[65], char digest[17], struct hs_err *err)
{
	struct job j;
	int result;

	if (!journal_id_good(id))
		return err_set(err, HS_NOT_FOUND, "There is no job \"%s\".", id);
	result = read_file(dir, id, &j, err);
	if (result == 0) {
		snprintf(machine, 65, "%.64s", j.events[0].field[0]);
		snprintf(digest, 17, "%.16s", j.events[0].field[1]);
	}
	if (j.arena)
		forget(&j);
	return result;
}

void job_summarise(const struct job *j, struct job_summary *s)
{
	const char *state = "open";

	memset(s, 0, sizeof *s);
	snprintf(s->id, sizeof s->id, "%s", j->id);
	snprintf(s->machine, sizeof s->machine, "%.64s", j->events[0].field[0]);
	for (int i = 0; i < j->nevents; i++) {
		const struct job_event *e = &j->events[i];
		size_t have = strlen(s->complaint);

		if (e->when > s->changed)
			s->changed = e->when;
		if (!j->in_force[i])
			continue;
		if (e->kind == JOB_COMPLAINED)
			snprintf(s->complaint + have, sizeof s->complaint - have, "%s%s", have ? ", " : "",
				 e->field[0]);
		if (e->kind == JOB_REPAIRED)
			state = "to be verified";
		if (e->kind == JOB_CLOSED)
			state = strcmp(e->field[0], "reopened") == 0 ? "open" : e->field[0];
		if (e->kind == JOB_CLOSED)
			snprintf(s->due, sizeof s->due, "%.10s", strcmp(e->field[0], "watch") == 0
				 ? e->field[2] : "");
	}
	snprintf(s->state, sizeof s->state, "%.32s", state);
	s->nevents = j->nevents;
}

static int newest_first(const void *a, const void *b)
{
	const struct job_summary *x = a, *y = b;

	if (x->changed != y->changed)
		return x->changed > y->changed ? -1 : 1;
	return strcmp(y->id, x->id);
}

/* One buffer for all files of a folder: three system calls a file. */
struct reader { int dir; char *data; size_t room; };

static bool regular(int fd, const struct dirent *entry)
{
	struct stat s;

	if (entry->d_type != DT_UNKNOWN)
		return entry->d_type == DT_REG;
	return fstat(fd, &s) == 0 && S_ISREG(s.st_mode);
}

/* Bytes read; -1 when it cannot be read or is too large. */
static ssize_t read_whole(struct reader *r, const struct dirent *entry)
{
	int fd = openat(r->dir, entry->d_name, O_RDONLY | O_CLOEXEC | O_NOFOLLOW | O_NONBLOCK);
	size_t used = 0;
	ssize_t got = -1;

	while (fd >= 0 && used < SUMMARY_BYTES && (used || regular(fd, entry))) {
		if (used == r->room)
			r->data = mem_resize(r->data, r->room = r->room ? r->room * 2 : 1u << 16);
		got = read(fd, r->data + used, r->room - used);
		if (got < 0 && errno == EINTR)
			continue;
		used += got > 0 ? (size_t)got : 0;
		if (got < 0 || used < r->room) /* a short read of a file is its end */
			break;
	}
	if (fd >= 0)
		close(fd);
	return got < 0 || used >= SUMMARY_BYTES ? -1 : (ssize_t)used;
}

/* Is it the name of a job? Its id. */
static bool id_of(const char *name, char id[65])
{
	size_t length = strlen(name);

	if (length < 5 || length > 68 || strcmp(name + length - 4, ".job") != 0)
		return false;
	snprintf(id, 65, "%.*s", (int)length - 4, name);
	return journal_id_good(id);
}

static bool summary_of(struct reader *r, const struct dirent *entry, const char *id,
		       struct job_summary *out)
{
	ssize_t size = read_whole(r, entry);
	struct job j;
	bool good;

	if (size < 0)
		return false;
	blank(&j);
	snprintf(j.id, sizeof j.id, "%s", id);
	good = take_events(r->data, (size_t)size, id, &j, NULL) == 0;
	if (good)
		job_summarise(&j, out);
	forget(&j);
	return good;
}

int job_list(const char *dir, struct job_summary **out, struct hs_err *err)
{
	DIR *d = opendir(dir);
	struct reader r = { 0 };
	struct dirent *entry;
	char id[65];
	int n = 0, cap = 0;

	*out = NULL;
	if (!d)
		return errno == ENOENT ? 0 : err_set(err, HS_IO, "The job folder %s cannot be read: %s.", dir,
						     file_reason(errno));
	r.dir = dirfd(d);
	while ((entry = readdir(d))) {
		if (!id_of(entry->d_name, id))
			continue;
		if (n == cap) {
			cap = cap ? cap * 2 : 32;
			*out = mem_resize_array(*out, (size_t)cap, sizeof **out);
		}
		n += summary_of(&r, entry, id, &(*out)[n]);
	}
	closedir(d);
	mem_free(r.data);
	if (n)
		qsort(*out, (size_t)n, sizeof **out, newest_first);
	return n;
}
