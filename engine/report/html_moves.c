/* The suspects as they moved: the job is played again in memory and looked at after each thing that
 * changed them. */
#include "base/mem.h"
#include "report/html.h"

#define SHOWN_MOST 40   /* the newest; each costs one weighing */

static bool moves(const struct job *j, int i)
{
	enum job_kind k = job_event_at(j, i)->kind;

	return job_in_force(j, i) &&
	       (k == JOB_COMPLAINED || k == JOB_ANSWERED || k == JOB_REPAIRED);
}

static void say_what(struct text *t, const struct kn_knowledge *kn, const struct job_event *e)
{
	int c;

	if (e->kind == JOB_REPAIRED) {
		c = kn_remedy_by_id(kn, e->field[0]);
		text_addf(t, "Done: %s", c == KN_NONE ? e->field[0] : kn->remedies[c].title);
	} else {
		c = kn_check_by_id(kn, e->field[0]);
		text_add(t, c == KN_NONE ? e->field[0] : kn->checks[c].title);
	}
	if (e->field[1] && *e->field[1])
		text_addf(t, ", %s", e->field[1]);
	if (e->kind == JOB_ANSWERED)
		text_addf(t, ": %s", e->field[2]);
}

static void row(struct html *h, const struct job_view *v, const struct job_event *e)
{
	struct text t = { 0 };
	struct su_line *lines;
	double p;
	int n = su_lines(v->suspects, &lines);

	html_open(h, "tr");
	say_what(&t, v->kn, e);
	html_put_text(h, "td", NULL, &t);
	html_open(h, "td");
	if (n > 0 && lines[0].p >= v->suspects->p_none)
		words_line(&t, v->kn, &lines[0]);
	else
		text_add(&t, "nothing");
	p = n > 0 && lines[0].p >= v->suspects->p_none ? lines[0].p : v->suspects->p_none;
	text_addf(&t, ", %.0f %%", 100 * p);
	html_text(h, text_str(&t));
	html_share(h, p);
	html_close(h);
	html_close(h);
	text_free(&t);
	mem_free(lines);
}

int html_moves(struct html *h, struct job *j, struct hs_err *err)
{
	struct job *again = job_new(job_knowledge(j));
	int n = 0, passed = 0, result = 0;

	for (int i = 0; i < job_nevents(j); i++)
		n += moves(j, i);
	html_put(h, "h2", NULL, "First suspect after each step");
	if (n > SHOWN_MOST)
		html_put(h, "p", NULL, "The newest forty steps.");
	html_open(h, "table");
	html_open(h, "tbody");
	for (int i = 0; i < job_nevents(j) && result == 0; i++) {
		const struct job_view *v;

		if (!job_in_force(j, i) || job_event_at(j, i)->kind == JOB_CHANGED)
			continue; /* a change is in what it changed */
		result = job_add(again, job_event_at(j, i), err);
		if (result < 0 || !moves(j, i) || passed++ < n - SHOWN_MOST)
			continue;
		v = job_view(again, err);
		if (v)
			row(h, v, job_event_at(j, i));
		else
			result = -1;
	}
	html_close(h);
	html_close(h);
	job_close(again);
	return result;
}
