/* Settings noted before the first step that disturbs them.  Everything asked is an event, so nothing is
 * asked twice. */
#include <string.h>

#include "base/mem.h"
#include "talk/setting.h"

/* ---- which ------------------------------------------------------------------------------------ */

static bool asked_at(const struct job_view *v, int setting, int place)
{
	for (int i = 0; i < v->nsettings; i++)
		if (v->settings[i].setting == setting && v->settings[i].found_asked &&
		    (v->settings[i].place == KN_NONE || v->settings[i].place == place))
			return true;
	return false;
}

bool settings_asked(const struct job_view *v, int setting, int place)
{
	int n = place == KN_NONE ? settings_places(v->kn, setting) : 0;

	if (asked_at(v, setting, KN_NONE) || (place != KN_NONE && asked_at(v, setting, place)))
		return true;
	for (int p = 0; p < n; p++)
		if (!asked_at(v, setting, p))
			return false;
	return n > 0;
}

/* The first that opening `access` disturbs; KN_NONE. */
static int disturbed(const struct job_view *v, int access)
{
	for (; access != KN_NONE; access = v->kn->accesses[access].parent) {
		const struct kn_access *a = &v->kn->accesses[access];

		for (int i = 0; !(v->open >> access & 1) && i < a->nrecords; i++)
			if (!settings_asked(v, a->records[i], KN_NONE))
				return a->records[i];
	}
	return KN_NONE;
}

/* A setting that has a unit is lost unless a figure is noted. */
static bool wants_figure(const struct talk *t, int setting, const char *typed)
{
	return *rd_unit_name(t->kn->settings[setting].unit) && !strpbrk(typed, "0123456789");
}

/* Records what was typed as found; what was noted before stays. 1: done; 0: not understood; -1: the talk
 * has ended. */
static int take(struct talk *t, int setting, int place, const char *typed)
{
	const struct job_view *v;
	int per = t->kn->settings[setting].per, n = place == KN_NONE ? settings_places(t->kn, setting) : 0;
	struct pieces p;

	if (wants_figure(t, setting, typed))
		return 0;
	if (n == 0 || !strpbrk(typed, "0123456789"))
		return strlen(typed) >= SETTING_LONGEST ? 0 : settings_record(t, setting, place, "found", typed) < 0 ? -1 : 1;
	if (!settings_cut(typed, &p) || (p.n != n && p.n != 1) || !settings_sort(&p, &t->kn->kinds[per]))
		return 0;
	for (int i = 0; i < n; i++) {
		v = talk_view(t);
		if (!v || (!asked_at(v, setting, i) &&
			   settings_record(t, setting, i, "found", p.piece[p.n == 1 ? 0 : i]) < 0))
			return -1;
	}
	return 1;
}

static bool refuse(struct talk *t, int setting, int place, const struct text *line)
{
	int per = t->kn->settings[setting].per, n = place == KN_NONE ? settings_places(t->kn, setting) : 0;
	const struct kn_kind *kind = n ? &t->kn->kinds[per] : NULL;

	if (wants_figure(t, setting, text_str(line)))
		return talk_refuse(t, line, "A figure in %s, or \"don't know\".",
				   rd_unit_name(t->kn->settings[setting].unit));
	if (!kind)
		return talk_refuse(t, line, "Shorter, please: at most %zu bytes.", SETTING_LONGEST - 1);
	return talk_refuse(t, line, "One for each %s, %s to %s in this order with blanks between, like "
			   "2 1/4 2 1/2; or a single one when all are alike.", kind->title,
			   kind->places[0].id, kind->places[n - 1].id);
}

/* Notes what was measured already, so that it is not asked again. 1: all of it; 0: no; -1: over. */
static int take_measured(struct talk *t, int setting, int place)
{
	const struct job_view *v = talk_view(t);
	int n = place == KN_NONE ? settings_places(t->kn, setting) : 0;
	char text[RD_PLACES_MAX][SETTING_LONGEST];
	struct text said = {0};

	if (!v)
		return -1;
	for (int p = 0; p < (n ? n : 1); p++) {
		if (!settings_measured(v, setting, n ? p : place, -1, text[p])) {
			text_free(&said);
			return 0;
		}
		text_addf(&said, "%s%s", p ? ", " : "", text[p]);
	}
	out_say(&t->out, 0, 2, "Noted as found, as measured: %s %s.", t->kn->settings[setting].title,
		text_str(&said));
	text_free(&said);
	for (int p = 0; p < (n ? n : 1); p++)
		if (settings_record(t, setting, n ? p : place, "found", text[p]) < 0)
			return -1;
	return 1;
}

/* ---- before ------------------------------------------------------------------------------------ */

static void help_before(struct talk *t, const void *about)
{
	const struct kn_setting *s = about;

	out_say(&t->out, 2, 2, "How to take it: %s", s->how ? s->how : s->title);
	if (s->restore)
		out_say(&t->out, 2, 2, "Put back later: %s", s->restore);
	out_say(&t->out, 2, 2, "Any words do; they are kept as typed and asked for after the work. "
		"`don't know` leaves this one out, `can't` the rest of them.");
}

static enum talk_reply ask_before(struct talk *t, int setting, int place)
{
	const struct kn_setting *s = &t->kn->settings[setting];
	const char *unit = rd_unit_name(s->unit);
	struct text question = {0}, allowed = {0}, line = {0};
	struct talk_prompt p = {.help = help_before, .about = s};
	enum talk_reply reply;
	int done;

	text_add(&question, "Note before the work: ");
	settings_name(&question, t, setting, place);
	text_addf(&allowed, "as found%s%s", *unit ? ", in " : "", unit);
	if (place == KN_NONE && settings_places(t->kn, setting) > 1)
		text_addf(&allowed, ", one for each %s", t->kn->kinds[s->per].title);
	p.question = text_str(&question);
	p.allowed = text_str(&allowed);
	do {
		reply = talk_ask(t, &p, &line);
		done = reply == TALK_TEXT ? take(t, setting, place, text_str(&line))
		     : reply == TALK_DONT_KNOW && settings_record(t, setting, place, "found", "") < 0 ? -1 : 1;
		if (done < 0 || (done == 0 && !refuse(t, setting, place, &line)))
			reply = TALK_OVER;
	} while (done == 0 && reply != TALK_OVER);
	text_free(&question);
	text_free(&allowed);
	text_free(&line);
	return reply == TALK_DONT_KNOW ? TALK_TEXT : reply;
}

/* The first of a step's own that was not asked for at this place; KN_NONE. */
static int own_setting(const struct job_view *v, const int *own, int n, int per, int place, int *where)
{
	for (int i = 0; i < n; i++) {
		*where = v->kn->settings[own[i]].per == per && per != KN_NONE ? place : KN_NONE;
		if (!settings_asked(v, own[i], *where))
			return own[i];
	}
	return KN_NONE;
}

enum talk_reply settings_before(struct talk *t, int access, const int *own, int n, int per, int place)
{
	bool none = false, opening = true; /* none: the rest of what opening disturbs, or the step, is not noted */

	for (;;) {
		const struct job_view *v = talk_view(t);
		int where = KN_NONE, setting, done;
		enum talk_reply reply;

		if (!v)
			return TALK_OVER;
		setting = opening ? disturbed(v, access) : KN_NONE;
		if (setting == KN_NONE) {
			none = none && !opening;
			opening = false;
			setting = own_setting(v, own, n, per, place, &where);
		}
		if (setting == KN_NONE)
			return TALK_TEXT;
		done = take_measured(t, setting, where);
		if (done != 0) {
			if (done < 0)
				return TALK_OVER;
			continue;
		}
		reply = none ? TALK_CANNOT : ask_before(t, setting, where);
		none = reply == TALK_CANNOT;
		if (none && settings_record(t, setting, where, "found", "") < 0)
			return TALK_OVER;
		if (reply != TALK_TEXT && reply != TALK_CANNOT)
			return reply;
	}
}
