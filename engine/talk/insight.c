/* How firm the ranking is, whether the answers go together, what cannot be told apart, what if. */
#include <string.h>

#include "base/mem.h"
#include "plan/families.h"
#include "talk/inner.h"

static const char *mode_words(struct text *out, const struct kn_knowledge *kn, int mode)
{
	text_clear(out);
	kn_mode_title(out, kn, mode);
	return text_str(out);
}

void explain_firmness(struct talk *t)
{
	const struct job_view *v = talk_view(t);
	struct su_firmness f;
	struct text name = {0};

	if (!v)
		return;
	su_firm(v->suspects, &f);
	if (f.second == KN_NONE)
		return;
	mode_words(&name, t->kn, f.second);
	if (f.factor >= 1000)
		out_say(&t->out, 2, 4, "The first place is firm: nothing else comes near it.");
	else
		out_say(&t->out, 2, 4, "The first place is %s: %s would take it if a frequency or an answer "
			"were overrated %.1f times.", f.word, text_str(&name), f.factor);
	text_free(&name);
}

/* The same for the advice; what is asked once more is asked for the sake of the repair behind it. */
void explain_step_firmness(struct talk *t)
{
	const struct job_view *v = talk_view(t);
	const struct pl_plan *plan = talk_plan(t);
	const char *step = plan && plan->step[0].again ? "repair after it" : "next step";
	struct pl_situation now;
	struct pl_firmness f;
	struct text name = {0}, other = {0};
	struct talk_step s;

	if (!v)
		return;
	job_situation(v, &now);
	pl_firm(&now, &f);
	mode_words(&name, t->kn, f.mode);
	if (!f.changes) {
		out_say(&t->out, 2, 4, "The %s is firm: it stays even if %s were overrated %.0f times.",
			step, text_str(&name), PL_FIRM_MOST);
	} else {
		s = (struct talk_step){.kind = f.kind, .index = f.index, .place = f.place};
		if (f.kind == PL_HAND_OVER)
			text_add(&other, "handing it over");
		else
			explain_title(&other, t->kn, &s);
		out_say(&t->out, 2, 4, "The %s is %s: if %s were overrated %.1f times, it would be: %s.",
			step, f.word, text_str(&name), f.factor, text_str(&other));
	}
	text_free(&name);
	text_free(&other);
}

/* The answer that goes least with the rest, when it is worth repeating. */
void explain_fit(struct talk *t)
{
	const struct job_view *v = talk_view(t);
	struct hs_err err = {0};
	struct su_fit fit;

	if (!v || su_fits(t->kn, &v->the_case, NULL, &fit, &err) < 0 || !fit.bad)
		return;
	for (int i = 0; i < v->nfindings; i++) {
		const struct job_finding *f = &v->findings[i];
		struct talk_step s = {.kind = PL_CHECK, .index = f->check, .place = f->place};
		struct text title = {0};
		if (fit.odd < f->first_evidence || fit.odd >= f->first_evidence + f->nevidence)
			continue;
		explain_title(&title, t->kn, &s);
		out_say(&t->out, 2, 4, "These answers do not go together. Repeat this one first: %s = %s "
			"(%.0f dB against the rest).", text_str(&title), f->raw,
			4.342944819 * fit.odd_conflict);
		text_free(&title);
		return;
	}
}

void explain_families(struct talk *t)
{
	const struct job_view *v = talk_view(t);
	struct pl_family family[3];
	struct pl_situation now;
	int n;

	if (!v)
		return;
	job_situation(v, &now);
	n = pl_families(&now, family, 3);
	for (int i = 0; i < n; i++) {
		const struct pl_family *f = &family[i];
		struct text line = {0}, name = {0};
		for (int m = 0; m < f->nmodes; m++)
			text_addf(&line, "%s%s", m ? ", " : "", mode_words(&name, t->kn, f->mode[m]));
		if (f->split != KN_NONE)
			text_addf(&line, ". %s would, with: %s", t->kn->checks[f->split].title,
				  f->tool == KN_NONE ? "tools not here" : t->kn->tools[f->tool].title);
		out_say(&t->out, 2, 4, "No check that can be done here tells apart: %s.", text_str(&line));
		text_free(&line);
		text_free(&name);
	}
}

/* ---- what if ------------------------------------------------------------------------------------- */

/* The same job in memory with one answer more: shown, not kept. */
static int show_with(struct talk *t, const struct job_answer *a, struct hs_err *err)
{
	struct job *real = t->job, *copy = job_copy(real);
	struct job_understood u = {0};
	enum job_status status = job_answer(copy, a, &u, err);

	if (status == JOB_OK) {
		t->job = copy;
		out_say(&t->out, 0, 2, "If it were so (%s), and nothing is recorded:", u.echo);
		explain_rank(t, 6);
		t->job = real;
	}
	job_close(copy);
	if (status == JOB_ASK_LEADS || status == JOB_ASK_SLIP)
		err_set(err, HS_BAD_INPUT, "That would be asked about first.");
	return status == JOB_OK ? 0 : -1;
}

int answer_what_if(struct talk *t, const char *argument, struct hs_err *err)
{
	char *name = mem_strdup(argument), *value = strchr(name, '=');
	struct talk_step s = {.place = KN_NONE};
	int result = -1;

	if (!value) {
		err_set(err, HS_BAD_INPUT, "Say it as CHECK[@PLACE]=ANSWER.");
	} else {
		*value++ = '\0';
		if (step_parse(t->kn, name, false, &s, err) == 0) {
			struct job_answer a = {.check = s.index, .place = s.place, .text = value,
					       .flags = JOB_LEADS_WAIVED | JOB_SLIP_OK};
			result = show_with(t, &a, err);
		}
	}
	mem_free(name);
	return result;
}
