/* The library's front door: include/halfsplit.h over the rooms. */
#include "halfsplit.h"

#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "job/job.h"
#include "report/report.h"

struct hs {
	struct kn_knowledge *kn;
	struct job *job;
	struct hs_err err;
	struct hs_err broken;   /* why it could not be opened; stays */
	struct text text;       /* what was returned last */
};

static int add(struct hs *h, enum job_kind kind, const char *a, const char *b, const char *c)
{
	struct job_event e = { .kind = kind, .field = { a, b, c } };

	return job_add(h->job, &e, &h->err);
}

/* Forgets the last error; -1 when the handle never opened. */
static int start(struct hs *h)
{
	err_clear(&h->err);
	if (h->job)
		return 0;
	h->err = h->broken;
	return -1;
}

struct hs *hs_open(const char *trees, const char *machine)
{
	struct hs *h = mem_alloc(sizeof *h);

	h->kn = trees ? kn_load(trees, machine, &h->err) : NULL;
	if (!h->kn) {
		err_set(&h->err, HS_BAD_INPUT, "Which trees? Their folder was not given.");
		h->broken = h->err;
		return h;
	}
	h->job = job_new(h->kn);
	/* In memory only: what begins as a bench run becomes a complaint with the first one. */
	add(h, JOB_BEGAN, h->kn->machine, h->kn->digest, "bench");
	return h;
}

void hs_free(struct hs *h)
{
	if (!h)
		return;
	job_close(h->job);
	kn_free(h->kn);
	text_free(&h->text);
	mem_free(h);
}

const char *hs_error(const struct hs *h)
{
	return h->err.code == HS_OK ? NULL : h->err.text;
}

/* ---- names ------------------------------------------------------------------------------------------ */

static int no_such(struct hs *h, const char *what, const char *id)
{
	return err_set(&h->err, HS_NOT_FOUND, "There is no %s \"%s\".", what, id ? id : "");
}

static int check_of(struct hs *h, const char *id)
{
	int c = id ? kn_check_by_id(h->kn, id) : KN_NONE;

	if (c == KN_NONE)
		no_such(h, "check", id);
	return c;
}

/* 0, or -1: no such position of this kind. */
static int place_of(struct hs *h, int kind, const char *id, int *place)
{
	*place = KN_NONE;
	if (!id || !*id)
		return 0;
	if (kind != KN_NONE)
		*place = kn_place_by_id(&h->kn->kinds[kind], id);
	return *place == KN_NONE ? no_such(h, "position", id) : 0;
}

/* ---- what is said ------------------------------------------------------------------------------------- */

int hs_complain(struct hs *h, const char *symptom)
{
	int c;

	if (start(h) < 0)
		return -1;
	c = symptom ? kn_check_by_id(h->kn, symptom) : KN_NONE;
	if (c == KN_NONE || h->kn->checks[c].kind != KN_SYMPTOM)
		return no_such(h, "complaint", symptom);
	return add(h, JOB_COMPLAINED, symptom, NULL, NULL);
}

static bool is_fact(const struct hs *h, const char *fact)
{
	const char *id = strchr(fact, ':');

	if (!id)
		return strcmp(fact, "altitude") == 0 || strcmp(fact, "air") == 0;
	id++;
	if (strncmp(fact, "tool:", 5) == 0)
		return kn_tool_by_id(h->kn, id) != KN_NONE;
	if (strncmp(fact, "history:", 8) == 0)
		return kn_history_by_id(h->kn, id) != KN_NONE;
	return strncmp(fact, "circumstance:", 13) == 0 &&
	       kn_circumstance_by_id(h->kn, id) != KN_NONE;
}

static bool is_number(const char *s)
{
	char *end;

	strtod(s, &end);
	return end != s && !*end;
}

int hs_tell(struct hs *h, const char *fact, const char *value)
{
	if (start(h) < 0)
		return -1;
	if (!fact || !is_fact(h, fact))
		return no_such(h, "fact", fact);
	if (!value || (strchr(fact, ':') ? strcmp(value, "yes") != 0 && strcmp(value, "no") != 0
					 : !is_number(value)))
		return err_set(&h->err, HS_BAD_INPUT, "%s: %s, please.", fact,
			       strchr(fact, ':') ? "yes or no" : "a number");
	return add(h, JOB_TOLD, fact, value, NULL);
}

int hs_answer(struct hs *h, const char *check, const char *position, const char *value, int flags)
{
	struct job_answer a = { .text = value ? value : "" };
	struct job_understood understood;
	enum job_status status;

	if (start(h) < 0 || (a.check = check_of(h, check)) == KN_NONE ||
	    place_of(h, h->kn->checks[a.check].per, position, &a.place) < 0)
		return -1;
	a.flags = (flags & HS_LEADS_UNMEASURED ? JOB_LEADS_WAIVED : 0) |
		  (flags & HS_SIZE_IS_RIGHT ? JOB_SLIP_OK : 0);
	status = job_answer(h->job, &a, &understood, &h->err);
	if (status == JOB_OK)
		return 0;
	return err_set(&h->err, HS_BAD_INPUT, "That was not understood.");
}

int hs_skip(struct hs *h, const char *check)
{
	if (start(h) < 0 || check_of(h, check) == KN_NONE)
		return -1;
	return add(h, JOB_SKIPPED, check, "", "cannot");
}

int hs_repaired(struct hs *h, const char *remedy, const char *position)
{
	int r, place;

	if (start(h) < 0)
		return -1;
	r = remedy ? kn_remedy_by_id(h->kn, remedy) : KN_NONE;
	if (r == KN_NONE)
		return no_such(h, "remedy", remedy);
	if (place_of(h, h->kn->remedies[r].per, position, &place) < 0)
		return -1;
	return add(h, JOB_REPAIRED, remedy, position, NULL);
}

int hs_undo(struct hs *h)
{
	return start(h) < 0 ? -1 : job_undo(h->job, NULL, &h->err);
}

int hs_redo(struct hs *h)
{
	return start(h) < 0 ? -1 : job_redo(h->job, NULL, &h->err);
}

/* ---- what comes out ------------------------------------------------------------------------------------ */

static const char *made_by(struct hs *h, int (*make)(struct job *, struct text *, struct hs_err *))
{
	text_clear(&h->text);
	if (start(h) < 0 || make(h->job, &h->text, &h->err) < 0)
		return NULL;
	return text_str(&h->text);
}

const char *hs_rank_json(struct hs *h) { return made_by(h, report_rank_json); }
const char *hs_report(struct hs *h) { return made_by(h, report_text); }
const char *hs_report_html(struct hs *h) { return made_by(h, report_html); }
const char *hs_report_json(struct hs *h) { return made_by(h, report_json); }
