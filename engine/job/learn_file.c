/* The file of what was learned: text, one count a line, and the keys of the jobs counted. */
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "base/mem.h"
#include "job/inner.h"
#include "job/learn.h"

#define LEARNED_HEADER "halfsplit-learned 1"
#define LEARNED_BYTES (64u << 20)

void learned_path(const char *job_dir, struct text *out)
{
	char own[4096];
	size_t n;

	job_default_dir(own, sizeof own);
	if (job_dir && strcmp(job_dir, own) != 0) {
		text_addf(out, "%s/learned", job_dir);
		return;
	}
	n = strlen(own) - strlen("jobs");
	text_addn(out, own, n);
	text_add(out, "learned");
}

/* "mode REF COUNT", "job KEY", "jobs N"; empty lines and those with # are for people. */
static int take_line(struct learned *l, const char *line)
{
	struct learned_mode m = { .count = 0 };
	struct learned_key k;
	int used = 0, jobs;

	if (!*line || *line == '#')
		return 0;
	if (sscanf(line, "mode %130s %lf%n", m.ref, &m.count, &used) == 2 && !line[used] &&
	    m.count >= 0 && m.count < 1e9) {
		l->modes = mem_resize_array(l->modes, (size_t)l->nmodes + 1, sizeof *l->modes);
		l->modes[l->nmodes++] = m;
		return l->nmodes < 2 || strcmp(l->modes[l->nmodes - 2].ref, m.ref) < 0 ? 0 : -1;
	}
	memset(&k, 0, sizeof k);
	if (sscanf(line, "job %25s%n", k.key, &used) == 1 && !line[used]) {
		if ((l->nkeys & (l->nkeys - 1)) == 0)
			l->keys = mem_resize_array(l->keys, l->nkeys ? (size_t)l->nkeys * 2 : 1,
						   sizeof *l->keys);
		l->keys[l->nkeys++] = k;
		return l->nkeys < 2 || strcmp(l->keys[l->nkeys - 2].key, k.key) < 0 ? 0 : -1;
	}
	if (sscanf(line, "jobs %d%n", &jobs, &used) == 1 && !line[used] && jobs >= 0) {
		l->njobs = jobs;
		return 0;
	}
	return -1;
}

static int bad_line(const char *path, int line, struct hs_err *err)
{
	return err_at(err, HS_BAD_JOB, path, line, "This is no line of learned counts. Mend it, or delete the "
		      "file to forget what was learned.");
}

int learned_read(struct learned *l, const char *path, struct hs_err *err)
{
	char *data, *line, *end;
	size_t size;
	int n = 0, result = 0;

	memset(l, 0, sizeof *l);
	if (access(path, F_OK) < 0 && errno == ENOENT)
		return 0;
	data = file_read(path, LEARNED_BYTES, &size, err);
	if (!data)
		return -1;
	if (strncmp(data, LEARNED_HEADER "\n", strlen(LEARNED_HEADER) + 1) != 0)
		result = bad_line(path, 1, err);
	for (line = data; result == 0 && (end = strchr(line, '\n')); line = end + 1) {
		*end = '\0';
		if (n++ > 0 && take_line(l, line) < 0)
			result = bad_line(path, n, err);
	}
	mem_free(data);
	if (result < 0)
		learned_free(l);
	return result;
}

static void write_out(const struct learned *l, struct text *t)
{
	text_add(t, LEARNED_HEADER "\n"
		 "# What was found in the jobs closed here, counted into the frequencies of the trees.\n"
		 "# Written by `halfsplit learn`; delete this file to forget it.\n");
	text_addf(t, "jobs %d\n", l->njobs);
	for (int i = 0; i < l->nmodes; i++)
		text_addf(t, "mode %s %.6g\n", l->modes[i].ref, l->modes[i].count);
	text_add(t, "# Jobs counted, so that each counts once.\n");
	for (int i = 0; i < l->nkeys; i++)
		text_addf(t, "job %s\n", l->keys[i].key);
}

/* Written aside, synced, then put in the place of the old one: there is always a whole one. */
int learned_write(const struct learned *l, const char *path, struct hs_err *err)
{
	struct text t = { 0 }, aside = { 0 };
	int fd, result = -1;

	write_out(l, &t);
	text_addf(&aside, "%s.new", path);
	fd = file_calls.open(AT_FDCWD, text_str(&aside), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC | O_NOFOLLOW,
			     0600);
	if (fd < 0) {
		err_set(err, HS_IO, "%s cannot be written: %s.", text_str(&aside), file_reason(errno));
	} else {
		result = file_write_all(fd, text_str(&t), t.len, err);
		if (result == 0 && file_calls.fsync(fd) < 0)
			result = err_set(err, HS_IO, "%s is not certain to be on the disk: %s.",
					 text_str(&aside), file_reason(errno));
		file_calls.close(fd);
		if (result == 0 && file_calls.rename(AT_FDCWD, text_str(&aside), AT_FDCWD, path) < 0)
			result = err_set(err, HS_IO, "%s cannot be replaced: %s.", path, file_reason(errno));
		if (result < 0)
			unlink(text_str(&aside));
	}
	text_free(&t);
	text_free(&aside);
	return result;
}
