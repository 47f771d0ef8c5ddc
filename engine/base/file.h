/* Files: a table of system calls that tests can replace, and whole-file reading with a cap. */
#ifndef BASE_FILE_H
#define BASE_FILE_H

#include <stddef.h>
#include <sys/types.h>

#include "base/err.h"

/* Every call that touches a job file goes through this table, so that a test can make the n-th
 * one fail (docs/robustness.md B3).  file_real is the system; file_calls is what is used. */
struct file_calls {
	int (*open)(int dir, const char *path, int flags, mode_t mode);
	ssize_t (*write)(int fd, const void *data, size_t size);
	int (*fdatasync)(int fd);
	int (*fsync)(int fd);
	int (*ftruncate)(int fd, off_t size);
	int (*rename)(int from_dir, const char *from, int to_dir, const char *to);
	int (*close)(int fd);
};
extern const struct file_calls file_real;
extern struct file_calls file_calls;

/* The whole of a regular file, at most `cap` bytes, NUL-terminated; size in *size.  Pipes,
 * devices and larger files are refused.  The caller frees with mem_free(). */
char *file_read(const char *path, size_t cap, size_t *size, struct hs_err *err);

/* Writes all of it (short writes and EINTR handled). 0 or -1 with err. */
int file_write_all(int fd, const void *data, size_t size, struct hs_err *err);

/* "no space left on the disk" and so on: plain words for an errno, never its number. */
const char *file_reason(int error_number);

#endif
