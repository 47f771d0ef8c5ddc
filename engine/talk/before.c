/* What was said and done before about the step that is next. */
#include "talk/inner.h"

/* In the words of the check where there are any; figures and lists as they were typed. */
static const char *in_words(const struct kn_check *c, const struct job_finding *f)
{
	bool words = !f->understood.number && !f->understood.nplaces && f->understood.outcome != KN_NONE;

	return words ? c->outcomes[f->understood.outcome].title : f->raw;
}

/* Said with the step, so that the same slip is not made twice unseen. */
static void answered(struct talk *t, const struct job_view *v, const struct talk_step *s, bool again)
{
	for (int i = v->nfindings - 1; i >= 0; i--) {
		const struct job_finding *f = &v->findings[i];
		const char *was;

		if (f->check != s->index || f->place != s->place)
			continue;
		was = in_words(&t->kn->checks[s->index], f);
		if (again)
			out_say(&t->out, 2, 2, "Answered before: %s. Look as if it had not been.", was);
		else if (f->epoch < v->nrepairs)
			out_say(&t->out, 2, 2, "Before the repair: %s. Has that changed?", was);
		return;
	}
}

static void repaired(struct talk *t, const struct job_view *v, const struct talk_step *s)
{
	for (int i = 0; i < v->nrepairs; i++)
		if (v->repairs[i].remedy == s->index &&
		    (v->repairs[i].place == s->place || v->repairs[i].place == KN_NONE)) {
			out_say(&t->out, 2, 2, "Done once already, and the complaint is still there: go through it again "
				"and look for what was missed. A part fitted new may be the wrong one, or bad.");
			return;
		}
}

void before_say(struct talk *t, const struct talk_step *s, bool again)
{
	const struct job_view *v = talk_view(t);

	if (!v)
		return;
	if (s->kind == PL_CHECK)
		answered(t, v, s, again);
	else
		repaired(t, v, s);
}
