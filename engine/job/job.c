#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "base/mem.h"
#include "job/inner.h"

static struct job *fresh(const struct kn_knowledge *kn, const char *dir, const char *id)
{
	struct job *j = mem_alloc(sizeof *j);

	j->kn = kn;
	j->fd = j->dir_fd = -1;
	j->arena = arena_new();
	snprintf(j->dir, sizeof j->dir, "%s", dir);
	snprintf(j->id, sizeof j->id, "%s", id);
	return j;
}

struct job *job_new(const struct kn_knowledge *kn) { return fresh(kn, "", ""); }

struct job *job_create(const char *dir, const char *id, const struct kn_knowledge *kn,
		       struct hs_err *err)
{
	struct job *j;

	if (strlen(dir) >= sizeof j->dir || strlen(id) >= sizeof j->id) {
		err_set(err, HS_BAD_INPUT, "The name of the job or of its folder is too long.");
		return NULL;
	}
	j = fresh(kn, dir, id);
	if (journal_create(j, err) == 0)
		return j;
	job_close(j);
	return NULL;
}

static void forget_view(struct job *j)
{
	if (j->view)
		su_free(j->view->suspects);
	arena_free(j->view_arena);
	j->view = NULL;
	j->view_arena = NULL;
	j->have_plan = false;
}

void job_forget(struct job *j)
{
	forget_view(j);
	su_tables_free(j->tables);
	j->tables = NULL;
}

void job_close(struct job *j)
{
	if (!j)
		return;
	job_forget(j);
	journal_close(j);
	arena_free(j->arena);
	mem_free(j->events);
	mem_free(j->said);
	mem_free(j->in_force);
	mem_free(j);
}

/* ---- events ------------------------------------------------------------------------------------------ */

int job_index_of(const struct job *j, const char *seq)
{
	long n = seq ? strtol(seq, NULL, 10) : 0;

	return n >= 1 && n <= j->nevents ? (int)n - 1 : -1;
}

static bool can_be_taken_back(enum job_kind k)
{
	return k != JOB_TOOK_BACK && k != JOB_PUT_BACK && k != JOB_UNKNOWN;
}

void job_take(struct job *j, const struct job_event *e)
{
	int back;

	if (j->nevents == j->cap) {
		j->cap = j->cap ? j->cap * 2 : 64;
		j->events = mem_resize_array(j->events, (size_t)j->cap, sizeof *j->events);
		j->said = mem_resize_array(j->said, (size_t)j->cap, sizeof *j->said);
		j->in_force = mem_resize_array(j->in_force, (size_t)j->cap, sizeof *j->in_force);
	}
	j->events[j->nevents] = j->said[j->nevents] = *e;
	j->in_force[j->nevents] = can_be_taken_back(e->kind);
	j->nevents++;
	if (e->kind == JOB_TOOK_BACK || e->kind == JOB_PUT_BACK) {
		back = job_index_of(j, e->field[0]);
		if (back >= 0 && can_be_taken_back(j->said[back].kind))
			j->in_force[back] = e->kind == JOB_PUT_BACK;
		if (back >= 0 && j->said[back].kind == JOB_CHANGED)
			job_stand(j, job_index_of(j, j->said[back].field[0]));
	} else if (e->kind == JOB_CHANGED) {
		job_apply(j, e);
	}
	forget_view(j);
}

static int check_event(const struct job *j, const struct job_event *e, struct hs_err *err)
{
	if ((unsigned)e->kind >= JOB_UNKNOWN)
		return err_set(err, HS_BAD_INPUT, "That is no kind of event.");
	if ((e->kind == JOB_BEGAN) != (j->nevents == 0))
		return err_set(err, HS_BAD_INPUT, "A job begins once, and first.");
	if (j->nevents == JOB_EVENTS_MAX)
		return err_set(err, HS_LIMIT, "This job is full. Begin a new one.");
	for (int i = 0; i < job_kind_fields(e->kind); i++) {
		if (e->field[i] && strlen(e->field[i]) >= JOB_FIELD_BYTES)
			return err_set(err, HS_BAD_INPUT, "That is too long; %d bytes at most.",
				       JOB_FIELD_BYTES - 1);
		if (e->field[i] && !text_valid_utf8(e->field[i], strlen(e->field[i])))
			return err_set(err, HS_BAD_INPUT, "That is not UTF-8 text.");
	}
	return 0;
}

int job_add(struct job *j, const struct job_event *e, struct hs_err *err)
{
	struct job_event own = *e;
	struct text line = { 0 };
	int result;

	if (check_event(j, e, err) < 0)
		return -1;
	own.seq = j->nevents + 1;
	own.when = e->when ? e->when : (long long)time(NULL);
	for (int i = 0; i < JOB_FIELDS_MAX; i++)
		own.field[i] = i < job_kind_fields(e->kind)
				       ? arena_strdup(j->arena, e->field[i] ? e->field[i] : "") : NULL;
	job_event_write(&line, &own, j->crc);
	result = journal_append(j, text_str(&line), line.len, err);
	if (result == 0) {
		j->crc = (unsigned)strtoul(text_str(&line), NULL, 16);
		job_take(j, &own);
	}
	text_free(&line);
	return result;
}

int job_nevents(const struct job *j) { return j->nevents; }
const struct job_event *job_event_at(const struct job *j, int i) { return &j->events[i]; }
bool job_in_force(const struct job *j, int i) { return j->in_force[i]; }
const struct kn_knowledge *job_knowledge(const struct job *j) { return j->kn; }
const char *job_id(const struct job *j) { return j->id; }

struct job *job_open(const char *dir, const char *id, const struct kn_knowledge *kn, long *recovered,
		     struct hs_err *err)
{
	struct job *j;
	long bytes = 0;

	if (strlen(dir) >= sizeof j->dir || strlen(id) >= sizeof j->id) {
		err_set(err, HS_NOT_FOUND, "There is no job \"%s\".", id);
		return NULL;
	}
	j = fresh(kn, dir, id);
	if (journal_open(j, &bytes, err) == 0 && j->nevents > 0) {
		if (recovered)
			*recovered = bytes;
		return j;
	}
	err_set(err, HS_BAD_JOB, "The job %s holds no answer yet.", id);
	job_close(j);
	return NULL;
}

/* ---- views -------------------------------------------------------------------------------------------- */

const struct job_view *job_view(struct job *j, struct hs_err *err)
{
	if (!j->view) {
		j->view_arena = arena_new();
		j->view = view_make(j, err);
		if (!j->view) {
			arena_free(j->view_arena);
			j->view_arena = NULL;
		}
	}
	return j->view;
}

void job_situation(const struct job_view *v, struct pl_situation *out)
{
	*out = (struct pl_situation){ .suspects = v->suspects, .the_case = &v->the_case,
		.tools = v->tools, .open = v->open, .circumstances = v->circumstances,
		.circumstances_known = v->circumstances_known, .nholds = v->nholds, .holds = v->holds,
		.done = v->done, .twice = v->twice,
		.remedy_declined = v->remedy_declined };
	pl_rates_named(v->rates, &out->rates);
}

const struct pl_plan *job_plan(struct job *j, struct hs_err *err)
{
	const struct job_view *v = job_view(j, err);
	struct pl_situation now;

	if (!v)
		return NULL;
	if (!j->have_plan) {
		if (!j->tables)
			j->tables = su_tables_new(j->kn);
		job_situation(v, &now);
		now.tables = j->tables;
		if (pl_next(&now, &j->plan, err) < 0)
			return NULL;
		j->have_plan = true;
	}
	return &j->plan;
}

/* ---- taking back ---------------------------------------------------------------------------------------- */

static const char *title_of_check(const struct kn_knowledge *kn, const char *id)
{
	int c = kn_check_by_id(kn, id);

	return c == KN_NONE ? id : kn->checks[c].title;
}

static void say_event(struct text *t, const struct job *j, const struct job_event *e)
{
	const struct kn_knowledge *kn = j->kn;
	int r;

	switch (e->kind) {
	case JOB_ANSWERED:
		text_addf(t, "\"%s\" to %s", e->field[2], title_of_check(kn, e->field[0]));
		break;
	case JOB_SKIPPED:
		text_addf(t, "%s skipped", title_of_check(kn, e->field[0]));
		break;
	case JOB_COMPLAINED:
		text_addf(t, "the complaint: %s", title_of_check(kn, e->field[0]));
		break;
	case JOB_REPAIRED:
		r = kn_remedy_by_id(kn, e->field[0]);
		text_addf(t, "done: %s", r == KN_NONE ? e->field[0] : kn->remedies[r].title);
		break;
	case JOB_SETTING:
		r = kn_setting_by_id(kn, e->field[0]);
		text_addf(t, "%s as %s", r == KN_NONE ? e->field[0] : kn->settings[r].title, e->field[2]);
		break;
	case JOB_ACCESS:
		r = kn_access_by_id(kn, e->field[0]);
		text_addf(t, "%s %s", r == KN_NONE ? e->field[0] : kn->accesses[r].title, e->field[1]);
		break;
	case JOB_DECLINED:
		r = kn_remedy_by_id(kn, e->field[0]);
		text_addf(t, "cannot be done: %s", r == KN_NONE ? e->field[0] : kn->remedies[r].title);
		break;
	case JOB_CHANGED:
		r = job_index_of(j, e->field[0]);
		text_add(t, "the change to ");
		if (r >= 0 && r < e->seq - 1)
			say_event(t, j, &j->events[r]);
		break;
	case JOB_ADJUSTED:
		text_addf(t, "\"%s\" while setting %s", e->field[2], title_of_check(kn, e->field[0]));
		break;
	case JOB_TIMER:
		text_addf(t, "the timer: %s, %s minutes", e->field[1], e->field[0]);
		break;
	default:
		text_add(t, job_kind_name(e->kind));
		for (int i = 0; i < job_kind_fields(e->kind); i++)
			if (*e->field[i])
				text_addf(t, " %s", e->field[i]);
	}
}

static int add_back(struct job *j, enum job_kind kind, int event, struct text *what,
		    struct hs_err *err)
{
	struct job_event e = { .kind = kind };
	char seq[24];

	snprintf(seq, sizeof seq, "%ld", j->events[event].seq);
	e.field[0] = seq;
	if (what)
		say_event(what, j, &j->events[event]);
	return job_add(j, &e, err);
}

int job_undo(struct job *j, struct text *what, struct hs_err *err)
{
	for (int i = j->nevents - 1; i > 0; i--)
		if (j->in_force[i])
			return add_back(j, JOB_TOOK_BACK, i, what, err);
	return err_set(err, HS_NOT_FOUND, "There is nothing left to take back.");
}

/* What was taken back last and has not been put back, as long as nothing new came since. */
static int next_redo(const struct job *j, int *n)
{
	int *stack = mem_array((size_t)j->nevents + 1, sizeof *stack), depth = 0, top;

	for (int i = 0; i < j->nevents; i++) {
		if (j->events[i].kind == JOB_TOOK_BACK)
			stack[depth++] = job_index_of(j, j->events[i].field[0]);
		else if (j->events[i].kind == JOB_PUT_BACK)
			depth -= depth > 0;
		else
			depth = 0;
	}
	top = depth ? stack[depth - 1] : -1;
	if (n)
		*n = depth;
	mem_free(stack);
	return top;
}

int job_redo(struct job *j, struct text *what, struct hs_err *err)
{
	int event = next_redo(j, NULL);

	if (event < 0)
		return err_set(err, HS_NOT_FOUND, "There is nothing to put back.");
	return add_back(j, JOB_PUT_BACK, event, what, err);
}

int job_redo_depth(const struct job *j)
{
	int n;

	next_redo(j, &n);
	return n;
}

const char *job_state_words(enum job_state s)
{
	static const char *const words[] = { "open", "to be verified", "closed: proven", "on watch",
					     "parts fitted, not proven", "handed over", "checked on the bench" };

	return words[s];
}

struct job *job_copy(const struct job *j)
{
	struct job *copy = fresh(j->kn, "", j->id);

	for (int i = 0; i < j->nevents; i++) {
		struct job_event e = j->said[i];

		for (int f = 0; f < JOB_FIELDS_MAX; f++)
			if (e.field[f])
				e.field[f] = arena_strdup(copy->arena, e.field[f]);
		job_take(copy, &e);
	}
	copy->crc = j->crc;
	return copy;
}
