/* The job sheet as text, 80 columns. */
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

#include "base/mem.h"
#include "report/words.h"

#define WIDTH 80
#define SUSPECTS_SHOWN 6

static void heading(struct text *out, const char *title)
{
	text_addf(out, "\n%s\n", title);
	for (int i = 0; i < text_width(title); i++)
		text_addc(out, '-');
	text_addc(out, '\n');
}

static void line(struct text *out, int first, int rest, struct text *t)
{
	text_wrap(out, text_str(t), WIDTH, first, rest);
	text_free(t);
}

static void day(struct text *t, long long when)
{
	time_t at = (time_t)when;
	struct tm utc;
	char words[40];

	gmtime_r(&at, &utc);
	strftime(words, sizeof words, "%Y-%m-%d %H:%M UTC", &utc);
	text_add(t, words);
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
	day(&t, n ? job_event_at(j, 0)->when : 0);
	text_add(&t, ", last change ");
	day(&t, n ? job_event_at(j, n - 1)->when : 0);
	line(out, 0, 2, &t);
	text_addf(&t, "State: %s", job_state_words(v->state));
	if (v->state == JOB_OPEN && v->complaint_gone)
		text_add(&t, "; the complaint was repeated and is gone");
	line(out, 0, 2, &t);
	heading(out, "Complaint");
	for (int i = 0; i < v->ncomplaints; i++) {
		text_addf(&t, "%s", v->kn->checks[v->complaints[i]].title);
		line(out, 0, 2, &t);
	}
	if (!v->ncomplaints)
		text_add(out, "None: a bench run.\n");
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

static void add_value(struct text *t, enum rd_kind kind, double raw, double value, double u,
		      enum rd_verdict verdict, double p_inside, enum rd_unit unit)
{
	rd_format(t, kind, raw, 0, unit);
	if (kind == RD_NUMBER && fabs(value - raw) > 1e-9 * fabs(raw)) {
		text_add(t, " as shown, ");
		rd_format(t, kind, value, u, unit);
		text_add(t, " corrected");
	}
	if (kind == RD_NUMBER && u > 0) {
		text_add(t, " (u ");
		text_addf(t, "%.2g", u);
		text_add(t, ")");
	}
	if (verdict != RD_NO_BAND)
		text_addf(t, ": %s", rd_verdict_words(verdict));
	if (verdict == RD_TOO_CLOSE)
		text_addf(t, " (%.0f %% inside)", 100 * p_inside);
}

static void add_band(struct text *t, const struct kn_reading *r)
{
	if (isinf(r->low) && isinf(r->high))
		return;
	text_add(t, "; limit ");
	if (isinf(r->low))
		text_addf(t, "at most %g", r->high);
	else if (isinf(r->high))
		text_addf(t, "at least %g", r->low);
	else
		text_addf(t, "%g to %g", r->low, r->high);
	if (*rd_unit_name(r->unit))
		text_addf(t, " %s", rd_unit_name(r->unit));
}

static void finding(struct text *out, const struct kn_knowledge *kn, const struct job_finding *f)
{
	const struct kn_check *c = &kn->checks[f->check];
	const struct job_understood *u = &f->understood;
	struct text t = { 0 };

	text_addf(&t, "%s", c->title);
	if (f->place != KN_NONE)
		text_addf(&t, ", %s %s", kn->kinds[c->per].title, words_place(kn, c->per, f->place));
	text_addf(&t, ": typed \"%s\"; ", f->raw);
	if (!u->number)
		text_add(&t, u->echo);
	else if (!u->reading.nplaces || c->compare)
		add_value(&t, u->reading.kind, u->reading.raw, u->reading.value, u->reading.u,
			  u->reading.verdict, u->reading.p_inside, c->reading->unit);
	for (int p = 0, n = 0; u->number && !c->compare && p < u->reading.nplaces; p++) {
		const struct rd_place_result *at = &u->reading.at[p];

		if (!at->given)
			continue;
		text_addf(&t, "%s%s: ", n++ ? "; " : "", words_place(kn, c->per, p));
		add_value(&t, at->kind, at->raw, at->value, at->u, at->verdict, at->p_inside,
			  c->reading->unit);
	}
	if (u->number)
		add_band(&t, c->reading);
	for (int i = 0; u->number && i < u->reading.nnotes; i++)
		text_addf(&t, "; %s", u->reading.note[i]);
	if (!f->counts && f->why[0])
		text_addf(&t, ". Not counted: %s", f->why);
	text_add(&t, ".");
	line(out, 0, 2, &t);
}

/* Answers and repairs in the order they happened. */
static void history(struct text *out, struct job *j, const struct job_view *v)
{
	int at = 0, done = 0;

	heading(out, "Found and done, in order");
	for (int e = 0; e < job_nevents(j); e++) {
		for (; at < v->nfindings && v->findings[at].event == e; at++)
			finding(out, v->kn, &v->findings[at]);
		if (job_event_at(j, e)->kind == JOB_REPAIRED && done < v->nrepairs &&
		    v->repair_event[done] == e) {
			const struct kn_remedy *r = &v->kn->remedies[v->repairs[done].remedy];
			struct text t = { 0 };

			text_addf(&t, "DONE: %s", r->title);
			if (v->repairs[done].place != KN_NONE)
				text_addf(&t, ", %s %s", v->kn->kinds[r->per].title,
					  words_place(v->kn, r->per, v->repairs[done].place));
			if (r->parts)
				text_addf(&t, ". Parts: %s", r->parts);
			text_add(&t, ".");
			line(out, 0, 2, &t);
			done++;
		}
	}
	if (!v->nfindings && !v->nrepairs)
		text_add(out, "Nothing yet.\n");
}

/* ---- suspects, settings, open ends --------------------------------------------------------------------- */

static void suspects(struct text *out, const struct job_view *v)
{
	struct su_line *lines;
	int n = su_lines(v->suspects, &lines);

	heading(out, v->nrepairs ? "What may still be wrong" : "What may be wrong");
	if (v->suspects->p_none > .005)
		text_addf(out, "%3.0f %%  nothing any more\n", 100 * v->suspects->p_none);
	for (int i = 0; i < n && i < SUSPECTS_SHOWN && lines[i].p >= .01; i++) {
		struct text t = { 0 };

		text_addf(&t, "%3.0f %%  ", 100 * lines[i].p);
		words_line(&t, v->kn, &lines[i]);
		line(out, 0, 7, &t);
	}
	text_addf(out, "Not examined: at most %.2g %%.\n", 100 * v->suspects->left_out);
	mem_free(lines);
}

static void settings(struct text *out, const struct job_view *v)
{
	if (!v->nsettings)
		return;
	heading(out, "Settings, as found and as left");
	for (int i = 0; i < v->nsettings; i++) {
		const struct job_setting *s = &v->settings[i];
		const struct kn_setting *k = &v->kn->settings[s->setting];
		struct text t = { 0 };

		text_addf(&t, "%s", k->title);
		if (s->place != KN_NONE)
			text_addf(&t, ", %s %s", v->kn->kinds[k->per].title,
				  words_place(v->kn, k->per, s->place));
		text_addf(&t, ": found %s; left %s.", s->found[0] ? s->found : "not noted",
			  s->left[0] ? s->left : "NOT NOTED YET");
		line(out, 0, 2, &t);
	}
}

static bool answered_after(const struct job_view *v, int check, int event)
{
	for (int i = 0; i < v->nfindings; i++)
		if (v->findings[i].check == check && v->findings[i].event > event)
			return true;
	return false;
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
			  answered_after(v, r->verifies[i], last) ? "done, see above" : "not done");
		line(out, 0, 2, &t);
	}
	text_addf(&t, "Complaint repeated: %s.", v->complaint_gone ? "yes, and it is gone" : "not yet, or still there");
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

static void open_ends(struct text *out, const struct job_view *v)
{
	struct text t = { 0 };
	bool any = false;

	for (int a = 1; a < v->kn->naccesses && a < 64; a++)
		any = any || (v->open >> a & 1);
	if (!any && !v->nnotes)
		return;
	heading(out, "Still open, notes");
	for (int a = 1; a < v->kn->naccesses && a < 64; a++)
		if (v->open >> a & 1) {
			text_addf(&t, "Open: %s.", v->kn->accesses[a].title);
			line(out, 0, 2, &t);
		}
	for (int i = 0; i < v->nnotes; i++) {
		text_addf(&t, "Note: %s", v->notes[i]);
		line(out, 0, 2, &t);
	}
}

int report_text(struct job *j, struct text *out, struct hs_err *err)
{
	const struct job_view *v = job_view(j, err);

	if (!v)
		return -1;
	head(out, j, v);
	holds(out, v);
	history(out, j, v);
	suspects(out, v);
	settings(out, v);
	verification(out, v);
	open_ends(out, v);
	text_add(out, "\nA guide to isolating faults, not a substitute for licensed practice; local rules "
		      "on\nemissions, noise and fuel disposal come first.\n");
	return 0;
}
