/* What comes before a step: checks whose evidence it takes away, or without which it says little. */
#include "talk/inner.h"

void order_say(struct talk *t, const struct talk_step *s)
{
	const struct kn_check *c = &t->kn->checks[s->index];
	const struct kn_remedy *r = &t->kn->remedies[s->index];
	const int *after = s->kind == PL_CHECK ? c->after : r->after;
	int n = s->kind == PL_CHECK ? c->nafter : r->nafter;
	const struct job_view *v = n > 0 && !s->verifies ? talk_view(t) : NULL;
	struct text names = {0};

	for (int i = 0; v && i < n; i++)
		if (!v->done[after[i]])
			text_addf(&names, "%s%s [%s]", names.len ? ", " : "", t->kn->checks[after[i]].title,
				  t->kn->checks[after[i]].id);
	if (names.len)
		out_say(&t->out, 2, 2, "Before it, if not known: %s.", text_str(&names));
	text_free(&names);
}
