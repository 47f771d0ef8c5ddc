/* Questions about one answer that the reports ask. */
#include <string.h>

#include "job/inner.h"

static int number_at(const struct kn_check *c, const struct rd_result *r, int place)
{
	struct rd_result one;

	if (place >= r->nplaces || !r->at[place].given)
		return KN_NONE;
	memset(&one, 0, sizeof one);
	one.kind = r->at[place].kind;
	one.value = r->at[place].value;
	one.u = r->at[place].u;
	return job_outcome_of(c, &one);
}

int job_finding_outcome(const struct kn_check *c, const struct job_understood *u, int place)
{
	if (place != KN_NONE && u->number)
		return number_at(c, &u->reading, place);
	if (place != KN_NONE)
		return place < u->nplaces ? u->at[place] : KN_NONE;
	if (u->outcome == KN_NONE && u->number && u->reading.nplaces == 0 && !c->leads_null)
		return job_outcome_of(c, &u->reading);
	return u->outcome;
}
