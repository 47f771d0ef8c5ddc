/* Figures of the owner's manual in a job: asked once where a verdict hangs on a common-practice band,
 * kept as an event, and used by loading the trees with them. */
#include <math.h>
#include <string.h>

#include "base/mem.h"
#include "talk/figure.h"

static void add_key(struct text *key, const struct kn_figure *f)
{
	text_addf(key, "%s %.17g %.17g %.17g %.17g\n", f->value, f->figure.nominal, f->figure.low,
		  f->figure.high, f->figure.at_degC);
}

int manual_apply(const char *trees, const char *job_dir, struct job *job, struct kn_knowledge **kn,
		 struct text *loaded, struct hs_err *err)
{
	struct kn_knowledge *fresh;
	struct kn_figure *figures;
	struct text key = {0};
	int n = job_figures(job, &figures), result = 0;

	for (int i = 0; i < n; i++)
		add_key(&key, &figures[i]);
	if (strcmp(text_str(&key), text_str(loaded)) != 0) {
		fresh = talk_load_with(trees, (*kn)->machine, job_dir, figures, n, err);
		if (fresh) {
			job_rebind(job, fresh);
			kn_free(*kn);
			*kn = fresh;
			text_clear(loaded);
			text_add(loaded, text_str(&key));
		} else {
			result = -1;
		}
	}
	text_free(&key);
	mem_free(figures);
	return result;
}

struct trial { struct talk *t; const char *value; };

/* Can the trees do something with it? */
static int fits(void *with, const struct rd_figure *f, struct hs_err *err)
{
	const struct trial *trial = with;
	struct talk *t = trial->t;
	struct kn_figure one = {trial->value, *f};
	struct kn_knowledge *kn = talk_load_with(t->options->trees, t->kn->machine, t->options->job_dir, &one,
						 1, err);

	kn_free(kn);
	return kn ? 0 : -1;
}

static int record(struct talk *t, const struct kn_value *v, const struct rd_figure *f)
{
	struct text fact = {0}, words = {0};
	int result;

	text_addf(&fact, "figure:%s", v->id);
	if (f)
		rd_figure_format(&words, f, v->unit);
	else
		text_add(&words, "unknown");
	result = talk_record(t, JOB_TOLD, text_str(&fact), text_str(&words), NULL, NULL);
	text_free(&fact);
	text_free(&words);
	return result;
}

/* What the readings come to with the figure, and the ranking. */
static void say_again(struct talk *t, int finding)
{
	struct hs_err err = {0};
	const struct job_view *v;

	if (manual_apply(t->options->trees, t->options->job_dir, t->job, &t->kn, &t->figures, &err) < 0) {
		talk_fail(t, &err);
		return;
	}
	v = talk_view(t);
	if (!v || finding >= v->nfindings)
		return;
	out_say(&t->out, 0, 2, "Judged by it, %s:", t->kn->checks[v->findings[finding].check].title);
	explain_understood(t, v->findings[finding].check, &v->findings[finding].understood, true);
	explain_top(t);
}

enum talk_reply manual_ask(struct talk *t, int finding)
{
	const struct job_view *v = talk_view(t);
	const struct kn_check *c;
	const struct kn_value *value;
	struct trial trial = {.t = t};
	struct text usual = {0}, question = {0};
	struct rd_figure f;
	enum talk_reply reply;

	if (!v)
		return TALK_OVER;
	c = &t->kn->checks[v->findings[finding].check];
	value = &t->kn->values[c->reading->value];
	trial.value = value->id;
	figure_of_value(&usual, value);
	out_say(&t->out, 0, 2, "That is judged by what is usual (%s), and it lies near an end of it. The owner's "
		"manual of this bike would decide.", text_str(&usual));
	text_addf(&question, "%s, in the owner's manual", value->title);
	reply = figure_ask(t, text_str(&question), value, NULL, fits, &trial, &f);
	if (reply == TALK_BACK)
		talk_back(t);
	else if (reply == TALK_TEXT && record(t, value, &f) == 0)
		say_again(t, finding);
	else if ((reply == TALK_DONT_KNOW || reply == TALK_CANNOT) && record(t, value, NULL) == 0)
		out_say(&t->out, 0, 2, "Then what is usual has to do; it is not asked again.");
	text_free(&usual);
	text_free(&question);
	return t->over ? TALK_OVER : TALK_MOVED;
}
