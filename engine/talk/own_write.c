/* The file of one's own bike: written, loaded, and what it changes. */
#include <string.h>
#include <unistd.h>

#include "base/mem.h"
#include "report/lint.h"
#include "talk/figure.h"
#include "talk/own.h"
#include "talk/paths.h"

static void say_bands(struct own *o)
{
	struct talk_out *out = &o->talk.out;
	int n = 0;

	for (int i = 0; i < o->machine.nvalues; i++) {
		const struct kn_own_value *v = &o->machine.values[i];
		struct text now = {0}, before = {0};
		if (!v->given)
			continue;
		rd_figure_format(&now, &v->figure, v->of->unit);
		figure_of_value(&before, v->of);
		if (n++ == 0)
			out_say(out, 0, 2, "Judged by your figures:");
		out_say(out, 2, 4, "%s: %s%s%s%s", v->of->title, text_str(&now), v->left_out ? "" : " (was ",
			v->left_out ? "" : text_str(&before), v->left_out ? "" : ")");
		text_free(&now);
		text_free(&before);
	}
	if (n == 0)
		out_say(out, 0, 2, "No figure was given: all bands are common practice. The job asks for one "
			"where a verdict hangs on it.");
}

/* Checks that one machine offers and the other does not. */
static void say_checks(struct talk_out *out, const char *what, const struct kn_knowledge *here,
		       const struct kn_knowledge *there)
{
	struct text names = {0};
	int n = 0;

	for (int c = 0; c < here->nchecks; c++)
		if (here->checks[c].offered && here->checks[c].kind != KN_SYMPTOM &&
		    !there->checks[c].offered)
			text_addf(&names, "%s%s", n++ ? "; " : "", here->checks[c].title);
	if (n > 0)
		out_say(out, 0, 2, "%s: %s.", what, text_str(&names));
	text_free(&names);
}

static void say_faults(struct talk_out *out, const struct kn_knowledge *kn)
{
	struct lint l = {0};

	lint_machine(&l, kn);
	for (int i = 0; i < l.n; i++)
		if (l.finding[i].grade == LINT_FAULT && !l.finding[i].about)
			out_say(out, 0, 2, "To know: %s.", l.finding[i].text);
	lint_free(&l);
}

/* May it be written? TALK_TEXT: yes. */
static enum talk_reply may_write(struct own *o)
{
	bool yes = true;
	enum talk_reply reply = TALK_TEXT;

	if (access(text_str(&o->path), F_OK) == 0) {
		out_say(&o->talk.out, 0, 2, "There is %s already.", text_str(&o->path));
		reply = talk_ask_yes(&o->talk, "Write over it", "no", NULL, NULL, &yes);
	}
	if (reply == TALK_TEXT && !yes) {
		out_say(&o->talk.out, 0, 2, "Then it needs another name.");
		o->step = OWN_NAME;
		reply = TALK_MOVED;
	}
	return reply;
}

int own_set_paths(struct own *o, struct hs_err *err)
{
	text_clear(&o->path);
	text_clear(&o->draft);
	if (!paths_data("machines", true, &o->path))
		return err_set(err, HS_IO, "There is no folder for your machines: HOME is not set, or it cannot "
			       "be written to.");
	text_addf(&o->path, "/%s.xml", o->id);
	text_addf(&o->draft, "%s.draft", text_str(&o->path));
	return 0;
}

enum talk_reply own_write(struct own *o)
{
	struct text file = {0};
	struct hs_err err = {0};
	struct kn_knowledge *kn;
	const struct kn_knowledge *base = o->generic ? o->generic : o->machine.like;
	enum talk_reply reply = may_write(o);

	if (reply != TALK_TEXT)
		return reply;
	kn = own_try_out(o, false, &err);
	kn_own_write(&o->machine, &file);
	if (!kn || paths_write(text_str(&o->path), text_str(&file), file.len, &err) < 0) {
		talk_fail(&o->talk, &err);
	} else {
		out_say(&o->talk.out, 0, 2, "Written and loaded: %s", text_str(&o->path));
		say_bands(o);
		out_say(&o->talk.out, 0, 2, "Against %s:", base->machine_title);
		say_checks(&o->talk.out, "Checks that apply now", kn, base);
		say_checks(&o->talk.out, "Checks that do not", base, kn);
		say_faults(&o->talk.out, kn);
		out_say(&o->talk.out, 0, 2, "`halfsplit --machine %s` begins a job with it.", o->id);
		o->talk.over = true;
	}
	kn_free(kn);
	text_free(&file);
	return TALK_OVER;
}
