/* Gates (IEC 61025): members before the gates that use them, no circles. */
#include <stdlib.h>
#include <string.h>

#include "knowledge/inner.h"

enum { NOT_YET = KN_NONE, BEING_BOUND = -2 };

static int bind_gate(struct bind *b, struct el *e);

/* "The mode is present somewhere": what a mode means inside "and" and "at least". */
static int mode_gate(struct bind *b, const char *ref, const int *faults, int n)
{
	struct kn_knowledge *kn = b->kn;
	struct kn_gate *g = &kn->gates[kn->ngates];

	g->id = ref;
	g->title = kn->modes[mode_of(b, ref).mode].title;
	g->op = KN_OR;
	g->k = 1;
	g->nfaults = n;
	g->faults = arena_array(b->arena, (size_t)n, sizeof(int));
	for (int i = 0; i < n; i++)
		g->faults[i] = faults[i];
	return kn->ngates++;
}

static int faults_of(const struct bind *b, const char *ref, int *out)
{
	struct mode_ref m = mode_of(b, ref);
	int n = 0;

	for (int i = 0; i < b->fault_count[m.mode]; i++)
		if (fault_meant(b, b->first_fault[m.mode] + i, m.narrow))
			out[n++] = b->first_fault[m.mode] + i;
	return n;
}

static int bind_members(struct bind *b, struct el *e, struct kn_gate *g)
{
	int faults[RD_PLACES_MAX + 1];

	for (struct el *k = el_kid(e, E_GATE_OF); k; k = el_next(k, E_GATE_OF)) {
		const char *ref = el_attr(k, "mode");
		int n;

		if (!ref) {
			struct el *other = names_find(b->load, E_GATE, el_attr(k, "gate"));

			if (other->index == BEING_BOUND)
				return el_err(b->load, k, NULL, "the gates go round in a circle: \"%s\" is "
					      "part of itself by way of \"%s\"", el_id(other), el_id(e));
			if (other->index == NOT_YET && bind_gate(b, other) < 0)
				return -1;
			g->gates[g->ngates++] = other->index;
			continue;
		}
		n = faults_of(b, ref, faults);
		if (g->op == KN_OR || n == 1)
			for (int i = 0; i < n; i++)
				g->faults[g->nfaults++] = faults[i];
		else
			g->gates[g->ngates++] = mode_gate(b, ref, faults, n);
	}
	return 0;
}

static int member_twice(struct bind *b, const struct el *e)
{
	for (struct el *k = el_kid(e, E_GATE_OF); k; k = el_next(k, E_GATE_OF))
		for (struct el *first = el_kid(e, E_GATE_OF); first != k;
		     first = el_next(first, E_GATE_OF)) {
			const char *a = el_attr(k, "mode"), *c = el_attr(first, "mode");
			const char *ga = el_attr(k, "gate"), *gc = el_attr(first, "gate");

			if ((a && c && !strcmp(a, c)) || (ga && gc && !strcmp(ga, gc)))
				return el_err(b->load, k, NULL, "\"%s\" is a member twice; first on line %d",
					      a ? a : ga, first->tag->line);
		}
	return 0;
}

static int by_number(const void *a, const void *b)
{
	return *(const int *)a - *(const int *)b;
}

static void reach(struct bind *b, struct kn_gate *g)
{
	int most = g->nfaults;

	g->pure_or = g->op == KN_OR;
	for (int i = 0; i < g->ngates; i++) {
		g->pure_or = g->pure_or && b->kn->gates[g->gates[i]].pure_or;
		most += b->kn->gates[g->gates[i]].nreach;
	}
	if (!g->pure_or)
		return;
	g->reach = arena_array(b->arena, (size_t)most, sizeof(int));
	for (int i = 0; i < g->nfaults; i++)
		g->reach[g->nreach++] = g->faults[i];
	for (int i = 0; i < g->ngates; i++)
		for (int k = 0; k < b->kn->gates[g->gates[i]].nreach; k++)
			g->reach[g->nreach++] = b->kn->gates[g->gates[i]].reach[k];
	qsort(g->reach, (size_t)g->nreach, sizeof(int), by_number);
	most = g->nreach;
	g->nreach = 0;
	for (int i = 0; i < most; i++)
		if (i == 0 || g->reach[i] != g->reach[i - 1])
			g->reach[g->nreach++] = g->reach[i];
}

/* Gates are evaluated by walking down; shared members are met each time. */
static int count_walk(struct bind *b, const struct el *e)
{
	const struct kn_gate *g = &b->kn->gates[e->index];
	int *walk = &b->gate_walk[e->index];

	*walk = 1 + g->nfaults;
	for (int i = 0; i < g->ngates; i++) {
		int below = b->gate_walk[g->gates[i]];

		*walk += below ? below : 1 + b->kn->gates[g->gates[i]].nfaults;
		if (*walk > GATE_WALK_MAX)
			return el_too_many(b->load, e, GATE_WALK_MAX, "members below one gate");
	}
	return 0;
}

static int bind_gate(struct bind *b, struct el *e)
{
	struct kn_gate g = { .id = el_id(e), .title = el_attr(e, "title") };
	size_t members = (size_t)el_count(e, E_GATE_OF);

	e->index = BEING_BOUND;
	g.op = (enum kn_gate_op)el_choice(e, "kind", gate_kinds, KN_OR);
	g.k = g.op == KN_AND ? (int)members : (int)el_number(e, "k", 1);
	if ((g.op == KN_AT_LEAST) != (el_attr(e, "k") != NULL))
		return el_err(b->load, e, "k", "k belongs to kind=\"at-least\", and only there");
	if (g.k > (int)members)
		return el_err(b->load, e, "k", "at least %d of %zu can never be", g.k, members);
	if (member_twice(b, e) < 0)
		return -1;
	g.faults = arena_array(b->arena, members * (RD_PLACES_MAX + 1), sizeof(int));
	g.gates = arena_array(b->arena, members, sizeof(int));
	if (bind_members(b, e, &g) < 0)
		return -1;
	e->index = b->kn->ngates++;
	b->kn->gates[e->index] = g;
	return count_walk(b, e);
}

int bind_gates(struct bind *b)
{
	size_t most = 0;
	struct el *e;
	int n = 0;

	for (int i = 0; (e = top_after(b, &i, E_GATE));) {
		if (n++ == GATES_MAX)
			return el_too_many(b->load, e, GATES_MAX, "gates");
		most += 1 + (size_t)el_count(e, E_GATE_OF);
	}
	b->kn->gates = arena_array(b->arena, most, sizeof *b->kn->gates);
	b->gate_walk = arena_array(b->load->scratch, most, sizeof(int));
	for (int i = 0; (e = top_after(b, &i, E_GATE));)
		if (e->index == NOT_YET && bind_gate(b, e) < 0)
			return -1;
	for (int i = 0; i < b->kn->ngates; i++)
		reach(b, &b->kn->gates[i]);
	return 0;
}
