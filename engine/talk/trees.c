/* Commands about the trees themselves: lint, show. */
#include <stdio.h>
#include <string.h>

#include "base/mem.h"
#include "report/apart.h"
#include "report/lint.h"
#include "report/show.h"
#include "talk/inner.h"
#include "talk/talk.h"

int talk_print(struct text *t, bool page)
{
	struct talk_out out;

	out_start(&out, stdout);
	if (page)
		fputs(text_str(t), stdout); /* made harmless where it is made */
	else
		out_lines(&out, text_str(t));
	text_free(t);
	if (fflush(stdout) == 0 && !ferror(stdout))
		return TALK_DONE;
	fprintf(stderr, "halfsplit: The output could not be written.\n");
	return TALK_IO;
}

int talk_lint(const char *path, bool figures)
{
	struct hs_err err = {0};
	struct text out = {0};
	int faults = figures ? report_figures(path, &out, &err) : report_lint(path, &out, &err),
	    status;

	if (faults < 0) {
		text_free(&out);
		return talk_complain(&err);
	}
	status = talk_print(&out, false);
	return status == TALK_DONE && faults > 0 ? TALK_NO_ANSWER : status;
}

/* The job that is named, read only, with its knowledge in *kn; NULL with err. */
static struct job *job_named(const char *id, const struct talk_options *o, struct kn_knowledge **kn,
			     struct hs_err *err)
{
	char folder[4096], machine[65], digest[17];
	const char *dir = o->job_dir;
	struct text figures = {0};
	struct job *j = NULL;

	if (!dir) {
		job_default_dir(folder, sizeof folder);
		dir = folder;
	}
	if (job_peek(dir, id, machine, digest, err) == 0)
		*kn = talk_load(o->trees, machine, dir, err);
	if (*kn)
		j = job_read(dir, id, *kn, err);
	if (j && manual_apply(o->trees, dir, j, kn, &figures, err) < 0) {
		job_close(j);
		j = NULL;
	}
	if (!j && err->code == HS_NOT_FOUND)
		err->code = HS_BAD_JOB;
	text_free(&figures);
	return j;
}

int talk_symptom_named(const struct kn_knowledge *kn, const char *symptom, struct hs_err *err)
{
	struct talk_choice *c = mem_array((size_t)kn->nsymptoms + 1, sizeof *c);
	int found = KN_NONE;
	const char *near;

	for (int i = 0; i < kn->nsymptoms; i++) {
		const struct kn_check *s = &kn->checks[kn->symptoms[i]];
		c[i] = (struct talk_choice){s->id, s->title};
		if (strcmp(s->id, symptom) == 0)
			found = kn->symptoms[i];
	}
	if (found == KN_NONE) {
		near = choose_near(c, kn->nsymptoms, symptom);
		err_set(err, HS_NOT_FOUND,
			"There is no symptom \"%s\" on %s; `halfsplit list symptoms` shows them.%s%s%s", symptom,
			kn->machine, near ? " Did you mean " : "", near ? near : "", near ? "?" : "");
	}
	mem_free(c);
	return found;
}

int talk_show(const char *symptom, const char *job, const struct talk_options *o, enum talk_drawing form)
{
	static const enum show_form forms[] = {[TALK_DRAWN] = SHOW_TEXT, [TALK_DOT] = SHOW_DOT,
					       [TALK_PAGE] = SHOW_HTML, [TALK_FIGURES] = SHOW_FIGURES};
	struct hs_err err = {0};
	struct text out = {0};
	struct kn_knowledge *kn = NULL;
	struct job *j = NULL;
	int check = KN_NONE, result = -1;

	if (job)
		j = job_named(job, o, &kn, &err);
	else
		kn = kn_load(o->trees, o->machine, &err);
	if (kn && err.code == HS_OK)
		check = talk_symptom_named(kn, symptom, &err);
	if (check != KN_NONE)
		result = report_show(kn, check, j, forms[form], &out, &err);
	job_close(j);
	kn_free(kn);
	if (result != 0) {
		text_free(&out);
		return talk_complain(&err);
	}
	return talk_print(&out, form == TALK_PAGE);
}
