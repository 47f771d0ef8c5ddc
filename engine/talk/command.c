/* Commands without conversation: rank, list, jobs, report; errors and exit statuses. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "base/file.h"
#include "base/mem.h"
#include "job/job.h"
#include "report/report.h"
#include "talk/inner.h"
#include "talk/talk.h"

int talk_exit_for(enum hs_code code)
{
	switch (code) {
	case HS_OK: return TALK_DONE;
	case HS_BAD_INPUT: case HS_NOT_FOUND: return TALK_USAGE;
	case HS_BAD_TREE: case HS_LIMIT: return TALK_BAD_TREE;
	case HS_BAD_JOB: return TALK_BAD_JOB;
	case HS_IO: return TALK_IO;
	}
	return TALK_USAGE;
}

int talk_complain(const struct hs_err *err)
{
	struct talk_out out;
	struct text safe = {0};

	out_start(&out, stderr);
	if (err->file[0] && err->line > 0)
		text_addf(&safe, "%s:%d: ", err->file, err->line);
	else if (err->file[0])
		text_addf(&safe, "%s: ", err->file);
	text_add(&safe, err->text[0] ? err->text : "Something went wrong that has no words.");
	fputs("halfsplit: ", stderr);
	text_addc(&safe, '\n');
	out_lines(&out, text_str(&safe));
	text_free(&safe);
	return talk_exit_for(err->code == HS_OK ? HS_IO : err->code);
}

/* Prints and frees; the status is that of the output. */
static int print(struct text *t, bool json)
{
	struct talk_out out;

	out_start(&out, stdout);
	if (json)
		fputs(text_str(t), stdout);   /* JSON escapes what could do harm by itself */
	else
		out_lines(&out, text_str(t));
	text_free(t);
	if (fflush(stdout) != 0 || ferror(stdout)) {
		fprintf(stderr, "halfsplit: The output could not be written.\n");
		return TALK_IO;
	}
	return TALK_DONE;
}

/* ---- rank ------------------------------------------------------------------------------------------ */

static int add(struct job *j, enum job_kind kind, const char *f0, const char *f1, const char *f2,
	       struct hs_err *err)
{
	struct job_event e = {.kind = kind, .field = {f0, f1, f2}};

	return job_add(j, &e, err);
}

/* "ID" or "ID=yes" or "ID=no" as a fact with this prefix. */
static int add_fact(struct job *j, const char *prefix, const char *typed,
		    int (*by_id)(const struct kn_knowledge *, const char *), struct hs_err *err)
{
	char *id = mem_strdup(typed), *value = strchr(id, '=');
	struct text fact = {0};
	int result;

	if (value)
		*value++ = '\0';
	if (value && strcmp(value, "yes") != 0 && strcmp(value, "no") != 0)
		result = err_set(err, HS_BAD_INPUT, "%s: yes or no, not \"%s\".", id, value);
	else if (by_id(job_knowledge(j), id) == KN_NONE)
		result = err_set(err, HS_NOT_FOUND, "There is no %s \"%s\".", prefix, id);
	else {
		text_addf(&fact, "%s:%s", prefix, id);
		result = add(j, JOB_TOLD, text_str(&fact), value ? value : "yes", NULL, err);
	}
	text_free(&fact);
	mem_free(id);
	return result;
}

static int add_answer(struct job *j, const struct talk_rank *r, const char *typed, struct hs_err *err)
{
	const struct kn_knowledge *kn = job_knowledge(j);
	struct job_understood understood = {0};
	char *name = mem_strdup(typed), *value = strchr(name, '=');
	struct talk_step s;
	int result = -1;

	if (!value) {
		err_set(err, HS_BAD_INPUT, "--answer is CHECK[@POSITION]=VALUE, not \"%s\".", typed);
	} else {
		*value++ = '\0';
		if (step_parse(kn, name, false, &s, err) == 0) {
			struct job_answer a = {
				.check = s.index, .place = s.place, .text = value,
				.flags = (r->leads_unmeasured ? JOB_LEADS_WAIVED : 0) |
					 (r->size_is_right ? JOB_SLIP_OK : 0)};
			enum job_status status = job_answer(j, &a, &understood, err);
			if (status == JOB_ASK_LEADS || status == JOB_ASK_SLIP)
				err_clear(err);
			if (status == JOB_ASK_LEADS)
				err_set(err, HS_BAD_INPUT, "%s: the meter leads are not measured; answer "
					"that check first or say --leads-unmeasured.", typed);
			else if (status == JOB_ASK_SLIP)
				err_set(err, HS_BAD_INPUT, "%s: an odd size; --size-is-right says it is "
					"so.", typed);
			result = status == JOB_OK ? 0 : -1;
		}
	}
	mem_free(name);
	return result;
}

static int add_everything(struct job *j, const struct talk_rank *r, struct hs_err *err)
{
	const struct kn_knowledge *kn = job_knowledge(j);
	int result = 0;

	if (job_nevents(j) == 0)
		result = add(j, JOB_BEGAN, kn->machine, kn->digest,
			     r->ncomplaints ? "complaint" : "bench", err);
	for (int i = 0; result == 0 && i < r->ncomplaints; i++)
		result = talk_symptom_named(kn, r->complaints[i], err) == KN_NONE
				 ? -1
				 : add(j, JOB_COMPLAINED, r->complaints[i], NULL, NULL, err);
	for (int i = 0; result == 0 && i < r->ntools; i++)
		result = add_fact(j, "tool", r->tools[i], kn_tool_by_id, err);
	for (int i = 0; result == 0 && i < r->nhistories; i++)
		result = add_fact(j, "history", r->histories[i], kn_history_by_id, err);
	for (int i = 0; result == 0 && i < r->ncircumstances; i++)
		result = add_fact(j, "circumstance", r->circumstances[i], kn_circumstance_by_id, err);
	for (int i = 0; result == 0 && i < r->nanswers; i++)
		result = add_answer(j, r, r->answers[i], err);
	return result;
}

int talk_rank(const struct talk_rank *r)
{
	struct hs_err err = {0};
	struct text out = {0};
	struct kn_knowledge *kn = talk_load(r->trees, r->machine, NULL, &err);
	struct job *j = kn ? job_new(kn) : NULL;
	int result = -1;

	if (j && add_everything(j, r, &err) == 0)
		result = r->json ? report_rank_json(j, &out, &err) : report_rank_text(j, &out, &err);
	job_close(j);
	kn_free(kn);
	if (result != 0) {
		text_free(&out);
		return talk_complain(&err);
	}
	return print(&out, r->json);
}

/* ---- list, jobs, report ------------------------------------------------------------------------------ */

static int list_kind(const char *what, enum report_list *out)
{
	static const char *const names[] = {"machines", "symptoms", "checks", "suspects"};

	for (int i = 0; i < 4; i++)
		if (strcmp(what, names[i]) == 0) {
			*out = (enum report_list)i;
			return 0;
		}
	return -1;
}

int talk_list(const char *what, const char *trees, const char *machine, bool json)
{
	struct hs_err err = {0};
	struct text out = {0};
	struct kn_knowledge *kn = NULL;
	enum report_list kind;
	int result = -1;

	if (list_kind(what, &kind) < 0)
		err_set(&err, HS_BAD_INPUT, "There is no list \"%s\": machines, symptoms, checks or "
			"suspects.", what);
	else if (kind == REPORT_MACHINES || (kn = kn_load(trees, machine, &err)))
		result = report_list(kind, kn, trees, json, &out, &err);
	kn_free(kn);
	if (result != 0) {
		text_free(&out);
		return talk_complain(&err);
	}
	return print(&out, json);
}

static const char *folder_or_default(const char *dir, char *buffer, int size)
{
	if (dir)
		return dir;
	job_default_dir(buffer, size);
	return buffer;
}

/* Is it to be listed? Jobs whose day has come, and jobs that mention a word. */
static bool listed(const char *dir, const struct job_summary *s, const char *word, bool due)
{
	struct job *j;
	bool mentioned;

	if (due && (!s->due[0] || job_day_start(s->due) > (long long)time(NULL)))
		return false;
	if (!word)
		return true;
	j = job_read(dir, s->id, NULL, NULL);
	mentioned = j && job_mentions(j, word);
	job_close(j);
	return mentioned;
}

static void list_job(struct text *out, const struct job_summary *s)
{
	time_t changed = (time_t)s->changed;
	struct tm tm;
	char when[32];

	strftime(when, sizeof when, "%Y-%m-%d %H:%M", localtime_r(&changed, &tm));
	text_addf(out, "%-24s %s  %s%s%s\n    %s\n", s->id, when, s->state,
		  s->due[0] ? ", look again on " : "", s->due,
		  s->complaint[0] ? s->complaint : "(no complaint)");
}

static void line_job(struct text *out, const char *dir, const char *id)
{
	struct job *j = job_read(dir, id, NULL, NULL);

	if (j)
		report_job_line(j, out);
	job_close(j);
}

int talk_jobs(const char *dir, const char *word, bool due, bool json)
{
	char folder[4096];
	struct job_summary *jobs = NULL;
	struct hs_err err = {0};
	struct text out = {0};
	int n, shown = 0;

	dir = folder_or_default(dir, folder, sizeof folder);
	n = job_list(dir, &jobs, &err);
	if (n < 0)
		return talk_complain(&err);
	for (int i = 0; i < n; i++) {
		if (!listed(dir, &jobs[i], word, due))
			continue;
		shown++;
		if (json)
			line_job(&out, dir, jobs[i].id);
		else
			list_job(&out, &jobs[i]);
	}
	if (shown == 0 && !json)
		text_addf(&out, n == 0 ? "No jobs in %s.\n" : "None of the jobs in %s.\n", dir);
	mem_free(jobs);
	return print(&out, json);
}

static int newest(const char *dir, char id[65], struct hs_err *err)
{
	struct job_summary *jobs = NULL;
	int n = job_list(dir, &jobs, err);

	if (n > 0)
		strcpy(id, jobs[0].id);
	else
		err_set(err, HS_NOT_FOUND, "There is no job in %s.", dir);
	mem_free(jobs);
	return n > 0 ? 0 : -1;
}

int talk_report(const char *trees, const char *dir, const char *id, enum talk_form form)
{
	char folder[4096], name[65] = "", machine[65], digest[17];
	struct hs_err err = {0};
	struct text out = {0}, figures = {0};
	struct kn_knowledge *kn = NULL;
	struct job *j = NULL;
	long recovered;
	int result = -1;

	dir = folder_or_default(dir, folder, sizeof folder);
	if (id && strlen(id) < sizeof name)
		strcpy(name, id);
	else if (id)
		err_set(&err, HS_NOT_FOUND, "There is no job \"%s\".", id);
	if (err.code == HS_OK && (*name || newest(dir, name, &err) == 0) &&
	    job_peek(dir, name, machine, digest, &err) == 0 &&
	    (kn = talk_load(trees, machine, dir, &err)) && (j = job_open(dir, name, kn, &recovered, &err)) &&
	    manual_apply(trees, dir, j, &kn, &figures, &err) == 0)
		result = form == TALK_HTML   ? report_html(j, &out, &err)
			 : form == TALK_JSON ? report_json(j, &out, &err)
					     : report_text(j, &out, &err);
	job_close(j);
	kn_free(kn);
	text_free(&figures);
	if (result != 0) {
		text_free(&out);
		if (err.code == HS_NOT_FOUND)
			err.code = HS_BAD_JOB;
		return talk_complain(&err);
	}
	return print(&out, form != TALK_TEXT_FORM);
}
