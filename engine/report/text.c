/* The job sheet as text, 80 columns. */
#include <math.h>
#include <string.h>

#include "base/mem.h"
#include "report/bench.h"
#include "report/report.h"

#define WIDTH 80
#define SUSPECTS_SHOWN 6

static void heading(struct text *out, const char *title)
{
	text_addf(out, "\n%s\n", title);
	for (int i = 0; i < text_width(title); i++)
		text_addc(out, '-');
	text_addc(out, '\n');
}

/* Every paragraph goes out here: what a person typed is made safe for a terminal. Empties t. */
static void line(struct text *out, int first, int rest, struct text *t)
{
	struct text safe = { 0 };

	text_clean(&safe, text_str(t));
	text_wrap(out, text_str(&safe), WIDTH, first, rest);
	text_free(&safe);
	text_free(t);
}

/* ---- head ---------------------------------------------------------------------------------------- */

static void head(struct text *out, struct job *j, const struct job_view *v)
{
	struct text t = { 0 };
	int n = job_nevents(j);

	text_addf(out, "JOB SHEET %s\n", job_id(j));
	text_addf(&t, "Machine: %s", v->kn->machine_title);
	line(out, 0, 2, &t);
	text_add(&t, "Begun ");
	words_day(&t, n ? job_event_at(j, 0)->when : 0);
	text_add(&t, ", last change ");
	words_day(&t, n ? job_event_at(j, n - 1)->when : 0);
	line(out, 0, 2, &t);
	text_addf(&t, "State: %s%s%s", job_state_words(v->state), v->recheck[0] ? ", to be looked at again on "
		  : "", v->recheck);
	if (v->state == JOB_OPEN && v->complaint_gone)
		text_add(&t, "; the complaint was repeated and is gone");
	line(out, 0, 2, &t);
	if (n && strcmp(job_event_at(j, 0)->field[1], v->kn->digest) != 0) {
		text_add(&t, "The trees have changed since the job began; it is judged by those of today.");
		line(out, 0, 2, &t);
	}
	heading(out, "Complaint");
	for (int i = 0; i < v->ncomplaints; i++) {
		text_addf(&t, "%s", v->kn->checks[v->complaints[i]].title);
		line(out, 0, 2, &t);
	}
	if (!v->ncomplaints)
		text_add(out, "None: a bench run.\n");
	words_told(&t, v);
	if (t.len)
		line(out, 0, 2, &t);
}

/* What holds now or did when it was written: warned of on paper too. */
static void holds(struct text *out, const struct job_view *v)
{
	for (int i = 0; i < v->nholds; i++) {
		const struct kn_hold *h = &v->kn->holds[v->holds[i]];
		struct text t = { 0 };

		text_addf(&t, "%s: %s. %s", kn_signal_word(h->signal), h->title, h->say ? h->say : "");
		line(out, 0, 2, &t);
	}
}

/* ---- findings --------------------------------------------------------------------------------------- */

static void finding(struct text *out, const struct kn_knowledge *kn, const struct job_finding *f)
{
	const struct kn_check *c = &kn->checks[f->check];
	const struct job_understood *u = &f->understood;
	struct text t = { 0 };

	text_addf(&t, "%s", c->title);
	words_at(&t, kn, c->per, f->place);
	text_addf(&t, ": typed \"%s\"; ", f->raw);
	if (!u->number)
		text_add(&t, u->echo);
	else if (!u->reading.nplaces || c->compare)
		words_value(&t, u->reading.kind, u->reading.raw, u->reading.value, u->reading.u,
			  u->reading.verdict, u->reading.p_inside, words_unit(c->reading, false));
	for (int p = 0, n = 0; u->number && !c->compare && p < u->reading.nplaces; p++) {
		const struct rd_place_result *at = &u->reading.at[p];

		if (!at->given)
			continue;
		text_addf(&t, "%s%s: ", n++ ? "; " : "", words_place(kn, c->per, p));
		words_value(&t, at->kind, at->raw, at->value, at->u, at->verdict, at->p_inside,
			  words_unit(c->reading, true));
	}
	if (u->number)
		words_limit(&t, c->reading, u->reading.nplaces > 0);
	for (int i = 0; u->number && i < u->reading.nnotes; i++)
		text_addf(&t, "; %s", u->reading.note[i]);
	if (!f->counts && f->why[0])
		text_addf(&t, ". Not counted: %s", f->why);
	text_add(&t, ".");
	line(out, 0, 2, &t);
}

static void repair(struct text *out, const struct job_view *v, int r)
{
	const struct kn_remedy *rem = &v->kn->remedies[v->repairs[r].remedy];
	struct text t = { 0 };

	text_addf(&t, "DONE: %s", rem->title);
	words_at(&t, v->kn, rem->per, v->repairs[r].place);
	if (rem->parts)
		text_addf(&t, ". Parts: %s", rem->parts);
	text_add(&t, ".");
	line(out, 0, 2, &t);
}

/* Everything in the order it happened, as far as it was not taken back. */
static void history(struct text *out, struct job *j, const struct job_view *v)
{
	int at = 0, done = 0, lines = 0;
	struct text t = { 0 };

	heading(out, "Found and done, in order (u: one standard uncertainty)");
	for (int e = 0; e < job_nevents(j); e++) {
		size_t before = out->len;

		for (; at < v->nfindings && v->findings[at].event == e; at++)
			finding(out, v->kn, &v->findings[at]);
		for (; done < v->nrepairs && v->repair_event[done] == e; done++)
			repair(out, v, done);
		if (job_in_force(j, e))
			words_event(&t, v->kn, job_event_at(j, e));
		if (t.len)
			line(out, 0, 2, &t);
		lines += out->len > before;
	}
	if (!lines)
		text_add(out, "Nothing yet.\n");
}

/* ---- suspects, settings, open ends --------------------------------------------------------------------- */

static void suspects(struct text *out, const struct job_view *v)
{
	struct su_line *lines;
	int n = su_lines(v->suspects, &lines);

	heading(out, v->nrepairs ? "What may still be wrong" : "What may be wrong");
	if (v->suspects->p_none > .005)
		words_share(out, v->suspects->p_none, v->nrepairs ? "nothing any more" : "nothing");
	for (int i = 0; i < n && i < SUSPECTS_SHOWN && lines[i].p >= .01; i++) {
		struct text t = { 0 };

		words_line(&t, v->kn, &lines[i]);
		words_share(out, lines[i].p, text_str(&t));
		text_free(&t);
	}
	words_not_examined(out, v->suspects->left_out);
	text_add(out, "\n");
	mem_free(lines);
}

static void settings(struct text *out, const struct job_view *v)
{
	if (!v->nsettings)
		return;
	heading(out, "Settings, as found and as left");
	report_settings(v, out);
}

static void verification(struct text *out, const struct job_view *v)
{
	int last = v->nrepairs ? v->repair_event[v->nrepairs - 1] : 0;
	const struct kn_remedy *r;
	struct text t = { 0 };

	if (!v->nrepairs)
		return;
	r = &v->kn->remedies[v->repairs[v->nrepairs - 1].remedy];
	heading(out, "Verified after the last repair");
	for (int i = 0; i < r->nverifies; i++) {
		text_addf(&t, "%s: %s.", v->kn->checks[r->verifies[i]].title,
			  words_answered_after(v, r->verifies[i], last) ? "done, see above" : "not done");
		line(out, 0, 2, &t);
	}
	if (v->ncomplaints)
		text_addf(&t, "Complaint repeated: %s.",
			  v->complaint_gone ? "yes, and it is gone" : "not yet, or still there");
	if (t.len)
		line(out, 0, 2, &t);
	if (r->proof) {
		text_addf(&t, "Proof asked for: %s", r->proof);
		line(out, 0, 2, &t);
	}
	if (r->recheck) {
		text_addf(&t, "Look again after: %s.", r->recheck);
		line(out, 0, 2, &t);
	}
}

static void cautions(struct text *out, const struct job_view *v)
{
	const struct kn_caution *c[WORDS_CAUTIONS_MOST];
	int n = words_cautions(v, c, WORDS_CAUTIONS_MOST);

	if (n)
		heading(out, "Cautions of the work done");
	for (int i = 0; i < n; i++) {
		struct text t = { 0 };

		text_addf(&t, "%s: %s", kn_signal_word(c[i]->signal), c[i]->text);
		line(out, 0, 2, &t);
	}
}

static void next_step(struct text *out, struct job *j, const struct job_view *v)
{
	const struct pl_plan *plan;
	struct hs_err err = { 0 };
	struct text t = { 0 };

	if (v->state != JOB_OPEN && v->state != JOB_TO_VERIFY)
		return;
	plan = v->complaint_gone ? NULL : job_plan(j, &err);
	if (!plan || plan->nsteps == 0)
		return;
	text_addf(&t, "Next step: %s.", words_step_title(v->kn, &plan->step[0]));
	line(out, 0, 2, &t);
}

static void open_ends(struct text *out, struct job *j, const struct job_view *v)
{
	struct text t = { 0 };
	size_t start = out->len, title;

	heading(out, "Still open, notes");
	title = out->len;
	next_step(out, j, v);
	for (int a = 1; a < v->kn->naccesses && a < 64; a++)
		if (v->open >> a & 1) {
			text_addf(&t, "Open: %s.", v->kn->accesses[a].title);
			line(out, 0, 2, &t);
		}
	for (int i = 0; i < v->nnotes; i++) {
		text_addf(&t, "Note: %s", v->notes[i]);
		line(out, 0, 2, &t);
	}
	if (out->len == title) {
		out->len = start; /* nothing: no heading either */
		out->s[start] = '\0';
	}
}

int report_text(struct job *j, struct text *out, struct hs_err *err)
{
	const struct job_view *v = job_view(j, err);
	struct text t = { 0 };

	if (!v)
		return -1;
	head(out, j, v);
	holds(out, v);
	history(out, j, v);
	if (bench_is_one(v)) {
		heading(out, "The bench run");
		report_bench(j, out, err);
	}
	suspects(out, v);
	settings(out, v);
	verification(out, v);
	cautions(out, v);
	open_ends(out, j, v);
	text_add(&t, "A guide to isolating faults, not a substitute for licensed practice; local rules on "
		     "emissions, noise and fuel disposal come first.");
	text_addc(out, '\n');
	line(out, 0, 0, &t);
	return 0;
}
