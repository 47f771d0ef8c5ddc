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

/* Events of a file, read without knowledge and without a lock; -1 when it is no job. */
static int read_file(const char *dir, const char *id, struct job *j, struct hs_err *err)
{
	char path[4300];
	size_t size, at = strlen(JOB_HEADER);
	unsigned crc = job_crc(0, JOB_HEADER, at);
	char *data;

	memset(j, 0, sizeof *j);
	j->fd = j->dir_fd = -1;
	snprintf(path, sizeof path, "%.4095s/%s.job", dir, id);
	data = file_read(path, SUMMARY_BYTES, &size, err);
	if (!data)
		return -1;
	j->arena = arena_new();
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
	mem_free(data);
	if (j->nevents > 0 && j->events[0].kind == JOB_BEGAN)
		return 0;
	return err_set(err, HS_BAD_JOB, "%s.job is not a job of this program, or it is damaged from its "
		       "beginning.", id);
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

int job_list(const char *dir, struct job_summary **out, struct hs_err *err)
{
	DIR *d = opendir(dir);
	struct dirent *entry;
	int n = 0, cap = 0;

	*out = NULL;
	if (!d)
		return errno == ENOENT ? 0 : err_set(err, HS_IO, "The job folder %s cannot be read: %s.", dir,
						     file_reason(errno));
	while ((entry = readdir(d))) {
		size_t length = strlen(entry->d_name);
		char id[65];
		struct job j;

		if (length < 5 || length > 68 || strcmp(entry->d_name + length - 4, ".job") != 0)
			continue;
		snprintf(id, sizeof id, "%.*s", (int)length - 4, entry->d_name);
		if (!journal_id_good(id))
			continue;
		if (n == cap) {
			cap = cap ? cap * 2 : 32;
			*out = mem_resize_array(*out, (size_t)cap, sizeof **out);
		}
		if (read_file(dir, id, &j, NULL) == 0) {
			snprintf(j.id, sizeof j.id, "%s", id);
			job_summarise(&j, &(*out)[n++]);
		}
		if (j.arena)
			forget(&j);
	}
	closedir(d);
	if (n)
		qsort(*out, (size_t)n, sizeof **out, newest_first);
	return n;
}
