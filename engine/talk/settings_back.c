/* Settings put back after the work, in the order of the final set-up, and shown side by side. */
#include <string.h>

#include "report/report.h"
#include "report/words.h"
#include "talk/setting.h"

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
struct back { int n, setting; struct job_setting at[RD_PLACES_MAX]; char now[RD_PLACES_MAX][SETTING_LONGEST]; };

static struct back to_put_back(const struct job_view *v, const struct job *j)
{
	const struct job_setting *first = next_open(v);
	struct back b = {.setting = first ? first->setting : KN_NONE};

	for (int i = 0; first && i < v->nsettings && b.n < RD_PLACES_MAX; i++) {
		const struct job_setting *s = &v->settings[i];

		if (s->setting != b.setting || !still_open(s))
			continue;
		if (v->nrepairs == 0 ||
		    !settings_measured(v, s->setting, s->place, record_last(j, JOB_REPAIRED, NULL), b.now[b.n]))
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
		for (int i = 0; i < b->n && strlen(typed) < SETTING_LONGEST; i++)
			strcpy(b->now[i], typed);
		return strlen(typed) < SETTING_LONGEST;
	}
	if (!settings_cut(typed, &p) || (p.n != b->n && p.n != 1))
		return false;
	if (p.n == settings_places(t->kn, b->setting) && !settings_sort(&p, &t->kn->kinds[per]))
		return false;
	for (int i = 0; i < b->n; i++)
		memcpy(b->now[i], p.piece[p.n == 1 ? 0 : i], SETTING_LONGEST);
	return true;
}

static void after_question(struct text *out, const struct talk *t, const struct back *b)
{
	settings_name(out, t, b->setting, b->n == 1 ? b->at[0].place : KN_NONE);
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
		out_say(&t->out, 0, 2, "NOTICE: %s is outside its limit, %s. `change %s=FIGURE` when it is set.",
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
					  "one for all; each at most %zu bytes.", SETTING_LONGEST - 1))
			reply = TALK_OVER;
	} while (!good && reply != TALK_OVER);
	if ((reply == TALK_TEXT || reply == TALK_DEFAULT) && close &&
	    access_record(t, 0, KN_RUNNING) < 0)
		reply = TALK_OVER;
	for (int i = 0; i < b.n; i++)
		if ((reply == TALK_TEXT || reply == TALK_DEFAULT || reply == TALK_DONT_KNOW) &&
		    settings_record(t, b.setting, b.at[i].place, "left", reply == TALK_DONT_KNOW ? "" : b.now[i]) < 0)
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
		settings_name(&names, t, s->setting, KN_NONE);
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
		if (settings_record(t, s->setting, s->place, "left", "") < 0)
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
