/* Every id of the knowledge in one hash table, and every reference held against it.
 *
 * Checks and symptoms share their ids; modes are entered as PART.MODE.  Values and kinds of places
 * belong to machines: the table knows the first machine that has the name, binding asks the
 * machine itself. */
#include <stdlib.h>
#include <string.h>

#include "knowledge/inner.h"

struct name { const char *id; enum el_kind kind; struct el *el; };
struct names { size_t size; struct name *slot; int n; };

static enum el_kind space_of(enum el_kind kind)
{
	return kind == E_SYMPTOM ? E_CHECK : kind;
}

static struct name *slot_for(struct names *t, enum el_kind kind, const char *id)
{
	uint64_t h = 14695981039346656037u ^ (uint64_t)kind;

	for (const char *p = id; *p; p++)
		h = (h ^ (unsigned char)*p) * 1099511628211u;
	for (size_t at = (size_t)(h ^ h >> 32);; at++) {
		struct name *s = &t->slot[at & (t->size - 1)];

		if (!s->id || (s->kind == kind && !strcmp(s->id, id)))
			return s;
	}
}

static void grow(struct load *l)
{
	struct names *old = l->names, *t = arena_alloc(l->scratch, sizeof *t);

	t->size = old ? old->size * 2 : 1024;
	t->slot = arena_array(l->scratch, t->size, sizeof *t->slot);
	for (size_t i = 0; old && i < old->size; i++)
		if (old->slot[i].id) {
			*slot_for(t, old->slot[i].kind, old->slot[i].id) = old->slot[i];
			t->n++;
		}
	l->names = t;
}

struct el *names_find(const struct load *l, enum el_kind kind, const char *id)
{
	return slot_for(l->names, space_of(kind), id)->el;
}

/* "mode", "kind": how a name is called in errors. */
static const char *called(enum el_kind kind)
{
	return kind == E_POSITIONS ? "kind of places" : el_rules[kind].name;
}

static int twice(struct load *l, const struct el *e, const struct el *first, const char *id)
{
	return el_err(l, e, NULL, "the %s \"%s\" is there twice; the first one is %s:%d",
		      called(e->kind), id, first->source->path, first->tag->line);
}

static int enter(struct load *l, struct el *e, const char *id)
{
	struct name *s;

	if (!l->names || (size_t)l->names->n * 2 >= l->names->size)
		grow(l);
	s = slot_for(l->names, space_of(e->kind), id);
	if (s->id && (e->kind == E_VALUE || e->kind == E_POSITIONS) && s->el->parent != e->parent)
		return 0;
	if (s->id)
		return twice(l, e, s->el, id);
	*s = (struct name){ id, space_of(e->kind), e };
	l->names->n++;
	return 0;
}

/* Ids that need only be unique among their siblings. */
static int unique_kids(struct load *l, const struct el *e, enum el_kind kind, const char *attr)
{
	for (struct el *k = el_kid(e, kind); k; k = el_next(k, kind))
		for (struct el *first = el_kid(e, kind); first != k; first = el_next(first, kind))
			if (!strcmp(el_attr(first, attr), el_attr(k, attr)))
				return twice(l, k, first, el_attr(k, attr));
	return 0;
}

static int enter_modes(struct load *l, const struct el *part)
{
	for (struct el *m = el_kid(part, E_MODE); m; m = el_next(m, E_MODE))
		if (enter(l, m, arena_printf(l->keep, "%s.%s", el_id(part), el_id(m))) < 0)
			return -1;
	return unique_kids(l, part, E_PART_VALUE, "of");
}

static int enter_machine(struct load *l, const struct el *machine)
{
	if (unique_kids(l, machine, E_VALUE, "id") < 0 ||
	    unique_kids(l, machine, E_POSITIONS, "kind") < 0 ||
	    unique_kids(l, machine, E_CODE, "number") < 0 ||
	    unique_kids(l, machine, E_REACH, "access") < 0 ||
	    unique_kids(l, machine, E_SCALE, "mode") < 0)
		return -1;
	for (struct el *k = machine->first; k; k = k->next) {
		if (k->kind == E_POSITIONS &&
		    (enter(l, k, el_attr(k, "kind")) < 0 || unique_kids(l, k, E_POSITION, "id") < 0))
			return -1;
		if (k->kind == E_VALUE && enter(l, k, el_id(k)) < 0)
			return -1;
	}
	return 0;
}

int names_collect(struct load *l)
{
	grow(l);
	for (int i = 0; i < l->ntops; i++) {
		struct el *e = l->tops[i];

		if (e->kind == E_PRIOR || e->kind == E_TOGETHER)
			continue;
		if (enter(l, e, el_id(e)) < 0)
			return -1;
		if (e->kind == E_PART && enter_modes(l, e) < 0)
			return -1;
		if (e->kind == E_CHECK && unique_kids(l, e, E_OUTCOME, "id") < 0)
			return -1;
		if (e->kind == E_MACHINE && enter_machine(l, e) < 0)
			return -1;
	}
	return 0;
}

/* ---- advice ---------------------------------------------------------------------------------- */

#define LISTED_MAX 24   /* longer lists help nobody; the near miss does */

void advise(struct text *t, const char *wrong, const char *const *names, int n,
	    const char *there_are)
{
	const char *near = text_near(wrong, names, n);

	if (near)
		text_addf(t, "; did you mean \"%s\"?", near);
	if (n > LISTED_MAX)
		return;
	text_addf(t, "%s %s ", near ? "" : ";", n ? there_are : "there is none");
	for (int i = 0; i < n; i++)
		text_addf(t, "%s%s", i ? ", " : "", names[i]);
	while (t->len && t->s[t->len - 1] == ' ')
		t->s[--t->len] = '\0';
}

static int by_place(const void *x, const void *y)
{
	const struct el *a = (*(const struct name *const *)x)->el;
	const struct el *b = (*(const struct name *const *)y)->el;
	int paths = strcmp(a->source->path, b->source->path);

	return paths ? paths : (a->tag->at > b->tag->at) - (a->tag->at < b->tag->at);
}

void names_advise(const struct load *l, enum el_kind kind, const char *wrong, struct text *t)
{
	const struct names *all = l->names;
	const struct name **found = arena_array(l->scratch, (size_t)all->n + 1, sizeof *found);
	const char **ids = arena_array(l->scratch, (size_t)all->n + 2, sizeof *ids);
	int n = 0;

	for (size_t i = 0; i < all->size; i++) {
		const struct name *s = &all->slot[i];

		if (s->id && s->kind == space_of(kind) && (kind != E_SYMPTOM || s->el->kind == kind))
			found[n++] = s;
	}
	qsort(found, (size_t)n, sizeof *found, by_place);
	for (int i = 0; i < n; i++)
		ids[i] = found[i]->id;
	if (kind == E_ACCESS && !names_find(l, E_ACCESS, "on-bike"))
		ids[n++] = "on-bike";
	advise(t, wrong, ids, n, "there are");
}

/* ---- references ------------------------------------------------------------------------------ */

static int not_there(const struct load *l, const struct el *e, const char *attr, enum el_kind kind,
		     const char *id)
{
	struct text t = { 0 };

	text_addf(&t, "there is no %s \"%s\"", called(kind), id);
	names_advise(l, kind, id, &t);
	el_err(l, e, attr, "%s", text_str(&t));
	text_free(&t);
	return -1;
}

static int check_name(const struct load *l, const struct el *e, const char *attr, enum el_kind kind,
		      const char *id)
{
	struct el *found = names_find(l, kind, id);

	if (kind == E_ACCESS && !strcmp(id, "on-bike"))
		return 0;
	if (!found || (kind == E_SYMPTOM && found->kind != E_SYMPTOM))
		return not_there(l, e, attr, kind, id);
	return 0;
}

static int check_mode(const struct load *l, const struct el *e, const char *attr, const char *ref)
{
	char id[2 * ID_MAX + 2], part[ID_MAX + 1];
	size_t n = strcspn(ref, "@"), dot = strcspn(ref, ".");
	const struct el *m;

	memcpy(id, ref, n);
	id[n] = '\0';
	memcpy(part, ref, dot);
	part[dot] = '\0';
	m = names_find(l, E_MODE, id);
	if (!m && names_find(l, E_PART, part)) {
		const struct el *p = names_find(l, E_PART, part);
		const char *modes[LISTED_MAX];
		struct text t = { 0 };
		int k = 0;

		for (m = el_kid(p, E_MODE); m && k < LISTED_MAX; m = el_next(m, E_MODE))
			modes[k++] = el_id(m);
		text_addf(&t, "the part \"%s\" has no mode \"%s\"", part, id + dot + 1);
		advise(&t, id + dot + 1, modes, k, "it has");
		el_err(l, e, attr, "%s", text_str(&t));
		text_free(&t);
		return -1;
	}
	if (!m)
		return not_there(l, e, attr, E_PART, part);
	if (ref[n] && !el_attr(m->parent, "per"))
		return el_err(l, e, attr, "\"%s\": the part \"%s\" exists once, so there is no %s", ref,
			      part, ref + n);
	return 0;
}

static int check_list(const struct load *l, const struct el *e, const struct attr_rule *rule,
		      const char *value)
{
	char w[2 * ID_MAX + 16];

	while (value_word(&value, w, sizeof w)) {
		if (rule->kind == V_NAMES && check_name(l, e, rule->name, rule->of, w) < 0)
			return -1;
		if (rule->kind == V_MODES_OR_GATES &&
		    (strchr(w, '.') ? check_mode(l, e, rule->name, w)
				    : check_name(l, e, rule->name, E_GATE, w)) < 0)
			return -1;
	}
	return 0;
}

static int check_element(const struct load *l, const struct el *e)
{
	const struct el_rule *r = &el_rules[e->kind];

	for (int i = 0; i < r->nattrs; i++) {
		const struct attr_rule *rule = &r->attrs[i];
		const char *value = e->value[i];
		int status = 0;

		if (!value)
			continue;
		if (rule->kind == V_NAME)
			status = check_name(l, e, rule->name, rule->of, value);
		else if (rule->kind == V_MODE)
			status = check_mode(l, e, rule->name, value);
		else if (rule->kind == V_NAMES || rule->kind == V_MODES_OR_GATES)
			status = check_list(l, e, rule, value);
		if (status < 0)
			return -1;
	}
	for (const struct el *k = e->first; k; k = k->next)
		if (check_element(l, k) < 0)
			return -1;
	return 0;
}

int names_check(struct load *l)
{
	for (int i = 0; i < l->ntops; i++)
		if (check_element(l, l->tops[i]) < 0)
			return -1;
	return 0;
}
