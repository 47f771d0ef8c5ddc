/* `opened` alone: what is open, and what is cheap there before it is closed again.
 *
 * The state opened last has its list in full, those around it a line each: a bike in pieces would
 * fill three screens, and what is about to be closed is what matters. */
#include <string.h>

#include "base/mem.h"
#include "plan/closing.h"
#include "talk/inner.h"

#define STATES_MAX 64
#define COLUMN 13             /* where the names of the checks begin */

struct listing {
	struct talk *t;
	const struct job_view *v;
	struct pl_situation now;
	double *bits;
};

static bool is_open(const struct listing *l, int state)
{
	return (l->v->open >> state & 1) != 0;
}

static int noffered(const struct kn_knowledge *kn, int state)
{
	int n = 0;

	for (int i = 0; i < kn->accesses[state].nbatch; i++)
		n += kn->checks[kn->accesses[state].batch[i]].offered;
	return n;
}

bool opened_has_list(const struct kn_knowledge *kn, int state)
{
	return noffered(kn, state) > 0;
}

/* ---- one check --------------------------------------------------------------------------------- */

/* What keeps it back now although it is not done: a hold, or something that must be closed for it. */
static const char *kept_back(const struct listing *l, int check, struct text *out)
{
	const struct kn_check *c = &l->v->kn->checks[check];
	enum kn_energy energy = check_energy(c);
	int hold = hold_on(l->v, energy);

	if (hold != KN_NONE) {
		text_add(out, l->v->kn->holds[hold].title);
		return "waits";
	}
	if (!access_names_closed(l->v->kn, l->v->open, c->access, energy, out))
		return NULL;
	text_add(out, " closed first");
	return "later";
}

/* Tools, or circumstances, that are wanting. */
static void name_wanting(struct text *out, const struct listing *l, const struct kn_check *c, bool tools)
{
	const struct kn_knowledge *kn = l->v->kn;
	uint32_t wrong = c->only_when & l->v->circumstances_known & ~l->v->circumstances;

	for (int i = 0; tools && i < kn->ntools; i++)
		if ((c->tools & ~l->v->tools) >> i & 1)
			text_addf(out, "%s%s", out->len ? ", " : "", kn->tools[i].title);
	for (int i = 0; !tools && i < kn->ncircumstances; i++)
		if (wrong >> i & 1)
			text_addf(out, "%s%s", out->len ? ", " : "counts only with: ",
				  kn->circumstances[i].title);
}

/* The answers of its last round, as typed. */
static void name_answers(struct text *out, const struct listing *l, int check)
{
	const struct kn_check *c = &l->v->kn->checks[check];
	int last = -1;

	for (int i = 0; i < l->v->nfindings; i++)
		if (l->v->findings[i].check == check && l->v->findings[i].epoch > last)
			last = l->v->findings[i].epoch;
	for (int i = 0; i < l->v->nfindings; i++) {
		const struct job_finding *f = &l->v->findings[i];

		if (f->check != check || f->epoch != last)
			continue;
		text_add(out, out->len ? "; " : "");
		if (f->place != KN_NONE)
			text_addf(out, "%s: ", l->v->kn->kinds[c->per].places[f->place].id);
		text_add(out, f->raw);
	}
}

static const char *still_to_do(const struct listing *l, int check, enum job_batch b, struct text *out)
{
	const char *back = kept_back(l, check, out);

	if (back)
		return back;
	if (b == JOB_BATCH_SOME) {
		name_answers(out, l, check);
		text_add(out, "; the others not yet, ");
	} else if (b == JOB_BATCH_AGAIN) {
		text_add(out, "repaired since, ");
	}
	out_minutes(out, pl_check_minutes(&l->now, check));
	return l->bits[check] >= PL_BITS_LEAST ? "worth it" : "cheap";
}

static const char *how_it_stands(const struct listing *l, int check, struct text *out)
{
	const struct kn_check *c = &l->v->kn->checks[check];
	enum job_batch b = job_batch(l->v, check);

	switch (b) {
	case JOB_BATCH_DONE: name_answers(out, l, check); return "done";
	case JOB_BATCH_LEFT_OUT: text_add(out, "don't know, or can't"); return "left out";
	case JOB_BATCH_GONE: text_addf(out, "%s has destroyed what it looks at", c->before); return "gone";
	case JOB_BATCH_NO_TOOL: name_wanting(out, l, c, true); return "no tool";
	case JOB_BATCH_NOT_NOW: name_wanting(out, l, c, false); return "not now";
	default: return still_to_do(l, check, b, out);
	}
}

/* ---- settings ------------------------------------------------------------------------------------ */

/* Each once: named[] is by setting. */
static void name_unasked(struct text *out, const struct listing *l, const int *records, int n, bool *named)
{
	for (int i = 0; i < n; i++)
		if (!named[records[i]] && !settings_asked(l->v, records[i], KN_NONE)) {
			named[records[i]] = true;
			text_addf(out, "%s%s", out->len ? "; " : "", l->v->kn->settings[records[i]].title);
		}
}

/* What the rest of its list would disturb before anybody has noted it. */
static void say_to_note(const struct listing *l, int state)
{
	const struct kn_knowledge *kn = l->v->kn;
	const struct kn_access *a = &kn->accesses[state];
	bool *named = mem_array((size_t)kn->nsettings + 1, sizeof *named);
	struct text names = {0};

	for (int i = 0; i < a->nbatch; i++) {
		const struct kn_check *c = &kn->checks[a->batch[i]];

		if (c->offered && !l->v->done[a->batch[i]])
			name_unasked(&names, l, c->records, c->nrecords, named);
	}
	if (names.len)
		out_say(&l->t->out, 2, 4, "To be noted before a check of these disturbs it: %s.",
			text_str(&names));
	text_free(&names);
	mem_free(named);
}

/* Opening it has disturbed these already: what can still be seen of them is all there is. */
static void say_not_noted(const struct listing *l)
{
	const struct kn_knowledge *kn = l->v->kn;
	bool *named = mem_array((size_t)kn->nsettings + 1, sizeof *named);
	struct text names = {0};

	for (int a = 0; a < kn->naccesses; a++)
		if (is_open(l, a))
			name_unasked(&names, l, kn->accesses[a].records, kn->accesses[a].nrecords, named);
	if (names.len)
		out_say(&l->t->out, 0, 2, "Disturbed by opening, and not noted: %s. `note` keeps what can "
			"still be seen of it.", text_str(&names));
	text_free(&names);
	mem_free(named);
}

/* ---- one state ------------------------------------------------------------------------------------- */

static void list_state(const struct listing *l, int state)
{
	const struct kn_access *a = &l->v->kn->accesses[state];
	struct text rest = {0};

	if (!noffered(l->v->kn, state)) {
		out_say(&l->t->out, 0, 2, "Nothing in particular is cheap with this: %s.", a->title);
		return;
	}
	out_say(&l->t->out, 0, 2, "Cheap with %s (\"worth it\": tells something of the suspects):",
		a->title);
	for (int i = 0; i < a->nbatch; i++) {
		const struct kn_check *c = &l->v->kn->checks[a->batch[i]];
		const char *label;

		if (!c->offered)
			continue;
		text_clear(&rest);
		label = how_it_stands(l, a->batch[i], &rest);
		out_item(&l->t->out, COLUMN, label, "%s [%s]: %s", c->title, c->id, text_str(&rest));
	}
	text_free(&rest);
	say_to_note(l, state);
}

static void count_state(const struct listing *l, int state)
{
	const struct kn_access *a = &l->v->kn->accesses[state];
	int done = 0, worth = 0;
	struct text unused = {0};

	for (int i = 0; i < a->nbatch; i++) {
		if (!l->v->kn->checks[a->batch[i]].offered)
			continue;
		done += job_batch(l->v, a->batch[i]) == JOB_BATCH_DONE;
		worth += strcmp(how_it_stands(l, a->batch[i], &unused), "worth it") == 0;
	}
	text_free(&unused);
	out_say(&l->t->out, 2, 4, "%s: %d of %d done, %d worth it (`opened %s` lists them)", a->title, done,
		noffered(l->v->kn, state), worth, a->id);
}

/* ---- all of it ---------------------------------------------------------------------------------------- */

/* Is a state below it open that has a list of its own? */
static bool list_below(const struct listing *l, int state)
{
	const struct kn_knowledge *kn = l->v->kn;

	for (int a = 0; a < kn->naccesses; a++)
		for (int up = kn->accesses[a].parent; is_open(l, a) && noffered(kn, a) && up != KN_NONE;
		     up = kn->accesses[up].parent)
			if (up == state)
				return true;
	return false;
}

static void say_open(const struct listing *l, const int *open, int n)
{
	struct text names = {0}, time = {0};
	double minutes = 0;

	for (int i = n - 1; i >= 0; i--) {
		text_addf(&names, "%s%s", names.len ? "; " : "", l->v->kn->accesses[open[i]].title);
		minutes += l->v->kn->accesses[open[i]].close_min;
	}
	out_minutes(&time, minutes);
	out_say(&l->t->out, 0, 2, "Open now: %s. Closing it all takes %s.", text_str(&names), text_str(&time));
	text_free(&names);
	text_free(&time);
}

static void show_all(const struct listing *l)
{
	int open[STATES_MAX], n = access_open(l->v->kn, l->v->open, open);

	if (n == 0) {
		out_say(&l->t->out, 0, 2, "Nothing is open. What is cheap with something open is listed "
			"when it is; `opened STATE` says that it is.");
		return;
	}
	say_open(l, open, n);
	for (int i = n - 1; i >= 0; i--)
		if (noffered(l->v->kn, open[i]) && list_below(l, open[i]))
			count_state(l, open[i]);
	for (int i = n - 1; i >= 0; i--)
		if (noffered(l->v->kn, open[i]) && !list_below(l, open[i]))
			list_state(l, open[i]);
	say_not_noted(l);
}

void opened_show(struct talk *t, int state)
{
	struct listing l = {.t = t, .v = talk_view(t)};

	if (!l.v)
		return;
	job_situation(l.v, &l.now);
	l.bits = mem_array((size_t)t->kn->nchecks + 1, sizeof *l.bits);
	if (l.v->suspects)
		pl_check_bits(&l.now, l.bits);
	out_blank(&t->out);
	if (state == KN_NONE)
		show_all(&l);
	else
		list_state(&l, state);
	mem_free(l.bits);
}
