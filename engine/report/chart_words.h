/* Words the two writers of a chart share; this room's chart files only. */
#ifndef REPORT_CHART_WORDS_H
#define REPORT_CHART_WORDS_H

#include "report/chart.h"
#include "report/words.h"

/* What the chart promises: expected minutes, what no plan can do better than, the gap. */
void chart_promise(struct text *t, const struct report_chart *c);
/* "Float height, carburettor 2" or the repairs in their order. */
void chart_title(struct text *t, const struct report_chart *c, int node);
/* Minutes, tools, what is likeliest here. */
void chart_detail(struct text *t, const struct report_chart *c, int node);
/* "inside the band (36 %)", "still there (20 %)": the answer that leads to the node. */
void chart_answer(struct text *t, const struct report_chart *c, int node);
/* Its cautions, gravest first; returns how many are in out. */
int chart_cautions(const struct report_chart *c, int node, const struct kn_caution **out, int most);
void chart_minutes(struct text *t, double minutes);

#endif
