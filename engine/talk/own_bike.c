/* What the bike is called, which machine it is like, how many of what, and what is fitted. */
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "talk/own.h"

static int machine_by_id(const struct own *o, const char *id)
{
	for (int i = 0; i < o->nmachines; i++)
		if (strcmp(o->machines[i].id, id) == 0)
			return i;
	return KN_NONE;
}

static void help_name(struct talk *t, const void *about)
{
	(void)about;
	out_say(&t->out, 2, 2, "How you call it: \"the old twin\". The name stands on job sheets and in "
		"the list of machines.");
}

enum talk_reply own_ask_name(struct own *o)
{
	struct talk *t = &o->talk;
	struct talk_prompt p = {.question = "What is the bike called", .help = help_name,
				.allowed = "a name"};
	struct text line = {0};
	enum talk_reply reply;

	do {
		reply = talk_ask(t, &p, &line);
		if (reply != TALK_TEXT)
			break;
		if (kn_own_id(text_str(&line), o->id) && line.len <= 128 &&
		    machine_by_id(o, o->id) == KN_NONE)
			break;
		if (!talk_refuse(t, &line, "%s", o->id[0] && machine_by_id(o, o->id) != KN_NONE
				 ? "The trees have a machine of that name: take another."
				 : "A name has letters or digits in it, and 128 at most."))
			reply = TALK_OVER;
	} while (reply != TALK_OVER);
	if (reply == TALK_TEXT) {
		text_clear(&o->title);
		text_add(&o->title, text_str(&line));
		o->machine.title = text_str(&o->title);
		o->machine.id = o->id;
	}
	text_free(&line);
	return reply;
}

static int places_of(const struct kn_knowledge *kn, const char *kind)
{
	for (int i = 0; i < kn->nkinds; i++)
		if (strcmp(kn->kinds[i].id, kind) == 0)
			return kn->kinds[i].nplaces;
	return 0;
}

void own_begin_like(struct own *o, const struct kn_knowledge *kn)
{
	o->machine.like = kn;
	o->machine.fitted = kn->fitted;
	o->machine.ncylinders = places_of(kn, "cylinder");
	o->machine.ncarburettors = places_of(kn, "carburettor");
	o->machine.ncoils = places_of(kn, "coil");
}

enum talk_reply own_ask_like(struct own *o)
{
	struct talk *t = &o->talk;
	struct talk_choice *choices = mem_array((size_t)o->nmachines + 1, sizeof *choices);
	struct talk_prompt p = {.question = "Which one is it most like", .allowed = "a number or a name",
				.choices = choices, .nchoices = o->nmachines,
				.by_default = o->generic ? o->generic->machine : NULL};
	struct text line = {0};
	int picked = KN_NONE;
	enum talk_reply reply;

	for (int i = 0; i < o->nmachines; i++)
		choices[i] = (struct talk_choice){o->machines[i].id, o->machines[i].title};
	out_say(&t->out, 0, 0, "Where things are and how long it takes to get at them is copied from it; "
		"its figures are not.");
	choose_list(t, choices, o->nmachines);
	do {
		reply = talk_ask(t, &p, &line);
		if (reply == TALK_DEFAULT && p.by_default)
			picked = machine_by_id(o, p.by_default);
		if (reply != TALK_TEXT)
			break;
		picked = choose_one(choices, o->nmachines, text_str(&line));
		if (picked == KN_NONE && !talk_refuse(t, &line, "That is none of the machines listed."))
			reply = TALK_OVER;
	} while (reply == TALK_TEXT && picked == KN_NONE);
	if (picked != KN_NONE && o->machine.like != o->all[picked])
		own_begin_like(o, o->all[picked]);
	mem_free(choices);
	text_free(&line);
	return reply;
}

enum talk_reply own_ask_count(struct own *o, const char *question, int least, int *count)
{
	struct talk *t = &o->talk;
	struct text before = {0}, allowed = {0}, line = {0};
	struct talk_prompt p = {.question = question};
	enum talk_reply reply;

	text_addf(&before, "%d", *count);
	text_addf(&allowed, "%d to %d", least, KN_OWN_CYLINDERS_MAX);
	p.by_default = text_str(&before);
	p.allowed = text_str(&allowed);
	do {
		char *end;
		long n;
		reply = talk_ask(t, &p, &line);
		if (reply != TALK_TEXT)
			break;
		n = strtol(text_str(&line), &end, 10);
		if (*end == '\0' && n >= least && n <= KN_OWN_CYLINDERS_MAX) {
			*count = (int)n;
			break;
		}
		if (!talk_refuse(t, &line, "A number from %d to %d.", least, KN_OWN_CYLINDERS_MAX))
			reply = TALK_OVER;
	} while (reply != TALK_OVER);
	text_free(&before);
	text_free(&allowed);
	text_free(&line);
	return reply;
}

/* Another number of cylinders than on the bike it is like: one carburettor and coil each, until said. */
enum talk_reply own_ask_cylinders(struct own *o)
{
	struct kn_own *m = &o->machine;
	int before = m->ncylinders;
	enum talk_reply reply = own_ask_count(o, "How many cylinders", 1, &m->ncylinders);

	if (m->ncylinders != before)
		m->ncarburettors = m->ncoils = m->ncylinders;
	return reply;
}

/* ---- what is fitted ------------------------------------------------------------------------------ */

static void help_fitted(struct talk *t, const void *about)
{
	(void)about;
	out_say(&t->out, 2, 2, "What is not fitted cannot fail and is never asked about. Not sure of one: "
		"name it; its checks are answered with `can't` where it is not there. Lamp codes are "
		"written into the file by hand (docs/trees-howto.md).");
}

static void follow_counts(struct kn_own *m)
{
	for (int i = 0; i < m->like->noptions; i++) {
		bool fitted;
		if (kn_own_option_follows(m, m->like->options[i].id, &fitted))
			m->fitted = (m->fitted & ~((uint64_t)1 << i)) | (uint64_t)fitted << i;
	}
}

static void fitted_words(struct text *out, const struct kn_own *m, const int *option, int n)
{
	for (int i = 0; i < n; i++)
		if (m->fitted >> option[i] & 1)
			text_addf(out, "%s%d", out->len ? " " : "", i + 1);
	if (!out->len)
		text_add(out, "none");
}

enum talk_reply own_ask_fitted(struct own *o)
{
	struct talk *t = &o->talk;
	struct kn_own *m = &o->machine;
	struct talk_choice choices[64];
	struct text before = {0};
	struct talk_prompt p = {.question = "What is fitted", .help = help_fitted,
				.allowed = "numbers or names, all, none", .choices = choices};
	int option[64], n = 0;
	bool picked[65] = {false}, ignored;
	enum talk_reply reply;

	for (int i = 0; i < m->like->noptions; i++)
		if (!kn_own_option_follows(m, m->like->options[i].id, &ignored)) {
			option[n] = i;
			choices[n++] = (struct talk_choice){m->like->options[i].id, m->like->options[i].title};
		}
	p.nchoices = n;
	fitted_words(&before, m, option, n);
	p.by_default = text_str(&before);
	choose_list(t, choices, n);
	reply = talk_ask_several(t, &p, true, true, picked);
	for (int i = 0; i < n && reply == TALK_TEXT; i++)
		m->fitted = (m->fitted & ~((uint64_t)1 << option[i])) | (uint64_t)picked[i] << option[i];
	follow_counts(m);
	text_free(&before);
	return reply;
}
