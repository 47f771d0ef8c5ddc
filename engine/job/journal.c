/* The job's file: append, sync, and only then it counts.  docs/job-file.md, docs/robustness.md. */
#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/file.h"
#include "base/mem.h"
#include "job/inner.h"

#define JOB_BYTES_MAX (64u << 20)

bool journal_id_good(const char *id)
{
	size_t n = strlen(id);

	return n > 0 && n <= 64 && id[0] != '.' && id[0] != '-' &&
	       strspn(id, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789._-") == n;
}

/* Makes the folder and those above it, 0700. */
static int make_folder(const char *dir, struct hs_err *err)
{
	char path[4096];

	if (strlen(dir) >= sizeof path)
		return err_set(err, HS_IO, "The path of the job folder is too long.");
	strcpy(path, dir);
	for (char *s = path + 1; *s; s++)
		if (*s == '/') {
			*s = '\0';
			if (mkdir(path, 0700) < 0 && errno != EEXIST)
				return err_set(err, HS_IO, "The folder %s cannot be made: %s.", path,
					       file_reason(errno));
			*s = '/';
		}
	if (mkdir(path, 0700) < 0 && errno != EEXIST)
		return err_set(err, HS_IO, "The folder %s cannot be made: %s.", path, file_reason(errno));
	return 0;
}

static int open_folder(struct job *j, bool make, struct hs_err *err)
{
	if (make && make_folder(j->dir, err) < 0)
		return -1;
	j->dir_fd = open(j->dir, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
	if (j->dir_fd < 0)
		return err_set(err, HS_IO, "The job folder %s cannot be opened: %s.", j->dir,
			       file_reason(errno));
	return 0;
}

static void file_name(const struct job *j, char out[80], const char *ending)
{
	strcpy(out, j->id);
	strcat(out, ending);
}

static int lock(struct job *j, struct hs_err *err)
{
	if (flock(j->fd, LOCK_EX | LOCK_NB) == 0)
		return 0;
	return err_set(err, HS_BAD_JOB, "The job %s is open in another window. Close it there first.", j->id);
}

static int begin_file(struct job *j, struct hs_err *err)
{
	j->crc = job_crc(0, JOB_HEADER, strlen(JOB_HEADER));
	j->size = (long long)strlen(JOB_HEADER);
	if (file_write_all(j->fd, JOB_HEADER, strlen(JOB_HEADER), err) < 0)
		return -1;
	if (file_calls.fsync(j->fd) < 0 || file_calls.fsync(j->dir_fd) < 0)
		return err_set(err, HS_IO, "It is not certain that the job is on the disk: %s.",
			       file_reason(errno));
	return 0;
}

int journal_create(struct job *j, struct hs_err *err)
{
	char name[80];

	if (!journal_id_good(j->id))
		return err_set(err, HS_BAD_INPUT, "\"%s\" cannot name a job: letters, digits, point, dash and "
			       "underscore, 64 at most.", j->id);
	if (open_folder(j, true, err) < 0)
		return -1;
	file_name(j, name, ".job");
	j->fd = file_calls.open(j->dir_fd, name, O_RDWR | O_APPEND | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW,
				0600);
	if (j->fd < 0)
		return err_set(err, errno == EEXIST ? HS_BAD_JOB : HS_IO,
			       errno == EEXIST ? "There is a job %s already (%s)."
					       : "The job %s cannot be written: %s.",
			       j->id, file_reason(errno));
	if (lock(j, err) < 0)
		return -1;
	if (begin_file(j, err) == 0)
		return 0;
	unlinkat(j->dir_fd, name, 0);
	return -1;
}

/* Nothing counts before it is on the disk; what came half-way is cut off again. */
int journal_append(struct job *j, const char *line, size_t n, struct hs_err *err)
{
	struct hs_err why = { 0 };

	if (j->fd < 0)
		return 0;
	if (j->broken)
		return err_set(err, HS_IO, "An earlier write to this job failed. Leave, make room, and resume.");
	if (file_write_all(j->fd, line, n, &why) == 0 && file_calls.fdatasync(j->fd) < 0)
		err_set(&why, HS_IO, "It is not certain to be on the disk: %s.", file_reason(errno));
	if (why.code != HS_OK) {
		err_set(err, HS_IO, "This is not saved. %s", why.text);
		j->broken = file_calls.ftruncate(j->fd, (off_t)j->size) < 0;
		return -1;
	}
	j->size += (long long)n;
	return 0;
}

/* ---- opening ----------------------------------------------------------------------------------------- */

/* The bytes behind the last good line go to ID.job.bad, never away. */
static int set_aside(struct job *j, const char *data, size_t n, struct hs_err *err)
{
	char name[80];
	int fd, result;

	file_name(j, name, ".job.bad");
	fd = file_calls.open(j->dir_fd, name, O_WRONLY | O_APPEND | O_CREAT | O_CLOEXEC | O_NOFOLLOW, 0600);
	if (fd < 0)
		return err_set(err, HS_IO, "Damaged bytes of the job cannot be set aside: %s.",
			       file_reason(errno));
	result = file_write_all(fd, data, n, err);
	if (result == 0 && file_calls.fsync(fd) < 0)
		result = err_set(err, HS_IO, "Damaged bytes of the job cannot be set aside: %s.",
				 file_reason(errno));
	file_calls.close(fd);
	return result;
}

/* Takes whole lines as long as they are good; returns the bytes they hold. */
static size_t good_part(struct job *j, const char *data, size_t size)
{
	size_t at = strlen(JOB_HEADER);

	j->crc = job_crc(0, JOB_HEADER, at);
	while (at < size) {
		const char *end = memchr(data + at, '\n', size - at);
		struct job_event e;
		unsigned crc;

		if (!end || j->nevents == JOB_EVENTS_MAX ||
		    job_event_read(data + at, (size_t)(end - data) - at, j->crc, j->nevents + 1, j->arena, &e,
				   &crc) < 0)
			break;
		job_take(j, &e);
		j->crc = crc;
		at = (size_t)(end - data) + 1;
	}
	return at;
}

static int read_events(struct job *j, const char *data, size_t size, long *recovered,
		       struct hs_err *err)
{
	size_t header = strlen(JOB_HEADER), good;

	if (size < header || memcmp(data, JOB_HEADER, header) != 0)
		return err_set(err, HS_BAD_JOB, "%s.job is not a job of this program, or its first line is "
			       "damaged.", j->id);
	good = good_part(j, data, size);
	j->size = (long long)good;
	*recovered = (long)(size - good);
	if (good == size)
		return 0;
	if (set_aside(j, data + good, size - good, err) < 0)
		return -1;
	if (file_calls.ftruncate(j->fd, (off_t)good) < 0 || file_calls.fsync(j->fd) < 0)
		return err_set(err, HS_IO, "The damaged end of the job cannot be cut off: %s.",
			       file_reason(errno));
	return 0;
}

int journal_open(struct job *j, long *recovered, struct hs_err *err)
{
	char name[80], path[4200];
	size_t size;
	char *data;
	int result;

	*recovered = 0;
	if (!journal_id_good(j->id))
		return err_set(err, HS_NOT_FOUND, "There is no job \"%s\".", j->id);
	if (open_folder(j, false, err) < 0)
		return -1;
	file_name(j, name, ".job");
	j->fd = file_calls.open(j->dir_fd, name, O_RDWR | O_APPEND | O_CLOEXEC | O_NOFOLLOW, 0);
	if (j->fd < 0)
		return err_set(err, errno == ENOENT ? HS_NOT_FOUND : HS_IO,
			       errno == ENOENT ? "There is no job %s (%s)." : "The job %s cannot be opened: %s.",
			       j->id, file_reason(errno));
	if (lock(j, err) < 0)
		return -1;
	strcpy(path, j->dir);
	strcat(path, "/");
	strcat(path, name);
	data = file_read(path, JOB_BYTES_MAX, &size, err);
	if (!data)
		return -1;
	result = read_events(j, data, size, recovered, err);
	mem_free(data);
	return result;
}

void journal_close(struct job *j)
{
	if (j->fd >= 0)
		file_calls.close(j->fd);
	if (j->dir_fd >= 0)
		file_calls.close(j->dir_fd);
}
