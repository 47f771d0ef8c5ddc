/* Judgement about causes, checks and numbers of one machine; the report over all machines. */
#include "report/lint.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "base/mem.h"
#include "report/apart.h"
#include "suspects/table.h"

/* A healthy bike must pass a check by its own figures at least this often: a twentieth lies outside
 * any band by definition, and the meter adds to it. */
#define HEALTHY_PASSES .85
#define FAMILY_SHOWN 5

void lint_add(struct lint *l, enum lint_grade grade, const char *rule, const char *format, ...)
{
	struct lint_finding *f;
	va_list list;

	if (l->n == l->cap) {
		l->cap = l->cap ? 2 * l->cap : 32;
		l->finding = mem_resize_array(l->finding, (size_t)l->cap, sizeof *l->finding);
	}
	f = &l->finding[l->n++];
	f->grade = grade;
	f->rule = rule;
	f->about = NULL;
	va_start(list, format);
	vsnprintf(f->text, sizeof f->text, format, list);
	va_end(list);
	l->nfaults += grade == LINT_FAULT;
}

void lint_fault_about(struct lint *l, const char *rule, const char *id, const char *kind,
		      const char *what)
{
	lint_add(l, LINT_FAULT, rule, "%s %s %s", kind, id, what);
	l->finding[l->n - 1].about = id;
}

void lint_free(struct lint *l)
{
	mem_free(l->finding);
	memset(l, 0, sizeof *l);
}

/* ---- symptoms and causes -------------------------------------------------------------------- */

static void symptoms(struct lint *l, const struct kn_knowledge *kn)
{
	for (int s = 0; s < kn->nsymptoms; s++) {
		const struct kn_check *c = &kn->checks[kn->symptoms[s]];
		int causes = 0;

		for (int b = 0; b < c->nbranches; b++)
			causes += c->branches[b].nmodes;
		if (causes == 0)
			lint_add(l, LINT_FAULT, "no-cause",
				 "symptom %s has no cause on this machine", c->id);
	}
}

static const char *cause_name(const struct apart *a, int i, char name[128])
{
	snprintf(name, 128, "%s%s", a->kn->modes[a->cause[i].mode].ref,
		 a->cause[i].all ? "@all" : "");
	return name;
}

static void reached(struct lint *l, const struct apart *a)
{
	char name[128];

	for (int i = 1; i < a->ncauses; i++)
		if (a->cause[i].weight > 0 && apart_best(a, 0, i) < APART_ENOUGH)
			lint_add(l, LINT_FAULT, "not-reached", "no check finds %s (%.2f at most)",
				 cause_name(a, i, name), apart_best(a, 0, i));
}

static bool alike(const struct apart *a, int i, int j)
{
	return a->cause[i].weight > 0 && a->cause[j].weight > 0 && apart_comparable(a, i, j) &&
	       apart_best(a, i, j) < APART_ENOUGH;
}

/* Everything that is like i, directly or by way of others; marks it. */
static int family(const struct apart *a, int i, unsigned char *marked, int *member)
{
	int n = 1;

	member[0] = i;
	marked[i] = 1;
	for (int at = 0; at < n; at++)
		for (int j = 1; j < a->ncauses; j++)
			if (!marked[j] && alike(a, member[at], j)) {
				marked[j] = 1;
				member[n++] = j;
			}
	return n;
}

static void families(struct lint *l, const struct apart *a)
{
	unsigned char *marked = mem_array((size_t)a->ncauses, 1);
	int *member = mem_array((size_t)a->ncauses, sizeof *member);
	char name[128];

	for (int i = 1; i < a->ncauses; i++) {
		struct text names = { 0 };
		int n = marked[i] ? 0 : family(a, i, marked, member);

		for (int m = 0; m < n && m < FAMILY_SHOWN; m++)
			text_addf(&names, "%s%s", m ? ", " : "", cause_name(a, member[m], name));
		if (n > 1)
			lint_add(l, LINT_REMARK, "family", "no check tells these %d apart: %s%s", n,
				 text_str(&names), n > FAMILY_SHOWN ? ", ..." : "");
		text_free(&names);
	}
	mem_free(marked);
	mem_free(member);
}

static void cleared(struct lint *l, const struct kn_knowledge *kn)
{
	unsigned char *done = mem_array((size_t)kn->nfaults + 1, 1);

	for (int r = 0; r < kn->nremedies; r++)
		for (int i = 0; i < kn->remedies[r].nclears; i++)
			done[kn->remedies[r].clears[i].fault] = 1;
	for (int f = kn->something_else ? 1 : 0; f < kn->nfaults; f++)
		if (!done[f] && (f == 0 || kn->faults[f].mode != kn->faults[f - 1].mode))
			lint_add(l, LINT_FAULT, "no-remedy", "nothing clears %s",
				 kn->modes[kn->faults[f].mode].ref);
	mem_free(done);
}

/* ---- checks --------------------------------------------------------------------------------- */

static void pays(struct lint *l, const struct apart *a)
{
	const struct kn_check *checks = a->kn->checks;

	for (int c = 0; c < a->kn->nchecks; c++)
		if (a->better[c] == c)
			lint_fault_about(l, "never-pays", checks[c].id, "check", "tells nothing apart");
		else if (a->better[c] != KN_NONE)
			lint_add(l, LINT_REMARK, "never-pays",
				 "check %s: %s takes no longer and tells everything apart as well",
				 checks[c].id, checks[a->better[c]].id);
}

/* Votes of one mode beyond certainty are scaled down, and so weaker than they look. */
static void sums(struct lint *l, const struct kn_knowledge *kn, const struct kn_check *c)
{
	double base = 0, most = 0;
	int worst = 0;

	if (c->table)
		return;
	for (int o = 0; o < c->noutcomes; o++)
		base += c->outcomes[o].rest ? 0 : c->outcomes[o].base;
	if (base > 1 + 1e-9)
		lint_add(l, LINT_FAULT, "sum", "check %s: base adds up to %.3g", c->id, base);
	for (int f = kn->something_else ? 1 : 0; f < kn->nfaults; f++) {
		double sum = 0;

		for (int o = 0; o < c->noutcomes; o++)
			if (c->outcomes[o].vote && !isnan(c->outcomes[o].vote[f]))
				sum += c->outcomes[o].vote[f];
		if (sum > most) {
			most = sum;
			worst = f;
		}
	}
	if (most > 1 + 1e-9)
		lint_add(l, LINT_REMARK, "sum", "check %s: the answers for %s add up to %.3g",
			 c->id, kn->modes[kn->faults[worst].mode].ref, most);
}

/* Where the nominal figure of a healthy machine falls: must not be an answer that accuses. */
static void nominal(struct lint *l, const struct kn_knowledge *kn, const struct kn_check *c)
{
	const struct kn_value *v;

	if (!c->reading || c->reading->value == KN_NONE)
		return;
	v = &kn->values[c->reading->value];
	if (!isnan(v->nominal) && (v->nominal < v->low || v->nominal > v->high))
		lint_add(l, LINT_FAULT, "band", "value %s: %g lies outside its own band", v->id,
			 v->nominal);
	if (c->reading->unit != v->unit || isnan(v->nominal))
		return;
	for (int o = 0; o < c->noutcomes; o++)
		for (int i = 0; i < 2 && c->outcomes[o].has_range; i++)
			if (!c->outcomes[o].rest && v->nominal > c->outcomes[o].low[i] &&
			    v->nominal <= c->outcomes[o].high[i])
				lint_add(l, LINT_FAULT, "band",
					 "check %s calls %g \"%s\", the figure of the machine",
					 c->id, v->nominal, c->outcomes[o].title);
}

/* By the figures of its parts, how often does a healthy machine get an accusing answer? */
static void healthy(struct lint *l, const struct kn_knowledge *kn, int check)
{
	const struct kn_check *c = &kn->checks[check];
	struct su_table *t =
		c->nmodels ? su_table_new(kn, check, c->per != KN_NONE ? 0 : KN_NONE) : NULL;
	const double *row;
	double accused = 0;

	if (!t)
		return;
	row = su_table_row(t, su_table_none(t));
	for (int i = 0; i < su_table_ncells(t); i++)
		if (!c->outcomes[su_table_cell_outcome(t, i)].rest)
			accused += row[i];
	if (accused > 1 - HEALTHY_PASSES)
		lint_add(l, LINT_FAULT, "band",
			 "check %s accuses a healthy machine %.0f %% of the time", c->id,
			 100 * accused);
	su_table_free(t);
}

void lint_machine(struct lint *l, const struct kn_knowledge *kn)
{
	struct apart a;

	symptoms(l, kn);
	apart_make(&a, kn, APART_EVERY_CHECK);
	reached(l, &a);
	families(l, &a);
	pays(l, &a);
	apart_free(&a);
	cleared(l, kn);
	for (int c = 0; c < kn->nchecks; c++)
		if (kn->checks[c].offered) {
			sums(l, kn, &kn->checks[c]);
			nominal(l, kn, &kn->checks[c]);
			healthy(l, kn, c);
		}
	lint_words(l, kn);
}

/* ---- the report ----------------------------------------------------------------------------- */

/* One machine's findings; a finding that several machines share is said once. */
struct judged { const char *id; struct kn_knowledge *kn; struct lint lint; };

static bool has(const struct judged *j, const struct lint_finding *f)
{
	for (int i = 0; i < j->lint.n; i++)
		if (j->lint.finding[i].rule == f->rule &&
		    strcmp(j->lint.finding[i].text, f->text) == 0)
			return true;
	return false;
}

static void write_one(const struct lint_finding *f, const char *about, struct text *out)
{
	struct text line = { 0 };

	text_addf(&line, "%s [%s] %s: %s.", f->grade == LINT_FAULT ? "FAULT" : "remark", f->rule,
		  about, f->text);
	text_wrap(out, text_str(&line), 80, 0, 4);
	text_free(&line);
}

static void write_shared(const struct judged *all, int n, int mine, const struct lint_finding *f,
			 struct text *out)
{
	struct text who = { 0 };
	int having = 0;

	for (int i = 0; i < n; i++)
		if (has(&all[i], f)) {
			if (i < mine)
				return text_free(&who);
			text_addf(&who, "%s%s", having++ ? ", " : "", all[i].id);
		}
	write_one(f, having == n && n > 1 ? "all machines" : text_str(&who), out);
	text_free(&who);
}

static void write_findings(const struct judged *all, int n, const struct lint *names,
			   struct text *out)
{
	for (int grade = LINT_FAULT; grade <= LINT_REMARK; grade++) {
		for (int m = 0; m < n; m++)
			for (int i = 0; i < all[m].lint.n; i++)
				if (all[m].lint.finding[i].grade == (enum lint_grade)grade)
					write_shared(all, n, m, &all[m].lint.finding[i], out);
		for (int i = 0; i < names->n; i++)
			if (names->finding[i].grade == (enum lint_grade)grade)
				write_one(&names->finding[i], "names", out);
	}
	for (int m = 0; m < n; m++)
		text_addf(out, "%s: %d symptoms, %d faults to mend, %d remarks.\n", all[m].id,
			  all[m].kn->nsymptoms, all[m].lint.nfaults,
			  all[m].lint.n - all[m].lint.nfaults);
}

static int judge(struct judged *j, const char *path, const char *id, struct hs_err *err)
{
	j->id = id;
	j->kn = kn_load(path, id, err);
	if (!j->kn)
		return -1;
	lint_machine(&j->lint, j->kn);
	return 0;
}

/* Another machine has the same check or remedy, and there is nothing to find fault with. */
static bool sound_elsewhere(const struct judged *all, int n, const struct lint_finding *f)
{
	for (int m = 0; m < n; m++) {
		int check = kn_check_by_id(all[m].kn, f->about);
		bool there = check != KN_NONE ? all[m].kn->checks[check].offered
					      : kn_remedy_by_id(all[m].kn, f->about) != KN_NONE;

		if (there && !has(&all[m], f))
			return true;
	}
	return false;
}

static void make_remarks(struct judged *all, int n)
{
	for (int m = 0; m < n; m++)
		for (int i = 0; i < all[m].lint.n; i++) {
			struct lint_finding *f = &all[m].lint.finding[i];

			if (f->grade == LINT_FAULT && f->about && sound_elsewhere(all, n, f)) {
				f->grade = LINT_REMARK;
				all[m].lint.nfaults--;
			}
		}
}

int report_lint(const char *path, struct text *out, struct hs_err *err)
{
	struct kn_machine_title *m = NULL;
	struct lint names = { 0 };
	int n = kn_machines(path, &m, err), faults = 0, result = n < 0 ? -1 : 0;
	struct judged *all = mem_array((size_t)(n > 0 ? n : 1), sizeof *all);

	if (n == 0)
		result = err_set(err, HS_BAD_TREE,
				 "There is no machine in %s: nothing to judge by. Lint the "
				 "folder that has one.",
				 path);
	for (int i = 0; i < n && result == 0; i++)
		result = judge(&all[i], path, m[i].id, err);
	if (result == 0)
		result = lint_names(&names, path, err);
	if (result == 0) {
		make_remarks(all, n);
		write_findings(all, n, &names, out);
	}
	for (int i = 0; i < n; i++) {
		faults += all[i].lint.nfaults;
		lint_free(&all[i].lint);
		kn_free(all[i].kn);
	}
	faults += names.nfaults;
	lint_free(&names);
	mem_free(all);
	mem_free(m);
	return result < 0 ? -1 : faults;
}
