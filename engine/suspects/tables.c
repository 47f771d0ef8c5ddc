#include "suspects/tables.h"

#include "base/mem.h"

struct su_tables {
	const struct kn_knowledge *kn;
	struct su_table ***at;  /* [nchecks][1 + places of its kind] */
};

static int places_of(const struct kn_knowledge *kn, int check)
{
	int per = kn->checks[check].per;

	return per == KN_NONE ? 0 : kn->kinds[per].nplaces;
}

struct su_tables *su_tables_new(const struct kn_knowledge *kn)
{
	struct su_tables *t = mem_alloc(sizeof *t);

	t->kn = kn;
	t->at = mem_array((size_t)kn->nchecks + 1, sizeof *t->at);
	for (int c = 0; c < kn->nchecks; c++)
		t->at[c] = mem_array((size_t)places_of(kn, c) + 1, sizeof **t->at);
	return t;
}

void su_tables_free(struct su_tables *t)
{
	if (!t)
		return;
	for (int c = 0; c < t->kn->nchecks; c++) {
		for (int p = 0; p <= places_of(t->kn, c); p++)
			su_table_free(t->at[c][p]);
		mem_free(t->at[c]);
	}
	mem_free(t->at);
	mem_free(t);
}

struct su_table *su_tables_get(struct su_tables *t, int check, int place)
{
	struct su_table **at = &t->at[check][place == KN_NONE ? 0 : 1 + place];

	if (!*at)
		*at = su_table_new(t->kn, check, place);
	return *at;
}
