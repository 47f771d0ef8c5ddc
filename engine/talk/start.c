/* The beginning: which machine, what it does wrong. */
#include <string.h>

#include "base/mem.h"
#include "talk/inner.h"

static enum talk_reply load(struct talk *t, const char *machine)
{
	struct hs_err err = {0};

	t->kn = talk_load(t->options->trees, machine, t->options->job_dir, &err);
	if (!t->kn) {
		talk_fail(t, &err);
		return TALK_OVER;
	}
	out_say(&t->out, 0, 2, "Machine: %s.", t->kn->machine_title);
	return TALK_MOVED;
}

static enum talk_reply choose_machine(struct talk *t, const struct kn_machine_title *m, int n)
{
	struct talk_choice *choices = mem_array((size_t)n + 1, sizeof *choices);
	struct talk_prompt p = {.question = "Which machine", .choices = choices, .nchoices = n};
	struct text allowed = {0}, line = {0};
	int picked = KN_NONE;
	enum talk_reply reply;

	for (int i = 0; i < n; i++)
		choices[i] = (struct talk_choice){m[i].id, m[i].title};
	text_addf(&allowed, "1 to %d, or a name", n);
	p.allowed = text_str(&allowed);
	choose_list(t, choices, n);
	do {
		reply = talk_ask(t, &p, &line);
		if (reply != TALK_TEXT)
			break;
		picked = choose_one(choices, n, text_str(&line));
		if (picked == KN_NONE &&
		    !talk_refuse(t, &line, "That is none of the machines listed."))
			reply = TALK_OVER;
	} while (reply == TALK_TEXT && picked == KN_NONE);
	if (picked != KN_NONE)
		reply = load(t, m[picked].id);
	else if (reply != TALK_OVER)
		out_say(&t->out, 0, 2, "Without the machine nothing can be judged: take the one that comes "
			"nearest.");
	mem_free(choices);
	text_free(&allowed);
	text_free(&line);
	return reply == TALK_OVER ? TALK_OVER : TALK_MOVED;
}

enum talk_reply ask_machine(struct talk *t)
{
	struct kn_machine_title *machines = NULL;
	struct hs_err err = {0};
	enum talk_reply reply;
	int n;

	if (t->options->machine)
		return load(t, t->options->machine);
	n = kn_machines(t->options->trees, &machines, &err);
	if (n == 0)
		err_set(&err, HS_BAD_TREE, "No machine is described under %s.", t->options->trees);
	if (n <= 0) {
		talk_fail(t, &err);
		reply = TALK_OVER;
	} else {
		t->nmachines = n;
		reply = n == 1 ? load(t, machines[0].id) : choose_machine(t, machines, n);
	}
	mem_free(machines);
	return reply;
}

/* ---- the complaint ------------------------------------------------------------------------------- */

static void help_complaint(struct talk *t, const void *about)
{
	(void)about;
	for (int i = 0; i < t->kn->nsymptoms; i++) {
		const struct kn_check *c = &t->kn->checks[t->kn->symptoms[i]];
		if (c->offered && c->says)
			out_say(&t->out, 2, 6, "%s: \"%s\"", c->title, c->says);
	}
}

static int new_job(struct talk *t, const char *what)
{
	char folder[4096], id[65];
	const char *dir = t->options->job_dir;
	struct hs_err err = {0};

	if (!dir) {
		job_default_dir(folder, sizeof folder);
		dir = folder;
	}
	job_fresh_id(dir, t->kn->machine, id);
	t->job = job_create(dir, id, t->kn, &err);
	if (!t->job) {
		talk_fail(t, &err);
		return -1;
	}
	out_say(&t->out, 0, 2, "Job %s. Every answer is saved before the next question.", id);
	if (job_nevents(t->job) > 0)
		return 0;
	if (talk_record(t, JOB_BEGAN, t->kn->machine, t->kn->digest, what, NULL) < 0)
		return -1;
	return t->options->rates ? talk_record(t, JOB_TOLD, "rates", t->options->rates, NULL, NULL) : 0;
}

static void say_complaint(struct talk *t, int symptom)
{
	const struct kn_check *c = &t->kn->checks[symptom];

	out_say(&t->out, 0, 2, "Complaint: %s.", c->title);
	explain_cautions(t, c->cautions, c->ncautions);
	if (c->nasks > 0)
		out_say(&t->out, 2, 2, "Good to know from the start (`note TEXT` keeps it):");
	for (int i = 0; i < c->nasks; i++)
		out_say(&t->out, 4, 6, "- %s", c->asks[i]);
}

static int record_complaints(struct talk *t, const int *symptoms, const bool *picked, int n)
{
	if (!t->job && new_job(t, "complaint") < 0)
		return -1;
	for (int i = 0; i < n; i++) {
		if (!picked[i])
			continue;
		if (talk_record(t, JOB_COMPLAINED, t->kn->checks[symptoms[i]].id, NULL, NULL, NULL) < 0)
			return -1;
		say_complaint(t, symptoms[i]);
	}
	explain_holds(t, true);
	return 0;
}

/* Back from the first question: the machine is asked again. */
static void back_to_machine(struct talk *t)
{
	if (t->job || t->options->machine || t->nmachines < 2) {
		out_say(&t->out, 0, 2, "There is nothing left to take back.");
		return;
	}
	kn_free(t->kn);
	t->kn = NULL;
}

/* "none", and no complaint beside it. */
static bool only_the_last(const bool *picked, int most, int n)
{
	for (int i = 0; i < most; i++)
		if (picked[i])
			return false;
	return n > most && picked[most];
}

/* From the command line. */
static enum talk_reply told_complaints(struct talk *t)
{
	int symptoms[TALK_MANY];
	bool picked[TALK_MANY] = {false};
	struct hs_err err = {0};
	int n = t->options->ncomplaints;

	for (int i = 0; i < n; i++) {
		symptoms[i] = talk_symptom_named(t->kn, t->options->complaints[i], &err);
		picked[i] = symptoms[i] != KN_NONE;
		if (!picked[i]) {
			talk_fail(t, &err);
			return TALK_OVER;
		}
	}
	return record_complaints(t, symptoms, picked, n) < 0 ? TALK_OVER : TALK_MOVED;
}

static enum talk_reply choose_complaints(struct talk *t)
{
	int most = t->kn->nsymptoms, n = 0;
	int *symptoms = mem_array((size_t)most + 1, sizeof *symptoms);
	bool *picked = mem_array((size_t)most + 2, sizeof *picked);
	struct talk_choice *choices = mem_array((size_t)most + 2, sizeof *choices);
	struct talk_prompt p = {.question = "What does it do wrong", .help = help_complaint,
				.allowed = "numbers or names", .choices = choices};
	enum talk_reply reply;

	for (int i = 0; i < most; i++) {
		const struct kn_check *c = &t->kn->checks[t->kn->symptoms[i]];
		if (!c->offered)
			continue;
		symptoms[n] = t->kn->symptoms[i];
		choices[n++] = (struct talk_choice){c->id, c->title};
	}
	most = n;
	if (!t->job && bench_possible(t->kn))
		choices[n++] = (struct talk_choice){"none", "none: carburettors on the bench"};
	p.nchoices = n;
	out_blank(&t->out);
	choose_list(t, choices, n);
	reply = talk_ask_several(t, &p, false, false, picked);
	if (reply == TALK_TEXT && only_the_last(picked, most, n))
		reply = new_job(t, "bench") < 0 || bench_begin(t) < 0 ? TALK_OVER : TALK_MOVED;
	else if (reply == TALK_TEXT && record_complaints(t, symptoms, picked, most) < 0)
		reply = TALK_OVER;
	else if (reply == TALK_BACK)
		back_to_machine(t);
	else if (reply == TALK_DONT_KNOW || reply == TALK_CANNOT)
		out_say(&t->out, 0, 2, "Take the nearest one: `?` has them in a rider's words.");
	mem_free(symptoms);
	mem_free(picked);
	mem_free(choices);
	return reply == TALK_OVER ? TALK_OVER : TALK_MOVED;
}

enum talk_reply ask_complaint(struct talk *t)
{
	return !t->job && t->options->ncomplaints > 0 ? told_complaints(t) : choose_complaints(t);
}
