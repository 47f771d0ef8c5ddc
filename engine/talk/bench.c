/* The bench run: no complaint, the carburettors off; every check that goes on the bench, best first. */
#include "base/mem.h"
#include "report/report.h"
#include "talk/inner.h"

bool bench_possible(const struct kn_knowledge *kn)
{
	int bench = kn_access_by_id(kn, JOB_BENCH);

	return bench != KN_NONE && kn->accesses[bench].reachable;
}

bool bench_running(const struct job_view *v)
{
	return v->the_case.no_complaint && v->ncomplaints == 0;
}

int bench_begin(struct talk *t)
{
	out_say(&t->out, 0, 2, "Bench run: the carburettors are off. Every check that goes on the bench, one "
		"after the other; `can't` leaves one out, `finish` ends it early.");
	return access_record(t, kn_access_by_id(t->kn, JOB_BENCH), KN_ENERGY_NONE);
}

static enum talk_reply end_of_run(struct talk *t)
{
	struct hs_err err = {0};
	struct text lines = {0};
	int result = report_bench(t->job, &lines, &err);

	out_blank(&t->out);
	out_say(&t->out, 0, 2, "That was every check that goes on the bench.");
	if (result == 0)
		out_lines(&t->out, text_str(&lines));
	else
		talk_fail(t, &err);
	text_free(&lines);
	return t->over ? TALK_OVER : ask_finish(t);
}

enum talk_reply ask_bench(struct talk *t, bool *nothing)
{
	struct hs_err err = {0};
	int *checks, n;

	*nothing = t->bench_passed;
	if (*nothing)
		return TALK_TEXT;
	n = job_bench_checks(t->job, &checks, &err);
	if (n < 0)
		talk_fail(t, &err);
	if (n > 0) {
		step_set(t, PL_CHECK, checks[0], KN_NONE);
		t->step.everywhere = true;
	}
	mem_free(checks);
	if (n < 0)
		return TALK_OVER;
	if (n == 0 && settings_open(talk_view(t)))
		return settings_after(t, talk_view(t));
	if (n == 0)
		return end_of_run(t);
	out_say(&t->out, 0, 2, "%d check%s to go.", n, n == 1 ? "" : "s");
	return ask_step(t);
}
