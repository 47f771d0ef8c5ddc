#include "plan/families.h"

#include <math.h>
#include <string.h>

#include "base/mem.h"
#include "plan/options.h"

#define WORTH_NAMING .02     /* suspects below this are left out */
#define LEADING 12
#define TOLD_APART .15       /* total variation between two rows from which a check separates */

struct sorting {
	const struct pl_situation *now;
	struct su_tables *tables;
	int n;
	struct su_line line[LEADING];
	int family[LEADING];
};

static double variation(struct su_table *t, int a, int b)
{
	double row[SU_CELLS_MAX], sum = 0;
	int n = su_table_ncells(t);
	const double *other;

	memcpy(row, su_table_row(t, su_table_join(t, su_table_none(t), a)), sizeof(double) * (size_t)n);
	other = su_table_row(t, su_table_join(t, su_table_none(t), b));
	for (int i = 0; i < n; i++)
		sum += fabs(row[i] - other[i]);
	return sum / 2;
}

static bool separates(struct sorting *s, int check, int a, int b)
{
	struct su_table *t = su_tables_get(s->tables, check, KN_NONE);

	return t && (su_table_bears(t, a) || su_table_bears(t, b)) && variation(t, a, b) >= TOLD_APART;
}

static bool told_apart_now(struct sorting *s, int a, int b)
{
	const struct kn_knowledge *kn = s->now->suspects->kn;

	for (int c = 0; c < kn->nchecks; c++)
		if (pl_possible(s->now, c) && !(kn->checks[c].tools & ~s->now->tools) &&
		    separates(s, c, a, b))
			return true;
	return false;
}

/* The quickest check that is not possible now and would tell them apart. */
static void find_split(struct sorting *s, struct pl_family *f, int a, int b)
{
	const struct kn_knowledge *kn = s->now->suspects->kn;
	double least = INFINITY;

	for (int c = 0; c < kn->nchecks; c++) {
		uint64_t missing = kn->checks[c].tools & ~s->now->tools;

		if (!pl_possible(s->now, c) || !missing || kn->checks[c].minutes >= least ||
		    !separates(s, c, a, b))
			continue;
		least = kn->checks[c].minutes;
		f->split = c;
		f->tool = KN_NONE;
		for (int t = 0; t < kn->ntools && !(missing & (missing - 1)); t++)
			if (missing >> t & 1)
				f->tool = t;
	}
}

static void take_leading(struct sorting *s)
{
	struct su_line *lines;
	int n = su_lines(s->now->suspects, &lines);

	for (int i = 0; i < n && s->n < LEADING && lines[i].p >= WORTH_NAMING; i++)
		if (lines[i].mode != KN_NONE)
			s->line[s->n++] = lines[i];
	mem_free(lines);
}

static void join_families(struct sorting *s)
{
	for (int i = 0; i < s->n; i++)
		s->family[i] = i;
	for (int i = 0; i < s->n; i++)
		for (int k = 0; k < i; k++) {
			int from = s->family[i], to = s->family[k];

			if (from == to || told_apart_now(s, s->line[i].best_fault, s->line[k].best_fault))
				continue;
			for (int m = 0; m < s->n; m++)
				if (s->family[m] == from)
					s->family[m] = to;
		}
}

int pl_families(const struct pl_situation *now, struct pl_family *out, int most)
{
	struct sorting s = { .now = now, .tables = now->tables ? now->tables
								: su_tables_new(now->suspects->kn) };
	int n = 0;

	take_leading(&s);
	join_families(&s);
	for (int f = 0; f < s.n && n < most; f++) {
		struct pl_family *to = &out[n];
		int member[2] = { KN_NONE, KN_NONE };

		*to = (struct pl_family){ .split = KN_NONE, .tool = KN_NONE };
		for (int i = 0; i < s.n; i++) {
			if (s.family[i] != f || to->nmodes == PL_FAMILY_MODES)
				continue;
			if (to->nmodes < 2)
				member[to->nmodes] = s.line[i].best_fault;
			to->mode[to->nmodes++] = s.line[i].mode;
			to->p += s.line[i].p;
		}
		if (to->nmodes < 2)
			continue;
		find_split(&s, to, member[0], member[1]);
		n++;
	}
	if (!now->tables)
		su_tables_free(s.tables);
	return n;
}
