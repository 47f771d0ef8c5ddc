/* Answers, understood and recorded. */
#include <string.h>

#include "job/inner.h"

static const char *source_name(const struct job_answer *a)
{
	static const char *const names[] = { "instrument", "eyes", "sure", "unsure" };

	return a->source_given ? names[a->source] : "";
}

enum job_status job_understand(struct job *j, const struct job_answer *a,
			       struct job_understood *out, struct hs_err *err)
{
	struct job_facts facts = facts_now(j);

	return job_make_sense(j, &facts, a, out, err);
}

enum job_status job_answer(struct job *j, const struct job_answer *a, struct job_understood *out,
			   struct hs_err *err)
{
	return job_answer_at(j, KN_NONE, a, out, err);
}

enum job_status job_answer_at(struct job *j, int event, const struct job_answer *a,
			      struct job_understood *out, struct hs_err *err)
{
	const struct kn_check *c = &j->kn->checks[a->check];
	enum job_status status;
	char flags[40] = "";
	struct job_event e = { .kind = JOB_ANSWERED };

	status = job_understand(j, a, out, err);
	if (status != JOB_OK)
		return status;
	strcat(flags, a->flags & JOB_LEADS_WAIVED ? "leads-waived " : "");
	strcat(flags, a->flags & JOB_SLIP_OK ? "size-ok " : "");
	e.field[0] = c->id;
	e.field[1] = c->per == KN_NONE || a->place == KN_NONE ? "" : j->kn->kinds[c->per].places[a->place].id;
	e.field[2] = a->text;
	e.field[3] = source_name(a);
	e.field[4] = flags;
	return (event == KN_NONE ? job_add(j, &e, err) : job_change(j, event, &e, err)) < 0
		       ? JOB_REFUSED : JOB_OK;
}
