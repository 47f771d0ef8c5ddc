/* The conductor: looks at the job, asks the one thing that comes next, and looks again. */
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "talk/inner.h"
#include "talk/paths.h"

/* What comes next follows from the job alone, so every way into it is the same way. */
static enum talk_reply turn(struct talk *t)
{
	const struct job_view *v;
	struct hs_err err = {0};
	enum talk_reply reply;
	bool nothing;

	if (!t->kn)
		return ask_machine(t);
	if (!t->job)
		return ask_complaint(t);
	if (manual_apply(t->options->trees, t->options->job_dir, t->job, &t->kn, &t->figures, &err) < 0) {
		talk_fail(t, &err);
		return TALK_OVER;
	}
	v = talk_view(t);
	if (!v)
		return TALK_OVER;
	if (v->state != JOB_OPEN && v->state != JOB_TO_VERIFY)
		return ask_reopen(t);
	if (v->ncomplaints == 0 && !v->the_case.no_complaint)
		return ask_complaint(t);
	if (!v->tools_told)
		return ask_tools(t);
	if (!t->histories_passed && !record_told(t->job, "history:"))
		return ask_histories(t);
	if (!t->circumstances_passed && !record_told(t->job, "circumstance:"))
		return ask_circumstances(t);
	if (job_figure_wanted(t->job, v) != KN_NONE)
		return manual_ask(t, job_figure_wanted(t->job, v));
	explain_holds(t, false);
	timers_show(t);
	if (t->step.chosen)
		return ask_step(t);
	reply = ask_after_repair(t, &nothing);
	if (nothing && !t->over && bench_running(v))
		reply = ask_bench(t, &nothing);
	return nothing && !t->over ? ask_step(t) : reply;
}

/* ---- going on with a job -------------------------------------------------------------------------- */

static const char *job_folder(const struct talk_options *o, char *buffer, int size)
{
	if (o->job_dir)
		return o->job_dir;
	job_default_dir(buffer, size);
	return buffer;
}

/* The id asked for, or the newest. 0 or -1. */
static int which_job(struct talk *t, const char *dir, char id[65], struct hs_err *err)
{
	struct job_summary *jobs = NULL;
	int n, result = 0;

	if (*t->options->resume) {
		if (strlen(t->options->resume) > 64)
			return err_set(err, HS_NOT_FOUND, "There is no job %s.", t->options->resume);
		strcpy(id, t->options->resume);
		return 0;
	}
	n = job_list(dir, &jobs, err);
	if (n == 0)
		err_set(err, HS_NOT_FOUND, "There is no job in %s.", dir);
	if (n > 0)
		strcpy(id, jobs[0].id);
	else
		result = -1;
	mem_free(jobs);
	return result;
}

static void say_known(struct talk *t)
{
	const struct job_view *v = talk_view(t);

	if (!v)
		return;
	out_say(&t->out, 0, 2, "Job %s, %s.", job_id(t->job), t->kn->machine_title);
	for (int i = 0; i < v->ncomplaints; i++)
		out_say(&t->out, 2, 4, "Complaint: %s.", t->kn->checks[v->complaints[i]].title);
	for (int i = 0; i < v->nfindings; i++) {
		const struct job_finding *f = &v->findings[i];
		struct talk_step s = {.kind = PL_CHECK, .index = f->check, .place = f->place};
		struct text title = {0};
		explain_title(&title, t->kn, &s);
		out_say(&t->out, 2, 4, "%s: %s", text_str(&title), f->raw);
		text_free(&title);
	}
	for (int i = 0; i < v->nrepairs; i++)
		out_say(&t->out, 2, 4, "Done: %s.", t->kn->remedies[v->repairs[i].remedy].title);
	explain_top(t);
}

static int open_job(struct talk *t)
{
	char folder[4096], id[65], machine[65], digest[17];
	const char *dir = job_folder(t->options, folder, sizeof folder);
	struct hs_err err = {0};
	long recovered = 0;

	if (which_job(t, dir, id, &err) < 0 || job_peek(dir, id, machine, digest, &err) < 0)
		goto failed;
	t->kn = talk_load(t->options->trees, machine, t->options->job_dir, &err);
	if (!t->kn)
		goto failed;
	t->job = job_open(dir, id, t->kn, &recovered, &err);
	if (!t->job)
		goto failed;
	if (recovered > 0)
		out_say(&t->out, 0, 2, "The last write had not come through whole: %ld bytes were set aside "
			"as %s.job.bad. Every answer before them is here.", recovered, id);
	if (strcmp(digest, t->kn->digest) != 0)
		out_say(&t->out, 0, 2, "The trees have changed since this job was begun: it is judged by "
			"the new ones.");
	if (manual_apply(t->options->trees, t->options->job_dir, t->job, &t->kn, &t->figures, &err) < 0)
		goto failed;
	say_known(t);
	return t->over ? -1 : 0;
failed:
	if (err.code == HS_NOT_FOUND)
		err.code = HS_BAD_JOB;
	talk_fail(t, &err);
	return -1;
}

/* ---- one conversation ------------------------------------------------------------------------------- */

int talk_begin(struct talk *t, struct hs_err *err)
{
	out_start(&t->out, stdout);
	t->in = input_open(t->options->script, paths_state("history", &t->history) ? t->history.s : NULL,
			   err);
	return t->in ? 0 : -1;
}

void talk_end(struct talk *t)
{
	input_close(t->in);
	job_close(t->job);
	kn_free(t->kn);
	text_free(&t->prefill);
	text_free(&t->prompt);
	text_free(&t->allowed);
	text_free(&t->figures);
	text_free(&t->history);         /* the input has written it */
}

int talk_run(const struct talk_options *options)
{
	struct talk t = {.options = options, .step = {.place = KN_NONE}};
	struct hs_err err = {0};

	if (talk_begin(&t, &err) < 0) {
		talk_end(&t);
		return talk_complain(&err);
	}
	if (!options->resume)
		out_say(&t.out, 0, 0, "halfsplit: what may be wrong, and what to do next. `?` helps at "
			"every question; `stop` leaves, and nothing is lost.");
	if (!options->resume || open_job(&t) == 0)
		while (!t.over)
			turn(&t);
	talk_end(&t);
	if (fflush(stdout) != 0 && t.status == TALK_DONE)
		t.status = TALK_IO;
	return t.status;
}
