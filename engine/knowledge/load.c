/* Loading: files -> elements -> names -> one machine's knowledge. */
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/file.h"
#include "knowledge/inner.h"

/* FNV-1a, 64 bits (Fowler, Noll, Vo): a name for "these very files", not a defence. */
#define FNV_START 14695981039346656037u
#define FNV_PRIME 1099511628211u

static void begin(struct load *l, struct hs_err *err)
{
	memset(l, 0, sizeof *l);
	l->keep = arena_new();
	l->scratch = arena_new();
	l->err = err;
}

/* Everything but `keep`, which the knowledge takes over. */
static void end(struct load *l)
{
	for (struct source *s = l->sources; s; s = s->next)
		mem_free(s->bytes);
	mem_free(l->tops);
	arena_free(l->scratch);
}

static struct source *add_source(struct load *l, const char *path)
{
	struct source *s = arena_alloc(l->scratch, sizeof *s);

	s->path = path;
	if (l->last_source)
		l->last_source->next = s;
	else
		l->sources = s;
	l->last_source = s;
	return s;
}

static int read_source(struct load *l, const char *path)
{
	struct source *s = add_source(l, path);

	s->bytes = file_read(path, FILE_BYTES_MAX, &s->size, l->err);
	if (!s->bytes)
		return -1;
	l->total += s->size;
	if (l->total > TOTAL_BYTES_MAX)
		return err_at(l->err, HS_LIMIT, path, 0, "the files together are larger than %u MiB",
			      TOTAL_BYTES_MAX / (1024 * 1024));
	if (scan_source(l, s) < 0)
		return -1;
	return parse_source(l, s);
}

static int read_all(struct load *l, const char *dir)
{
	const char **paths;
	int n = walk_files(l, dir, &paths);

	for (int i = 0; i < n; i++)
		if (read_source(l, paths[i]) < 0)
			return -1;
	return n;
}

/* ---- which machine --------------------------------------------------------------------------- */

static struct el *only_machine(struct load *l)
{
	struct el *found = NULL;
	struct text t = { 0 };
	int n = 0;

	text_add(&t, "which machine? there are ");
	for (int i = 0; i < l->ntops; i++)
		if (l->tops[i]->kind == E_MACHINE) {
			found = l->tops[i];
			text_addf(&t, "%s%s", n++ ? ", " : "", el_id(found));
		}
	if (n == 0)
		err_set(l->err, HS_NOT_FOUND, "there is no <machine> in these files");
	else if (n > 1)
		err_set(l->err, HS_NOT_FOUND, "%s", text_str(&t));
	text_free(&t);
	return n == 1 ? found : NULL;
}

static struct el *machine_named(struct load *l, const char *id)
{
	struct el *found = id ? names_find(l, E_MACHINE, id) : only_machine(l);

	if (!found && id) {
		struct text t = { 0 };

		text_addf(&t, "there is no machine \"%.64s\"", id);
		names_advise(l, E_MACHINE, id, &t);
		err_set(l->err, HS_NOT_FOUND, "%s", text_str(&t));
		text_free(&t);
	}
	return found;
}

/* ---- the name of what was read ------------------------------------------------------------- */

/* Another bike described beside this one changes nothing for it. */
static bool only_other_machines(const struct load *l, const struct source *s,
				const struct el *machine)
{
	for (int i = 0; i < l->ntops; i++)
		if (l->tops[i]->source == s &&
		    (l->tops[i]->kind != E_MACHINE || l->tops[i] == machine))
			return false;
	return true;
}

static uint64_t digest_of(const struct load *l, const struct el *machine)
{
	uint64_t digest = FNV_START;

	for (const struct source *s = l->sources; s; s = s->next)
		for (size_t i = 0, n = only_other_machines(l, s, machine) ? 0 : s->size; i < n; i++)
			digest = (digest ^ (unsigned char)s->bytes[i]) * FNV_PRIME;
	return digest;
}

/* ---- binding --------------------------------------------------------------------------------- */

static int bind_all(struct load *l, const struct el *machine, struct kn_knowledge *kn)
{
	struct bind b = { .load = l, .arena = l->keep, .kn = kn, .machine = machine };

	kn->machine = el_id(machine);
	kn->machine_title = el_attr(machine, "title");
	kn->digest = arena_printf(l->keep, "%016" PRIx64, digest_of(l, machine));
	if (bind_vocabulary(&b) < 0 || bind_machine(&b) < 0 || bind_parts(&b) < 0 ||
	    bind_gates(&b) < 0 || bind_checks(&b) < 0 || bind_remedies(&b) < 0)
		return -1;
	return 0;
}

static struct kn_knowledge *load_and_bind(struct load *l, const char *dir, const char *machine)
{
	struct kn_knowledge *kn;
	struct el *m;

	if (read_all(l, dir) < 0 || names_collect(l) < 0 || names_check(l) < 0)
		return NULL;
	m = machine_named(l, machine);
	if (!m)
		return NULL;
	kn = arena_alloc(l->keep, sizeof *kn);
	kn->arena = l->keep;
	return bind_all(l, m, kn) < 0 ? NULL : kn;
}

struct kn_knowledge *kn_load(const char *dir, const char *machine, struct hs_err *err)
{
	return kn_load_with(dir, machine, NULL, 0, err);
}

struct kn_knowledge *kn_load_with(const char *dir, const char *machine,
				  const struct kn_figure *figures, int n, struct hs_err *err)
{
	struct hs_err own = { 0 };
	struct kn_knowledge *kn;
	struct load l;

	begin(&l, &own);
	l.nfigures = n;
	l.figures = figures;
	kn = load_and_bind(&l, dir, machine);
	if (!kn) {
		arena_free(l.keep);
		if (err && err->code == HS_OK)
			*err = own;
	}
	end(&l);
	return kn;
}

void kn_free(struct kn_knowledge *kn)
{
	if (kn)
		arena_free(kn->arena);
}

/* ---- which machines -------------------------------------------------------------------------- */

static int list_machines(struct load *l, const char *dir, struct kn_machine_title **out)
{
	int n = 0;

	if (read_all(l, dir) < 0 || names_collect(l) < 0)
		return -1;
	*out = mem_array((size_t)l->ntops + 1, sizeof **out);
	for (int i = 0; i < l->ntops; i++) {
		const struct el *e = l->tops[i];
		struct kn_machine_title *m = &(*out)[n];

		if (e->kind != E_MACHINE)
			continue;
		n++;
		snprintf(m->id, sizeof m->id, "%s", el_id(e));
		snprintf(m->title, sizeof m->title, "%s", el_attr(e, "title"));
	}
	return n;
}

int kn_machines(const char *dir, struct kn_machine_title **out, struct hs_err *err)
{
	struct hs_err own = { 0 };
	struct load l;
	int n;

	*out = NULL;
	begin(&l, &own);
	n = list_machines(&l, dir, out);
	if (n < 0 && err && err->code == HS_OK)
		*err = own;
	arena_free(l.keep);
	end(&l);
	return n;
}

int kn_files(const char *dir, int (*each)(void *with, const char *path, struct hs_err *err), void *with,
	     struct hs_err *err)
{
	const char **paths;
	struct load l;
	int n, result;

	begin(&l, err);
	n = walk_files(&l, dir, &paths);
	result = n < 0 ? -1 : 0;
	for (int i = 0; i < n && result == 0; i++)
		result = each(with, paths[i], err);
	arena_free(l.keep);
	end(&l);
	return result;
}
