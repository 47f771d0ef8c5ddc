/* Which checks are worth having again after a repair.  An answer that spoke for what has been repaired is
 * old news: had again, it tells whether the repair took.  Any other persists (docs/method.md 3)
 * and would say the same. */
#include "suspects/suspects.h"
#include "suspects/tables.h"

static bool speaks_for(struct su_table *t, const struct su_evidence *e, int fault)
{
	int none = su_table_none(t);

	return e->exponent > 0 && su_table_bears(t, fault) &&
	       su_table_likelihood(t, su_table_join(t, none, fault), e) > su_table_likelihood(t, none, e);
}

static bool about_the_repair(const struct kn_knowledge *kn, struct su_table *t, const struct su_evidence *e,
			     const struct su_repair *r)
{
	const struct kn_remedy *m = &kn->remedies[r->remedy];

	for (int i = 0; i < m->nclears; i++)
		if (su_clears(kn, r, m->clears[i].fault) > 0 && speaks_for(t, e, m->clears[i].fault))
			return true;
	return false;
}

bool su_worth_repeating(const struct kn_knowledge *kn, const struct su_case *c, struct su_tables *tables,
			int check)
{
	int last = -1;

	for (int i = 0; i < c->nevidence; i++)
		if (c->evidence[i].check == check && c->evidence[i].epoch > last)
			last = c->evidence[i].epoch;
	for (int i = 0; i < c->nevidence && last >= 0; i++) {
		const struct su_evidence *e = &c->evidence[i];
		struct su_table *t = e->check == check && e->epoch == last ? su_tables_get(tables, check, e->place)
									    : NULL;

		for (int r = last; t && r < c->nrepairs; r++)
			if (about_the_repair(kn, t, e, &c->repairs[r]))
				return true;
	}
	return false;
}
