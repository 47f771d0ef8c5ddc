/* What is open on the bike: what a step needs opened and closed, and recording it.
 *
 * Access states form a tree; a state is open when its bit is set, and then so are its parents.
 * Closing one closes everything below it. */
#include <string.h>

#include "base/mem.h"
#include "talk/inner.h"

#define STATES_MAX 64

/* Questions are answered at any state of the bike; what runs or moves asks for more. */
enum kn_energy check_energy(const struct kn_check *c)
{
	return c->needs_engine && c->energy < KN_RUNNING ? KN_RUNNING : c->energy;
}

enum kn_energy step_energy(const struct talk *t, int check)
{
	enum kn_energy energy = check_energy(&t->kn->checks[check]);
	bool proof = t->step.verifies && t->step.kind == PL_CHECK && t->step.index == check;

	return proof && energy < KN_RUNNING ? KN_RUNNING : energy;
}

static bool is_open(uint64_t open, int access)
{
	return (open >> access & 1) != 0;
}

/* Is `access` this state or below it? */
static bool below(const struct kn_knowledge *kn, int access, int state)
{
	for (; access != KN_NONE; access = kn->accesses[access].parent)
		if (access == state)
			return true;
	return false;
}

/* States to open, outermost first. */
static int to_open(const struct kn_knowledge *kn, uint64_t open, int access, int *list)
{
	int n = 0, kept;

	for (int a = access; a != KN_NONE && kn->accesses[a].parent != KN_NONE;
	     a = kn->accesses[a].parent)
		if (!is_open(open, a) && n < STATES_MAX)
			list[n++] = a;
	for (int i = 0; i < n / 2; i++) {
		kept = list[i];
		list[i] = list[n - 1 - i];
		list[n - 1 - i] = kept;
	}
	return n;
}

static bool forbids(const struct kn_access *a, enum kn_energy energy)
{
	if (a->parent == KN_NONE)
		return false;
	return energy == KN_RIDING || (energy == KN_RUNNING && a->runs == KN_RUNS_NO);
}

int access_depth(const struct kn_knowledge *kn, int access)
{
	int n = 0;

	for (; access != KN_NONE; access = kn->accesses[access].parent)
		n++;
	return n;
}

/* States that must be closed for it, innermost first; never one that is needed open. */
static int to_close(const struct kn_knowledge *kn, uint64_t open, int access, enum kn_energy energy,
		    int *list)
{
	uint64_t close = 0;
	int n = 0;

	for (int a = 0; a < kn->naccesses; a++)
		if (forbids(&kn->accesses[a], energy) && !below(kn, access, a))
			for (int b = 0; b < kn->naccesses; b++)
				if (is_open(open, b) && below(kn, b, a) && !below(kn, access, b))
					close |= UINT64_C(1) << b;
	for (int d = kn->naccesses; d > 0; d--)
		for (int a = 0; a < kn->naccesses && n < STATES_MAX; a++)
			if (is_open(close, a) && access_depth(kn, a) == d)
				list[n++] = a;
	return n;
}

static void name_states(struct text *out, const struct kn_knowledge *kn, const int *list, int n)
{
	for (int i = 0; i < n; i++)
		text_addf(out, "%s%s", i == 0 ? "" : i == n - 1 ? " and " : ", ",
			  kn->accesses[list[i]].title);
}

/* A warning of petrol does not stand in for a danger of it. */
static bool is_said(const struct kn_caution *said, int n, const struct kn_caution *c)
{
	for (int i = 0; i < n; i++)
		if (strcmp(said[i].hazard, c->hazard) == 0 && said[i].signal >= c->signal)
			return true;
	return false;
}

/* Did one of the first n states say the same in the same words? */
static bool is_repeated(const struct kn_knowledge *kn, const int *list, int n, const struct kn_caution *c)
{
	for (int i = 0; i < n; i++)
		for (int k = 0; k < kn->accesses[list[i]].ncautions; k++)
			if (strcmp(kn->accesses[list[i]].cautions[k].text, c->text) == 0)
				return true;
	return false;
}

void access_cautions(struct talk *t, int access, const struct kn_caution *said, int nsaid)
{
	const struct job_view *v = talk_view(t);
	int list[STATES_MAX], n = v ? to_open(t->kn, v->open, access, list) : 0;

	for (int i = 0; i < n; i++)
		for (int k = 0; k < t->kn->accesses[list[i]].ncautions; k++) {
			const struct kn_caution *c = &t->kn->accesses[list[i]].cautions[k];

			if (!is_said(said, nsaid, c) && !is_repeated(t->kn, list, i, c))
				explain_cautions(t, c, 1);
		}
}

void access_say(struct talk *t, int access, enum kn_energy energy)
{
	const struct job_view *v = talk_view(t);
	int list[STATES_MAX], n;
	double minutes = 0;
	struct text names = {0}, time = {0};

	if (!v)
		return;
	n = to_close(t->kn, v->open, access, energy, list);
	for (int i = 0; i < n; i++)
		minutes += t->kn->accesses[list[i]].close_min;
	if (n > 0) {
		name_states(&names, t->kn, list, n);
		out_minutes(&time, minutes);
		out_say(&t->out, 2, 2, "To be closed up first: %s (%s).", text_str(&names),
			text_str(&time));
	}
	n = to_open(t->kn, v->open, access, list);
	minutes = 0;
	for (int i = 0; i < n; i++)
		minutes += t->kn->accesses[list[i]].open_min;
	if (n > 0) {
		text_clear(&names);
		text_clear(&time);
		name_states(&names, t->kn, list, n);
		out_minutes(&time, minutes);
		out_say(&t->out, 2, 2, "To be opened for it: %s (%s).", text_str(&names),
			text_str(&time));
	}
	text_free(&names);
	text_free(&time);
}

static int record_all(struct talk *t, const int *list, int n, const char *what)
{
	for (int i = 0; i < n; i++)
		if (talk_record(t, JOB_ACCESS, t->kn->accesses[list[i]].id, what, NULL, NULL) < 0)
			return -1;
	return 0;
}

int access_record(struct talk *t, int access, enum kn_energy energy)
{
	const struct job_view *v = talk_view(t);
	int closing[STATES_MAX], opening[STATES_MAX], nclosing, nopening;

	if (!v)
		return -1;
	nclosing = to_close(t->kn, v->open, access, energy, closing);
	nopening = to_open(t->kn, v->open, access, opening);
	if (record_all(t, closing, nclosing, "closed") < 0)
		return -1;
	return record_all(t, opening, nopening, "open");
}

/* ---- `opened` and `closed` ------------------------------------------------------------------------- */

static int named(const struct talk *t, const char *typed, struct hs_err *err)
{
	const struct kn_knowledge *kn = t->kn;
	struct talk_choice *c = mem_array((size_t)kn->naccesses + 1, sizeof *c);
	struct text ids = {0};
	int found;

	for (int i = 0; i < kn->naccesses; i++) {
		c[i] = (struct talk_choice){kn->accesses[i].id, kn->accesses[i].title};
		if (kn->accesses[i].reachable && kn->accesses[i].parent != KN_NONE)
			text_addf(&ids, "%s%s", ids.len ? ", " : "", kn->accesses[i].id);
	}
	found = choose_one(c, kn->naccesses, typed);
	if (found == KN_NONE || !kn->accesses[found].reachable) {
		err_set(err, HS_BAD_INPUT, "This machine has no \"%s\". There are: %s.", typed,
			text_str(&ids));
		found = KN_NONE;
	}
	text_free(&ids);
	mem_free(c);
	return found;
}

bool access_names_closed(const struct kn_knowledge *kn, uint64_t open, int access, enum kn_energy energy,
			 struct text *out)
{
	int list[STATES_MAX], n = to_close(kn, open, access, energy, list);

	name_states(out, kn, list, n);
	return n > 0;
}

/* Everything that is open at or below `state`, innermost first. */
static int open_below(const struct kn_knowledge *kn, uint64_t open, int state, int *list)
{
	int n = 0;

	for (int d = kn->naccesses; d > 0; d--)
		for (int a = 0; a < kn->naccesses && n < STATES_MAX; a++)
			if (is_open(open, a) && kn->accesses[a].parent != KN_NONE &&
			    access_depth(kn, a) == d && below(kn, a, state))
				list[n++] = a;
	return n;
}

static int root_of(const struct kn_knowledge *kn)
{
	for (int a = 0; a < kn->naccesses; a++)
		if (kn->accesses[a].parent == KN_NONE)
			return a;
	return 0;
}

int access_open(const struct kn_knowledge *kn, uint64_t open, int *list)
{
	return open_below(kn, open, root_of(kn), list);
}

int access_told(struct talk *t, const char *argument, bool open, struct hs_err *err)
{
	const struct job_view *v = talk_view(t);
	bool everything = !open && text_same_word(argument, "all");
	int list[STATES_MAX] = {0}, n, state;
	struct text names = {0};

	if (!v)
		return -1;
	state = everything ? root_of(t->kn) : named(t, argument, err);
	if (state == KN_NONE)
		return -1;
	n = open ? to_open(t->kn, v->open, state, list) : open_below(t->kn, v->open, state, list);
	name_states(&names, t->kn, list, n);
	if (record_all(t, list, n, open ? "open" : "closed") == 0) {
		if (n == 0 && open)
			opened_show(t, state);
		else if (n == 0)
			out_say(&t->out, 0, 2, "That is how it is noted already.");
		else
			out_say(&t->out, 0, 2, "%s: %s.%s", open ? "Open now" : "Closed again",
				text_str(&names), open && opened_has_list(t->kn, list[n - 1]) ?
				" `opened` alone lists what is cheap there." : "");
	}
	text_free(&names);
	return t->over ? -1 : 0;
}
