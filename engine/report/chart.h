/* A decision chart of one symptom: as text for 80 columns, as a page with a drawing. */
#ifndef REPORT_CHART_H
#define REPORT_CHART_H

#include "base/text.h"
#include "plan/chart.h"

struct report_chart {
	const struct kn_knowledge *kn;
	int symptom;                    /* a check of kind KN_SYMPTOM */
	const char *rates;
	const int *holds; int nholds;   /* in force from the start */
	struct pl_chart chart;
};

/* Compiles the chart for the complaint alone, all tools there.  rates: NULL for the workshop's. */
int report_chart_make(const struct kn_knowledge *kn, int symptom, const char *rates,
		      const struct pl_chart_settings *settings, struct report_chart *out,
		      struct hs_err *err);
void report_chart_free(struct report_chart *c);
void report_chart_text(const struct report_chart *c, struct text *out);
int report_chart_html(const struct report_chart *c, struct text *out, struct hs_err *err);

#endif
