/* `halfsplit chart`: the advice for one complaint, compiled for the wall or the van. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "report/chart.h"
#include "talk/inner.h"
#include "talk/talk.h"

static void progress(void *about, int steps, double share_done)
{
	(void)about;
	fprintf(stderr, "\r%3.0f %%, %d steps ", 100 * share_done, steps);
	fflush(stderr);
}

/* A whole number or a share in percent within limits, -1 else. */
static double figure(const char *typed, double least, double most)
{
	char *end;
	double x = strtod(typed, &end);

	return end != typed && *end == '\0' && x >= least && x <= most ? x : -1;
}

static int settings_from(const struct talk_chart *c, struct pl_chart_settings *s, struct hs_err *err)
{
	*s = pl_chart_settings_default();
	if (c->depth) {
		s->depth = (int)figure(c->depth, 1, 30);
		if (s->depth < 0)
			return err_set(err, HS_BAD_INPUT, "--depth is a number of steps, 1 to 30.");
	}
	if (c->least) {
		s->least = figure(c->least, .01, 50) / 100;
		if (s->least < 0)
			return err_set(err, HS_BAD_INPUT, "--least is a share in percent, 0.01 to 50.");
	}
	if (isatty(STDERR_FILENO))
		s->progress = progress;
	return 0;
}

static int symptom_named(const struct kn_knowledge *kn, const char *name)
{
	for (int i = 0; i < kn->nsymptoms; i++)
		if (strcmp(kn->checks[kn->symptoms[i]].id, name) == 0)
			return kn->symptoms[i];
	return KN_NONE;
}

static int print(const struct report_chart *c, bool html, struct hs_err *err)
{
	struct text page = {0};
	struct talk_out out;

	if (html && report_chart_html(c, &page, err) < 0) {
		text_free(&page);
		return -1;
	}
	if (html)
		fputs(text_str(&page), stdout);  /* the page is made harmless where it is made */
	else {
		report_chart_text(c, &page);
		out_start(&out, stdout);
		out_lines(&out, text_str(&page));
	}
	text_free(&page);
	return fflush(stdout) == 0 && !ferror(stdout)
		       ? 0 : err_set(err, HS_IO, "The output could not be written.");
}

int talk_chart(const struct talk_chart *c, const struct talk_options *o)
{
	struct pl_chart_settings settings;
	struct report_chart chart;
	struct hs_err err = {0};
	struct kn_knowledge *kn = NULL;
	int symptom, result = -1;

	if (settings_from(c, &settings, &err) == 0)
		kn = kn_load(o->trees, o->machine, &err);
	symptom = kn ? symptom_named(kn, c->symptom) : KN_NONE;
	if (kn && symptom == KN_NONE)
		err_set(&err, HS_NOT_FOUND, "There is no symptom \"%s\" on %s; `halfsplit list symptoms` "
			"shows them.", c->symptom, kn->machine);
	if (symptom != KN_NONE && report_chart_make(kn, symptom, o->rates, &settings, &chart, &err) == 0) {
		if (settings.progress)
			fputs("\r                      \r", stderr);
		result = print(&chart, c->html, &err);
		report_chart_free(&chart);
	}
	kn_free(kn);
	return result == 0 ? TALK_DONE : talk_complain(&err);
}
