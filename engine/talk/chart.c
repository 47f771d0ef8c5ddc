/* `halfsplit chart`: the advice for one complaint, compiled for the wall or the van. */
#include <stdio.h>
#include <stdlib.h>
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

/* What was typed when it is within limits, -1 else. */
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

int talk_chart(const struct talk_chart *c, const struct talk_options *o)
{
	struct pl_chart_settings settings;
	struct report_chart chart;
	struct text out = {0};
	struct hs_err err = {0};
	struct kn_knowledge *kn = NULL;
	int symptom, result = -1;

	if (settings_from(c, &settings, &err) == 0)
		kn = kn_load(o->trees, o->machine, &err);
	symptom = kn ? talk_symptom_named(kn, c->symptom, &err) : KN_NONE;
	if (symptom != KN_NONE && report_chart_make(kn, symptom, o->rates, &settings, &chart, &err) == 0) {
		if (settings.progress)
			fputs("\r                      \r", stderr);
		if (c->html)
			result = report_chart_html(&chart, &out, &err);
		else {
			report_chart_text(&chart, &out);
			result = 0;
		}
		report_chart_free(&chart);
	}
	kn_free(kn);
	if (result == 0)
		return talk_print(&out, c->html);
	text_free(&out);
	return talk_complain(&err);
}
