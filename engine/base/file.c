/* The replaceable system calls, reading a whole file, writing all of a buffer. */
#include "base/file.h"

#include <errno.h>
#include <fcntl.h>
#include <stdint.h>
#include <stdio.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/mem.h"

static int real_open(int dir, const char *path, int flags, mode_t mode)
{
	return openat(dir, path, flags, mode);
}

const struct file_calls file_real = {
	.open = real_open,
	.write = write,
	.fdatasync = fdatasync,
	.fsync = fsync,
	.ftruncate = ftruncate,
	.rename = renameat,
	.close = close,
};

struct file_calls file_calls = {
	.open = real_open,
	.write = write,
	.fdatasync = fdatasync,
	.fsync = fsync,
	.ftruncate = ftruncate,
	.rename = renameat,
	.close = close,
};

const char *file_reason(int error_number)
{
	switch (error_number) {
	case ENOENT:
	case ENOTDIR: return "there is no such file or folder";
	case EACCES:
	case EPERM: return "permission is refused";
	case EEXIST: return "it exists already";
	case EISDIR: return "it is a folder";
	case ENOTEMPTY: return "the folder is not empty";
	case ENOSPC: return "no space is left on the disk";
	case EDQUOT: return "your share of the disk is used up";
	case EFBIG: return "the file would become too large";
	case EROFS: return "the disk is read-only";
	case EIO: return "the disk reports an error";
	case ENODEV:
	case ENXIO: return "the device is not there";
	case ELOOP: return "it is a symbolic link where none is allowed";
	case ENAMETOOLONG: return "the name is too long";
	case EMFILE:
	case ENFILE: return "too many files are open";
	case EBUSY:
	case ETXTBSY: return "it is in use";
	case EAGAIN: return "it is in use by another program";
	case EXDEV: return "it lies on another disk";
	case EPIPE: return "the reader has gone away";
	case EINTR: return "it was interrupted";
	case ENOMEM: return "memory is exhausted";
	case ESTALE: return "the network disk has lost it";
	default: return "the system refused without a reason we know";
	}
}

/* Reads until the end; one byte more than `cap` is asked for, so that a file that grows while it
 * is read is noticed. */
static char *read_all(int fd, const char *path, size_t expected, size_t cap, size_t *size,
		      struct hs_err *err)
{
	size_t room = (expected < cap ? expected : cap) + 1, used = 0;
	char *data = mem_alloc(room + 1);

	for (;;) {
		ssize_t got = read(fd, data + used, room - used);
		if (got < 0 && errno == EINTR)
			continue;
		if (got < 0) {
			err_at(err, HS_IO, path, 0, "The file cannot be read: %s.",
			       file_reason(errno));
			break;
		}
		used += (size_t)got;
		if (used > cap) {
			err_at(err, HS_LIMIT, path, 0,
			       "The file is larger than the %zu bytes that are allowed.", cap);
			break;
		}
		if (got == 0) {
			data[used] = '\0';
			*size = used;
			return data;
		}
		if (used == room) {
			room = room < cap / 2 ? room * 2 : cap + 1;
			data = mem_resize(data, room + 1);
		}
	}
	mem_free(data);
	return NULL;
}

/* Only regular files: a pipe or a device may never end, and may never begin. */
static int check_kind(int fd, const char *path, size_t cap, size_t *expected, struct hs_err *err)
{
	struct stat st;

	if (fstat(fd, &st) != 0)
		return err_at(err, HS_IO, path, 0, "The file cannot be read: %s.",
			      file_reason(errno));
	if (S_ISDIR(st.st_mode))
		return err_at(err, HS_IO, path, 0,
			      "This is a folder, not a file. Give the name of a file in it.");
	if (!S_ISREG(st.st_mode))
		return err_at(err, HS_IO, path, 0,
			      "This is a pipe or a device, not an ordinary file. Copy what it "
			      "holds into a file first.");
	if ((uintmax_t)st.st_size > cap)
		return err_at(err, HS_LIMIT, path, 0,
			      "The file has %jd bytes; more than %zu are not allowed.",
			      (intmax_t)st.st_size, cap);
	*expected = (size_t)st.st_size;
	return 0;
}

char *file_read(const char *path, size_t cap, size_t *size, struct hs_err *err)
{
	/* O_NONBLOCK: opening a pipe without a writer must not wait. */
	int fd = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK | O_NOCTTY);
	size_t expected = 0;
	char *data = NULL;

	*size = 0;
	if (fd < 0) {
		err_at(err, errno == ENOENT || errno == ENOTDIR ? HS_NOT_FOUND : HS_IO, path, 0,
		       "The file cannot be opened: %s.", file_reason(errno));
		return NULL;
	}
	if (cap > SIZE_MAX - 2)
		cap = SIZE_MAX - 2;
	if (check_kind(fd, path, cap, &expected, err) == 0)
		data = read_all(fd, path, expected, cap, size, err);
	close(fd);
	return data;
}

int file_write_all(int fd, const void *data, size_t size, struct hs_err *err)
{
	const char *p = data;

	while (size > 0) {
		ssize_t done = file_calls.write(fd, p, size);
		if (done < 0 && errno == EINTR)
			continue;
		if (done < 0)
			return err_set(err, HS_IO, "Writing failed: %s.", file_reason(errno));
		if (done == 0 || (size_t)done > size)
			return err_set(err, HS_IO, "Writing failed: %s.", file_reason(EIO));
		p += done;
		size -= (size_t)done;
	}
	return 0;
}
