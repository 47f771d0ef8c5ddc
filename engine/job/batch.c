/* What is cheap while something is open: how the checks of its list stand. */
#include "job/job.h"

/* What proves a repair looks at what that repair has made of it: it is not spoiled by it. */
bool job_spoiled(const struct job_view *v, const struct kn_check *c)
{
	for (int i = 0; i < v->nrepairs; i++) {
		const struct kn_remedy *r = &v->kn->remedies[v->repairs[i].remedy];

		if ((r->spoils & c->spoiled_by) && !kn_proves(r, (int)(c - v->kn->checks)))
			return true;
	}
	return false;
}

/* What was answered keeps its answer, whatever has become of the tool or of what it looked at. */
enum job_batch job_batch(const struct job_view *v, int check)
{
	const struct kn_check *c = &v->kn->checks[check];

	if (v->done[check])
		return v->answered[check] ? JOB_BATCH_DONE : JOB_BATCH_LEFT_OUT;
	if (job_spoiled(v, c))
		return JOB_BATCH_GONE;
	if (v->tools_told && (c->tools & ~v->tools))
		return JOB_BATCH_NO_TOOL;
	if (c->only_when & v->circumstances_known & ~v->circumstances)
		return JOB_BATCH_NOT_NOW;
	return v->answered[check] == 2   ? JOB_BATCH_AGAIN
	       : v->answered[check] == 1 ? JOB_BATCH_SOME
					 : JOB_BATCH_TO_DO;
}
