/* Settings: noted before the first step that disturbs them, put back after the work in the order of the
 * final set-up, shown side by side.  Everything asked is an event, so nothing is asked twice. */
#include <ctype.h>
#include <stdio.h>
#include <string.h>

#include "base/mem.h"
#include "report/report.h"
#include "report/words.h"
#include "talk/inner.h"

#define LONGEST (sizeof ((struct job_setting *)0)->found)

/* ---- which ------------------------------------------------------------------------------------ */

static bool asked_at(const struct job_view *v, int setting, int place)
{
	for (int i = 0; i < v->nsettings; i++)
		if (v->settings[i].setting == setting && v->settings[i].found_asked &&
		    (v->settings[i].place == KN_NONE || v->settings[i].place == place))
			return true;
	return false;
}

static int places_of(const struct kn_knowledge *kn, int setting)
{
	int per = kn->settings[setting].per;

	return per == KN_NONE ? 0 : kn->kinds[per].nplaces;
}

/* Was it asked for at this place, or at each when it is KN_NONE? */
static bool asked(const struct job_view *v, int setting, int place)
{
	int n = place == KN_NONE ? places_of(v->kn, setting) : 0;

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
			if (!asked(v, a->records[i], KN_NONE))
				return a->records[i];
	}
	return KN_NONE;
}

/* ---- one line with a figure for each place ------------------------------------------------------ */

struct pieces { int n; char piece[RD_PLACES_MAX][LONGEST]; };

static bool fraction(const char *word) { return isdigit((unsigned char)*word) && strchr(word, '/'); }

static bool add_piece(struct pieces *p, const char *word, size_t n)
{
	char *last = p->n ? p->piece[p->n - 1] : NULL;

	while (n > 0 && isspace((unsigned char)word[n - 1]))
		n--;
	if (n == 0)
		return true;
	if (last && fraction(word) && !strchr(last, '/') && strlen(last) + n + 2 < LONGEST) {
		strcat(last, " ");               /* "2 1/4" is one figure */
		strncat(last, word, n);
		return true;
	}
	if (p->n == RD_PLACES_MAX || n >= LONGEST)
		return false;
	memcpy(p->piece[p->n], word, n);
	p->piece[p->n++][n] = '\0';
	return true;
}

/* Cut at semicolons, or at commas with a blank behind, or else at blanks. */
static bool cut(const char *typed, struct pieces *p)
{
	const char *breaks = strchr(typed, ';') ? ";" : strstr(typed, ", ") ? "," : " ";

	for (p->n = 0; *typed;) {
		size_t n = strcspn(typed, breaks);

		while (*breaks == ',' && typed[n] == ',' && typed[n + 1] != ' ')
			n += 1 + strcspn(typed + n + 1, breaks); /* a decimal comma */
		if (!add_piece(p, typed, n))
			return false;
		typed += n;
		typed += strspn(typed, " ,;");
	}
	return true;
}

/* "2:1 3/4" is that place's; the names stand in any order. */
static bool sort_by_place(struct pieces *p, const struct kn_kind *kind)
{
	struct pieces sorted = {.n = p->n};
	uint32_t given = 0;

	for (int i = 0; i < p->n; i++) {
		char *colon = strchr(p->piece[i], ':');
		int place;

		if (!colon)
			return given == 0;       /* none has a name: they stand in order */
		*colon = '\0';
		place = kn_place_by_id(kind, p->piece[i]);
		if (place == KN_NONE || place >= p->n || (given >> place & 1))
			return false;
		given |= 1u << place;
		colon += 1 + strspn(colon + 1, " ");
		memcpy(sorted.piece[place], colon, strlen(colon) + 1);
	}
	*p = sorted;
	return true;
}

static int record(struct talk *t, int setting, int place, const char *when, const char *text)
{
	const struct kn_setting *s = &t->kn->settings[setting];

	return talk_record(t, JOB_SETTING, s->id, place_id(t->kn, s->per, place), when, text);
}

/* Records what was typed as found; what was noted before stays. 1: done; 0: not understood; -1: the talk
 * has ended. */
static int take(struct talk *t, int setting, int place, const char *typed)
{
	const struct job_view *v;
	int per = t->kn->settings[setting].per, n = place == KN_NONE ? places_of(t->kn, setting) : 0;
	struct pieces p;

	if (n == 0 || !strpbrk(typed, "0123456789"))
		return strlen(typed) >= LONGEST ? 0 : record(t, setting, place, "found", typed) < 0 ? -1 : 1;
	if (!cut(typed, &p) || (p.n != n && p.n != 1) || !sort_by_place(&p, &t->kn->kinds[per]))
		return 0;
	for (int i = 0; i < n; i++) {
		v = talk_view(t);
		if (!v || (!asked_at(v, setting, i) &&
			   record(t, setting, i, "found", p.piece[p.n == 1 ? 0 : i]) < 0))
			return -1;
	}
	return 1;
}

static bool refuse(struct talk *t, int setting, int place, const struct text *line)
{
	int per = t->kn->settings[setting].per, n = place == KN_NONE ? places_of(t->kn, setting) : 0;
	const struct kn_kind *kind = n ? &t->kn->kinds[per] : NULL;

	if (!kind)
		return talk_refuse(t, line, "Shorter, please: at most %zu bytes.", LONGEST - 1);
	return talk_refuse(t, line, "One for each %s, %s to %s in this order with blanks between, like "
			   "2 1/4 2 1/2; or a single one when all are alike.", kind->title,
			   kind->places[0].id, kind->places[n - 1].id);
}

static void name(struct text *out, const struct talk *t, int setting, int place)
{
	const struct kn_setting *s = &t->kn->settings[setting];

	text_add(out, s->title);
	if (s->per != KN_NONE && place != KN_NONE)
		text_addf(out, ", %s %s", t->kn->kinds[s->per].title, place_id(t->kn, s->per, place));
}

/* ---- what a check has read already ----------------------------------------------------------- */

/* The reading of this finding at the place, as text; false when it has none. */
static bool read_at(const struct job_finding *f, int place, char out[LONGEST])
{
	const struct rd_result *r = &f->understood.reading;
	bool listed = place != KN_NONE && f->place == KN_NONE && r->nplaces > 0;

	if (!f->understood.number || (listed ? place >= r->nplaces || !r->at[place].given ||
				      r->at[place].kind != RD_NUMBER
					     : r->nplaces > 0 || r->kind != RD_NUMBER || f->place != place))
		return false;
	snprintf(out, LONGEST, "%.4g", listed ? r->at[place].value : r->value);
	return true;
}

/* The newest reading of what the setting must come to, taken after this event. */
static bool measured(const struct job_view *v, int setting, int place, int after, char out[LONGEST])
{
	int value = v->kn->settings[setting].value;

	for (int i = v->nfindings - 1; value != KN_NONE && i >= 0; i--) {
		const struct job_finding *f = &v->findings[i];
		const struct kn_check *c = &v->kn->checks[f->check];

		if (f->event > after && c->reading && c->reading->value == value &&
		    c->reading->unit == v->kn->values[value].unit && read_at(f, place, out))
			return true;
	}
	return false;
}

/* Notes what was measured already, so that it is not asked again. 1: all of it; 0: no; -1: over. */
static int take_measured(struct talk *t, int setting, int place)
{
	const struct job_view *v = talk_view(t);
	int n = place == KN_NONE ? places_of(t->kn, setting) : 0;
	char text[RD_PLACES_MAX][LONGEST];
	struct text said = {0};

	if (!v)
		return -1;
	for (int p = 0; p < (n ? n : 1); p++) {
		if (!measured(v, setting, n ? p : place, -1, text[p])) {
			text_free(&said);
			return 0;
		}
		text_addf(&said, "%s%s", p ? ", " : "", text[p]);
	}
	out_say(&t->out, 0, 2, "Noted as found, as measured: %s %s.", t->kn->settings[setting].title,
		text_str(&said));
	text_free(&said);
	for (int p = 0; p < (n ? n : 1); p++)
		if (record(t, setting, n ? p : place, "found", text[p]) < 0)
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
	name(&question, t, setting, place);
	text_addf(&allowed, "as found%s%s", *unit ? ", in " : "", unit);
	if (s->per != KN_NONE && place == KN_NONE)
		text_addf(&allowed, ", one for each %s", t->kn->kinds[s->per].title);
	p.question = text_str(&question);
	p.allowed = text_str(&allowed);
	do {
		reply = talk_ask(t, &p, &line);
		done = reply == TALK_TEXT ? take(t, setting, place, text_str(&line))
		     : reply == TALK_DONT_KNOW && record(t, setting, place, "found", "") < 0 ? -1 : 1;
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
		if (!asked(v, own[i], *where))
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
		if (none && record(t, setting, where, "found", "") < 0)
			return TALK_OVER;
		if (reply != TALK_TEXT && reply != TALK_CANNOT)
			return reply;
	}
}

/* ---- after --------------------------------------------------------------------------------------- */

static bool still_open(const struct job_setting *s) { return s->found[0] && !s->left_asked; }

bool settings_open(const struct job_view *v)
{
	for (int i = 0; i < v->nsettings; i++)
		if (still_open(&v->settings[i]))
			return true;
	return false;
}

/* Disturbed by opening something, so that it can be put back only when that is closed again. */
static bool outside(const struct kn_knowledge *kn, int setting)
{
	for (int a = 0; a < kn->naccesses; a++)
		for (int i = 0; i < kn->accesses[a].nrecords; i++)
			if (kn->accesses[a].records[i] == setting)
				return true;
	return false;
}

/* What is inside first; else in the order of the final set-up, as the view has them. */
static const struct job_setting *next_open(const struct job_view *v)
{
	const struct job_setting *best = NULL;

	for (int i = 0; i < v->nsettings; i++) {
		const struct job_setting *s = &v->settings[i];

		if (still_open(s) && (!best || (outside(v->kn, best->setting) && !outside(v->kn, s->setting))))
			best = s;
	}
	return best;
}

/* The places of one setting that are to be put back: asked for together. */
struct back { int n, setting; struct job_setting at[RD_PLACES_MAX]; char now[RD_PLACES_MAX][LONGEST]; };

static struct back to_put_back(const struct job_view *v, const struct job *j)
{
	struct back b = {.setting = next_open(v)->setting};

	for (int i = 0; i < v->nsettings && b.n < RD_PLACES_MAX; i++) {
		const struct job_setting *s = &v->settings[i];

		if (s->setting != b.setting || !still_open(s))
			continue;
		if (v->nrepairs == 0 ||
		    !measured(v, s->setting, s->place, record_last(j, JOB_REPAIRED, NULL), b.now[b.n]))
			strcpy(b.now[b.n], s->found);
		b.at[b.n++] = *s;
	}
	return b;
}

static void help_after(struct talk *t, const void *about)
{
	const struct back *b = about;
	const struct kn_setting *k = &t->kn->settings[b->setting];

	if (k->how)
		out_say(&t->out, 2, 2, "How to take it: %s", k->how);
	out_say(&t->out, 2, 2, "Say how it is now, in any words%s. `don't know` leaves this one open, `can't` "
		"all that is left.", b->n > 1 ? ", one for each place" : "");
}

/* What was typed for each place; false: not as many as there are places. */
static bool share_out(const struct talk *t, struct back *b, const char *typed)
{
	struct pieces p;
	int per = t->kn->settings[b->setting].per;

	if (b->n == 1 || !strpbrk(typed, "0123456789")) {
		for (int i = 0; i < b->n && strlen(typed) < LONGEST; i++)
			strcpy(b->now[i], typed);
		return strlen(typed) < LONGEST;
	}
	if (!cut(typed, &p) || (p.n != b->n && p.n != 1))
		return false;
	if (p.n == places_of(t->kn, b->setting) && !sort_by_place(&p, &t->kn->kinds[per]))
		return false;
	for (int i = 0; i < b->n; i++)
		memcpy(b->now[i], p.piece[p.n == 1 ? 0 : i], LONGEST);
	return true;
}

static void after_question(struct text *out, const struct talk *t, const struct back *b)
{
	name(out, t, b->setting, b->n == 1 ? b->at[0].place : KN_NONE);
	text_addf(out, " was ");
	for (int i = 0; i < b->n; i++)
		text_addf(out, "%s%s%s%s", i ? ", " : "",
			  b->n > 1 ? place_id(t->kn, t->kn->settings[b->setting].per, b->at[i].place) : "",
			  b->n > 1 ? ": " : "", b->at[i].found);
	text_addf(out, "; now it is");
}

/* Enter means as found, or what a check has read since. */
static void after_default(struct text *out, const struct back *b)
{
	bool as_found = true;

	for (int i = 0; i < b->n; i++) {
		as_found = as_found && strcmp(b->now[i], b->at[i].found) == 0;
		text_addf(out, "%s%s", i ? " " : "", b->now[i]);
	}
	if (as_found) {
		text_clear(out);
		text_add(out, "as found");
	}
}

static void say_outside(struct talk *t, int setting)
{
	const struct job_view *v = talk_view(t);
	struct text limit = {0};

	for (int i = 0; v && i < v->nsettings; i++) {
		const struct job_setting *s = &v->settings[i];

		if (s->setting != setting || words_setting_verdict(v, s, s->left) != RD_OUTSIDE)
			continue;
		text_clear(&limit);
		words_setting_limit(&limit, v, s);
		out_say(&t->out, 0, 2, "CAUTION: %s is outside its limit, %s. `change %s=FIGURE` when it is set.",
			s->left, text_str(&limit), v->kn->settings[setting].id);
	}
	text_free(&limit);
}

static enum talk_reply ask_after(struct talk *t, const struct job_view *v)
{
	struct back b = to_put_back(v, t->job);
	const struct kn_setting *k = &t->kn->settings[b.setting];
	struct text question = {0}, line = {0}, enter = {0};
	struct talk_prompt p = {.help = help_after, .about = &b};
	enum talk_reply reply;
	bool good, close = outside(t->kn, b.setting) && !bench_running(v); /* on the bench it stays open */

	if (k->restore)
		out_say(&t->out, 0, 2, "Put back: %s. %s", k->title, k->restore);
	if (close)
		access_say(t, 0, KN_RUNNING);
	after_question(&question, t, &b);
	after_default(&enter, &b);
	p.question = text_str(&question);
	p.by_default = text_str(&enter);
	do {
		reply = talk_ask(t, &p, &line);
		good = reply != TALK_TEXT || share_out(t, &b, text_str(&line));
		if (!good && !talk_refuse(t, &line, "One for each, in this order with blanks between, or a single "
					  "one for all; each at most %zu bytes.", LONGEST - 1))
			reply = TALK_OVER;
	} while (!good && reply != TALK_OVER);
	if ((reply == TALK_TEXT || reply == TALK_DEFAULT) && close &&
	    access_record(t, 0, KN_RUNNING) < 0)
		reply = TALK_OVER;
	for (int i = 0; i < b.n; i++)
		if ((reply == TALK_TEXT || reply == TALK_DEFAULT || reply == TALK_DONT_KNOW) &&
		    record(t, b.setting, b.at[i].place, "left", reply == TALK_DONT_KNOW ? "" : b.now[i]) < 0)
			reply = TALK_OVER;
	if (reply == TALK_TEXT || reply == TALK_DEFAULT)
		say_outside(t, b.setting);
	text_free(&question);
	text_free(&line);
	text_free(&enter);
	return reply;
}

/* Disturbed without having been noted: nothing to put back to, so it is set anew. */
static void say_unnoted(struct talk *t, const struct job_view *v)
{
	struct text names = {0};

	for (int i = 0; i < v->nsettings; i++) {
		const struct job_setting *s = &v->settings[i];

		if (!s->found_asked || s->found[0] || s->left[0] ||
		    (i > 0 && v->settings[i - 1].setting == s->setting))
			continue;
		text_add(&names, names.len ? ", " : "");
		name(&names, t, s->setting, KN_NONE);
	}
	if (names.len)
		out_say(&t->out, 0, 2, "NOTICE: Not noted before the work, so to be set anew: %s.",
			text_str(&names));
	text_free(&names);
}

void settings_show(struct talk *t)
{
	const struct job_view *v = talk_view(t);
	struct text table = {0};

	if (!v)
		return;
	report_settings(v, &table);
	out_blank(&t->out);
	if (table.len) {
		out_lines(&t->out, text_str(&table));
		say_unnoted(t, v);
	} else {
		out_say(&t->out, 0, 2, "No setting was noted yet.");
	}
	text_free(&table);
}

/* None of the rest is noted as left; the job sheet says so. */
static int leave_rest(struct talk *t)
{
	for (;;) {
		const struct job_view *v = talk_view(t);
		const struct job_setting *s = v ? next_open(v) : NULL;

		if (!s)
			return v ? 0 : -1;
		if (record(t, s->setting, s->place, "left", "") < 0)
			return -1;
	}
}

enum talk_reply settings_after(struct talk *t, const struct job_view *v)
{
	enum talk_reply reply = ask_after(t, v);

	if (reply == TALK_CANNOT) {
		if (leave_rest(t) < 0)
			return TALK_OVER;
		out_say(&t->out, 0, 2, "Left open; the job sheet says so.");
	} else if (reply == TALK_BACK) {
		talk_back(t);
	}
	if (reply == TALK_OVER || t->over)
		return TALK_OVER;
	v = talk_view(t);
	if (v && reply != TALK_BACK && reply != TALK_MOVED && !settings_open(v))
		settings_show(t);
	return t->over ? TALK_OVER : TALK_MOVED;
}
