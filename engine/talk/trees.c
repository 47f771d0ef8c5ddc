/* Commands about the trees themselves: lint, show. */
#include <stdio.h>
#include <string.h>

#include "base/mem.h"
#include "report/apart.h"
#include "report/lint.h"
#include "report/show.h"
#include "talk/inner.h"
#include "talk/talk.h"

/* Prints and frees. */
static int print_text(struct text *t)
{
	struct talk_out out;

	out_start(&out, stdout);
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
	status = print_text(&out);
	return status == TALK_DONE && faults > 0 ? TALK_NO_ANSWER : status;
}

int talk_show(const char *symptom, const char *trees, const char *machine, bool dot)
{
	struct hs_err err = {0};
	struct text out = {0};
	struct kn_knowledge *kn = kn_load(trees, machine, &err);
	int check = KN_NONE, result = -1;

	for (int i = 0; kn && i < kn->nsymptoms; i++)
		if (strcmp(kn->checks[kn->symptoms[i]].id, symptom) == 0)
			check = kn->symptoms[i];
	if (check != KN_NONE)
		result = report_show(kn, check, dot ? SHOW_DOT : SHOW_TEXT, &out, &err);
	else if (kn)
		err_set(&err, HS_NOT_FOUND,
			"There is no symptom \"%s\" on %s; `halfsplit list symptoms` shows "
			"them.",
			symptom, kn->machine);
	kn_free(kn);
	if (result != 0) {
		text_free(&out);
		return talk_complain(&err);
	}
	return print_text(&out);
}
