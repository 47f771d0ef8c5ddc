/* What remedies and access states have to do with each other: found once, used by every base plan. */
#include "plan/problem.h"

static bool touch(const struct pl_remedy_option *a, const struct pl_remedy_option *b)
{
	for (int i = 0; i < a->nclears; i++)
		for (int j = 0; j < b->nclears; j++)
			if (a->clears[i].fault == b->clears[j].fault)
				return true;
	return false;
}

static void know_remedies(struct pl_problem *p)
{
	int words = p->remedy_words = p->nremedies / 64 + 1;

	p->touches = arena_array(p->arena, (size_t)(p->nremedies * words) + 1, sizeof *p->touches);
	p->curable = arena_array(p->arena, (size_t)p->nfaults + 1, sizeof *p->curable);
	for (int a = 0; a < p->nremedies; a++) {
		for (int b = 0; b < p->nremedies; b++)
			if (touch(&p->remedy[a], &p->remedy[b]))
				p->touches[a * words + b / 64] |= (uint64_t)1 << b % 64;
		for (int i = 0; i < p->remedy[a].nclears; i++)
			p->curable[p->remedy[a].clears[i].fault] |= p->remedy[a].clears[i].p > 0;
	}
}

static bool tried_inside(const struct pl_problem *p, int access)
{
	for (; access > 0; access = p->access[access].parent)
		if (!p->access[access].runs)
			return false;
	return true;
}

static void know_accesses(struct pl_problem *p)
{
	p->behind = arena_array(p->arena, (size_t)p->naccesses + 1, sizeof *p->behind);
	for (int a = 0; a < p->naccesses; a++) {
		if (tried_inside(p, a))
			p->inside |= (uint64_t)1 << a;
		for (int b = a; b < p->naccesses; b++)
			if (b == a || (a && (p->access[b].path >> a & 1)))
				p->behind[a] |= (uint64_t)1 << b;
	}
}

void pl_relations(struct pl_problem *p)
{
	if (p->touches)
		return;
	know_remedies(p);
	know_accesses(p);
}
