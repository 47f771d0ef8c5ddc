/* What comes before a step: checks whose evidence it takes away, or without which it says little. */
#include "talk/inner.h"

void order_say(struct talk *t, const struct talk_step *s)
{
	bool check = s->kind == PL_CHECK;
	const int *after = check ? t->kn->checks[s->index].after : t->kn->remedies[s->index].after;
	int n = check ? t->kn->checks[s->index].nafter : t->kn->remedies[s->index].nafter;
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
