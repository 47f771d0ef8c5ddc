/* Folders after the XDG Base Directory Specification 0.8: relative values are ignored. */
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/file.h"
#include "talk/paths.h"

/* mkdir -p, with 0700 as the specification asks. */
static bool make_folders(char *path)
{
	for (char *slash = strchr(path + 1, '/'); slash; slash = strchr(slash + 1, '/')) {
		*slash = '\0';
		if (mkdir(path, 0700) != 0 && errno != EEXIST) {
			*slash = '/';
			return false;
		}
		*slash = '/';
	}
	return mkdir(path, 0700) == 0 || errno == EEXIST;
}

bool paths_state(const char *name, struct text *path)
{
	const char *state = getenv("XDG_STATE_HOME");
	const char *home = getenv("HOME");

	if (state && *state == '/')
		text_addf(path, "%s/halfsplit", state);
	else if (home && *home == '/')
		text_addf(path, "%s/.local/state/halfsplit", home);
	else
		return false;
	if (!make_folders(path->s))
		return false;
	text_addf(path, "/%s", name);
	return true;
}

bool paths_data(const char *name, bool make, struct text *path)
{
	const char *data = getenv("XDG_DATA_HOME");
	const char *home = getenv("HOME");

	if (data && *data == '/')
		text_addf(path, "%s/halfsplit/%s", data, name);
	else if (home && *home == '/')
		text_addf(path, "%s/.local/share/halfsplit/%s", home, name);
	else
		return false;
	return make ? make_folders(path->s) : access(path->s, R_OK | X_OK) == 0;
}

int paths_write(const char *path, const char *data, size_t size, struct hs_err *err)
{
	struct text temporary = {0};
	int fd, result = -1;

	text_addf(&temporary, "%s.new", path);
	fd = open(text_str(&temporary), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC | O_NOFOLLOW, 0600);
	if (fd < 0) {
		err_set(err, HS_IO, "%s cannot be written: %s.", path, file_reason(errno));
		text_free(&temporary);
		return -1;
	}
	if (file_write_all(fd, data, size, err) == 0) {
		if (fsync(fd) == 0 && rename(text_str(&temporary), path) == 0)
			result = 0;
		else
			err_set(err, HS_IO, "%s cannot be written: %s.", path, file_reason(errno));
	}
	close(fd);
	if (result != 0)
		unlink(text_str(&temporary));
	text_free(&temporary);
	return result;
}
