/* Which files are read: every .xml below a folder, in byte order of their paths. */
#include <dirent.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "base/file.h"
#include "knowledge/inner.h"

struct found { struct load *l; int n; const char *path[FILES_MAX]; };

static int walk(struct found *f, const char *folder, int deep);

static bool ends_in_xml(const char *name)
{
	size_t n = strlen(name);

	return n > 4 && !strcmp(name + n - 4, ".xml");
}

static int take(struct found *f, const char *path, const char *name, int deep)
{
	struct stat st;

	if (stat(path, &st) < 0)
		return ends_in_xml(name) ? err_at(f->l->err, HS_IO, path, 0, "cannot be read: %s",
						  file_reason(errno))
					 : 0;
	if (S_ISDIR(st.st_mode))
		return walk(f, path, deep + 1);
	if (!ends_in_xml(name))
		return 0;
	if (f->n == FILES_MAX)
		return err_at(f->l->err, HS_LIMIT, path, 0, "more than %d files", FILES_MAX);
	f->path[f->n++] = path;
	return 0;
}

static int walk(struct found *f, const char *folder, int deep)
{
	DIR *d = deep > FOLDERS_DEEP ? NULL : opendir(folder);
	struct dirent *entry;
	int status = 0;

	if (deep > FOLDERS_DEEP)
		return err_at(f->l->err, HS_LIMIT, folder, 0, "folders are more than %d deep",
			      FOLDERS_DEEP);
	if (!d)
		return err_at(f->l->err, HS_IO, folder, 0, "cannot be read: %s", file_reason(errno));
	while (status == 0 && (entry = readdir(d)))
		if (entry->d_name[0] != '.') /* editors keep their copies there */
			status = take(f, arena_printf(f->l->scratch, "%s/%s", folder, entry->d_name),
				      entry->d_name, deep);
	closedir(d);
	return status;
}

static int by_bytes(const void *a, const void *b)
{
	return strcmp(*(const char *const *)a, *(const char *const *)b);
}

/* One folder or file; what it adds is sorted behind what is there. */
static int walk_one(struct found *f, char *root)
{
	int before = f->n;
	struct stat st;

	for (size_t n = strlen(root); n > 1 && root[n - 1] == '/'; n--)
		root[n - 1] = '\0';
	if (stat(root, &st) < 0)
		return err_at(f->l->err, HS_BAD_TREE, root, 0, "there are no trees here: %s",
			      file_reason(errno));
	if (!S_ISDIR(st.st_mode))
		return take(f, root, "named.xml", 1); /* whatever it is called */
	if (walk(f, root, 1) < 0)
		return -1;
	if (f->n == before)
		return err_at(f->l->err, HS_BAD_TREE, root, 0, "there is no .xml file in this folder");
	qsort(f->path + before, (size_t)(f->n - before), sizeof *f->path, by_bytes);
	return 0;
}

int walk_files(struct load *l, const char *dir, const char ***out)
{
	struct found *f = arena_alloc(l->scratch, sizeof *f);
	char *rest = arena_strdup(l->scratch, dir), *root;
	struct stat st;

	f->l = l;
	*out = f->path;
	if (!strchr(dir, ':') || stat(dir, &st) == 0)
		return walk_one(f, rest) < 0 ? -1 : f->n;
	while ((root = strsep(&rest, ":")))
		if (*root && walk_one(f, root) < 0)
			return -1;
	return f->n;
}
