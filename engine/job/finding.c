/* Questions about one answer that the reports ask. */
#include <string.h>

#include "job/inner.h"

int job_finding_outcome(const struct kn_check *c, const struct job_understood *u, int place)
{
	struct rd_result one;

	if (place == KN_NONE)
		return u->outcome != KN_NONE || !u->number || u->reading.nplaces || c->leads_null
			       ? u->outcome : job_outcome_of(c, &u->reading);
	if (!u->number)
		return place < u->nplaces ? u->at[place] : KN_NONE;
	if (place >= u->reading.nplaces || !u->reading.at[place].given)
		return KN_NONE;
	memset(&one, 0, sizeof one);
	one.kind = u->reading.at[place].kind;
	one.value = u->reading.at[place].value;
	one.u = u->reading.at[place].u;
	return job_outcome_of(c, &one);
}
