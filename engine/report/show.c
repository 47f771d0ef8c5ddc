/* The fault tree of one symptom: top event, branches, causes, and the checks that look at them. */
#include "report/show.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/mem.h"
#include "job/job.h"
#include "report/apart.h"
#include "report/show_tree.h"

#define LOOKS_AT .2         /* a check that differs by less does not count as looking at a cause */
#define COLUMNS 80

/* ---- gathering ------------------------------------------------------------------------------ */

static void take_leaf(struct show_tree *t, int mode, double p)
{
	const struct kn_knowledge *kn = t->kn;
	struct show_leaf *l = &t->leaf[t->nleaves];

	*l = (struct show_leaf){ .mode = mode, .fault = KN_NONE, .p = p };
	for (int i = 0; i < SHOW_LOOKERS; i++)
		l->by[i].check = KN_NONE;
	for (int f = kn->something_else ? 1 : 0; f < kn->nfaults; f++)
		if (kn->faults[f].mode == mode) {
			l->weight += kn->faults[f].weight;
			if (l->fault == KN_NONE)
				l->fault = f;
		}
	t->nleaves += l->fault != KN_NONE;
}

static void take_leaves(struct show_tree *t)
{
	const struct kn_check *c = t->top;
	size_t n = 0;

	for (int b = 0; b < c->nbranches; b++)
		n += (size_t)c->branches[b].nmodes;
	t->leaf = mem_array(n + 1, sizeof *t->leaf);
	t->first = mem_array((size_t)c->nbranches + 1, sizeof *t->first);
	for (int b = 0; b < c->nbranches; b++) {
		t->first[b] = t->nleaves;
		for (int m = 0; m < c->branches[b].nmodes; m++)
			take_leaf(t, c->branches[b].modes[m], c->branches[b].p[m]);
	}
	t->first[c->nbranches] = t->nleaves;
}

static void look(struct show_leaf *l, int check, double d)
{
	for (int i = 0; i < SHOW_LOOKERS; i++)
		if (l->by[i].check == KN_NONE || d > l->by[i].d) {
			memmove(&l->by[i + 1], &l->by[i],
				(size_t)(SHOW_LOOKERS - 1 - i) * sizeof l->by[0]);
			l->by[i] = (struct show_looker){ check, d };
			return;
		}
}

static void take_lookers(struct show_tree *t)
{
	for (int c = 0; c < t->kn->nchecks; c++) {
		const struct kn_check *check = &t->kn->checks[c];
		struct su_table *table = NULL;

		if (check->offered && check->kind != KN_SYMPTOM && !check->leads_null)
			table = apart_table(t->kn, c);
		for (int i = 0; table && i < t->nleaves; i++) {
			int none = su_table_none(table),
			    there = su_table_join(table, none, t->leaf[i].fault);
			double row[SU_CELLS_MAX], d;
			int n = su_table_ncells(table);

			memcpy(row, su_table_row(table, none), (size_t)n * sizeof *row);
			d = apart_differ(row, su_table_row(table, there), n);
			if (d >= LOOKS_AT)
				look(&t->leaf[i], c, d);
		}
		su_table_free(table);
	}
}

static int take_now_of(struct show_tree *t, struct job *j, struct hs_err *err)
{
	const struct job_view *v = job_view(j, err);

	for (int i = 0; v && i < t->nleaves; i++)
		t->leaf[i].now = v->suspects->mode_now[t->leaf[i].mode];
	return v ? 0 : -1;
}

static int take_now(struct show_tree *t, struct hs_err *err)
{
	struct job *j = job_new(t->kn);
	struct job_event began = { .kind = JOB_BEGAN,
				   .field = { t->kn->machine, t->kn->digest, "complaint" } };
	struct job_event said = { .kind = JOB_COMPLAINED, .field = { t->top->id } };
	int result = -1;

	if (job_add(j, &began, err) == 0 && job_add(j, &said, err) == 0)
		result = take_now_of(t, j, err);
	job_close(j);
	return result;
}

/* ---- text ----------------------------------------------------------------------------------- */

void show_hang(struct text *out, const char *first, const char *rest, const char *s)
{
	struct text lines = { 0 };
	const char *at, *end;

	text_wrap(&lines, s, COLUMNS - text_width(first), 0, 0);
	for (at = text_str(&lines); (end = strchr(at, '\n')); at = end + 1) {
		text_add(out, at == text_str(&lines) ? first : rest);
		text_addn(out, at, (size_t)(end + 1 - at));
	}
	text_free(&lines);
}

static void text_leaf(const struct show_tree *t, const struct show_leaf *l, bool last, struct text *out)
{
	const char *first = last ? "   +- " : "|  +- ", *rest = last ? "   |    " : "|  |    ";
	const struct kn_mode *m = &t->kn->modes[l->mode];
	struct text line = { 0 };

	text_addf(&line, "%s: %s", t->kn->parts[m->part].title, m->title);
	show_hang(out, first, last ? "   |  " : "|  |  ", text_str(&line));
	text_clear(&line);
	text_addf(&line, "%.3g per 1000 jobs, gives it %.0f %%, now %.0f %%", l->weight, 100 * l->p,
		  100 * l->now);
	show_hang(out, rest, rest, text_str(&line));
	text_clear(&line);
	for (int i = 0; i < SHOW_LOOKERS && l->by[i].check != KN_NONE; i++)
		text_addf(&line, "%s%s",
			  i ? ", " : "looked at by: ", t->kn->checks[l->by[i].check].id);
	if (line.len)
		show_hang(out, rest, rest, text_str(&line));
	text_free(&line);
}

const char *show_joined(const struct kn_knowledge *kn, int gate)
{
	if (gate == KN_NONE || kn->gates[gate].op == KN_OR)
		return "any of";
	return kn->gates[gate].op == KN_AND ? "all of" : "several of";
}

static void text_branch(const struct show_tree *t, int b, bool last, struct text *out)
{
	const struct kn_branch *branch = &t->top->branches[b];
	struct text line = { 0 };

	text_addf(&line, "%s (%s)", branch->title, show_joined(t->kn, branch->gate));
	if (branch->gate != KN_NONE)
		text_addf(&line, " [%s]", t->kn->gates[branch->gate].id);
	text_add(out, "|\n");
	show_hang(out, "+- ", last ? "   " : "|  ", text_str(&line));
	text_free(&line);
	for (int i = t->first[b]; i < t->first[b + 1]; i++)
		text_leaf(t, &t->leaf[i], last, out);
}

static void write_text(const struct show_tree *t, struct text *out)
{
	struct text line = { 0 };
	int last = t->top->nbranches;

	text_addf(out, "%s  [%s, %s]\n", t->top->title, t->top->id, t->kn->machine);
	if (t->top->says && *t->top->says) {
		text_addf(&line, "\"%s\"", t->top->says);
		show_hang(out, "  ", "  ", text_str(&line));
	}
	text_addf(out, "  Said of %.0f %% of the bikes where none of this is wrong.\n\nany of\n",
		  100 * t->top->outcomes[0].base);
	while (last > 0 && t->first[last - 1] == t->first[last])
		last--;
	for (int b = 0; b < last; b++)
		if (t->first[b] < t->first[b + 1])
			text_branch(t, b, b + 1 == last, out);
	text_free(&line);
}

/* ---- DOT ------------------------------------------------------------------------------------ */

static void quoted(struct text *out, const char *s)
{
	for (; *s; s++) {
		if (*s == '"' || *s == '\\')
			text_addc(out, '\\');
		text_addc(out, *s);
	}
}

static void dot_leaf(const struct show_tree *t, int i, int branch, struct text *out)
{
	const struct show_leaf *l = &t->leaf[i];
	const struct kn_mode *m = &t->kn->modes[l->mode];

	text_addf(out, "\tc%d [shape=ellipse, label=\"", i);
	quoted(out, t->kn->parts[m->part].title);
	text_add(out, ":\\n");
	quoted(out, m->title);
	text_addf(out, "\\n%g per 1000, now %.0f %%\"];\n\tb%d -> c%d [label=\"%.2g\"];\n",
		  l->weight, 100 * l->now, branch, i, l->p);
	for (int k = 0; k < SHOW_LOOKERS && l->by[k].check != KN_NONE; k++)
		text_addf(out, "\tc%d -> k%d [style=dashed, arrowhead=none];\n", i, l->by[k].check);
}

/* Each check once, however many causes it looks at. */
static void dot_checks(const struct show_tree *t, struct text *out)
{
	unsigned char *done = mem_array((size_t)t->kn->nchecks + 1, 1);

	for (int i = 0; i < t->nleaves; i++)
		for (int k = 0; k < SHOW_LOOKERS && t->leaf[i].by[k].check != KN_NONE; k++) {
			int c = t->leaf[i].by[k].check;

			if (done[c])
				continue;
			done[c] = 1;
			text_addf(out, "\tk%d [shape=note, label=\"", c);
			quoted(out, t->kn->checks[c].title);
			text_add(out, "\"];\n");
		}
	mem_free(done);
}

static void write_dot(const struct show_tree *t, struct text *out)
{
	text_add(out, "digraph fault_tree {\n\trankdir=TB;\n\ttop [shape=box, style=bold, "
		      "label=\"");
	quoted(out, t->top->title);
	text_add(out, "\"];\n\tor [shape=house, label=\"OR\"];\n\ttop -> or;\n");
	for (int b = 0; b < t->top->nbranches; b++) {
		if (t->first[b] == t->first[b + 1])
			continue;
		text_addf(out, "\tb%d [shape=box, label=\"", b);
		quoted(out, t->top->branches[b].title);
		text_addf(out, "\\n(%s)\"];\n\tor -> b%d;\n",
			  show_joined(t->kn, t->top->branches[b].gate), b);
		for (int i = t->first[b]; i < t->first[b + 1]; i++)
			dot_leaf(t, i, b, out);
	}
	dot_checks(t, out);
	text_add(out, "}\n");
}

int report_show(const struct kn_knowledge *kn, int symptom, struct job *job, enum show_form form,
		struct text *out, struct hs_err *err)
{
	struct show_tree t = { .kn = kn, .top = &kn->checks[symptom], .job = job };
	int result;

	take_leaves(&t);
	take_lookers(&t);
	result = job ? take_now_of(&t, job, err) : take_now(&t, err);
	if (result == 0 && form == SHOW_DOT)
		write_dot(&t, out);
	else if (result == 0 && form == SHOW_HTML)
		result = show_html(&t, out, err);
	else if (result == 0 && form == SHOW_FIGURES)
		result = show_figures(&t, out, err);
	else if (result == 0)
		write_text(&t, out);
	mem_free(t.leaf);
	mem_free(t.first);
	return result;
}
