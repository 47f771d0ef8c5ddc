/* Faults in words, and which of them cannot be present together. */
#include "knowledge/knowledge.h"

void kn_fault_title(struct text *t, const struct kn_knowledge *kn, int fault)
{
	const struct kn_fault *f = &kn->faults[fault];
	const struct kn_part *p = &kn->parts[f->part];
	const struct kn_kind *k = p->kind == KN_NONE ? NULL : &kn->kinds[p->kind];

	if (fault == 0 && kn->something_else) {
		text_add(t, kn->modes[f->mode].title);
		return;
	}
	text_addf(t, "%s %s", p->title, kn->modes[f->mode].title);
	if (f->all)
		text_add(t, " (all)");
	else if (k && k->nplaces > 1)
		text_addf(t, ", %s %s", k->title, k->places[f->place].id);
}

bool kn_not_listed(const struct kn_knowledge *kn, int mode)
{
	return mode == KN_NONE || (kn->something_else && mode == kn->faults[0].mode);
}

void kn_mode_title(struct text *t, const struct kn_knowledge *kn, int mode)
{
	if (kn_not_listed(kn, mode))
		text_add(t, "something that is not on this list");
	else
		text_addf(t, "%s %s", kn->parts[kn->modes[mode].part].title, kn->modes[mode].title);
}

bool kn_exclude(const struct kn_knowledge *kn, int a, int b)
{
	const struct kn_fault *x = &kn->faults[a], *y = &kn->faults[b];

	return a != b && x->part == y->part && (x->all || y->all || x->place == y->place);
}
