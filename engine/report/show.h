/* The fault tree of a symptom: as text for a screen of 80 columns, as a DOT graph, as an HTML page with a
 * drawing, or its figures (minimal cut sets, probability, importance). */
#ifndef REPORT_SHOW_H
#define REPORT_SHOW_H

#include "base/text.h"
#include "job/job.h"
#include "knowledge/knowledge.h"

enum show_form { SHOW_TEXT, SHOW_DOT, SHOW_HTML, SHOW_FIGURES };

/* symptom: a check of kind KN_SYMPTOM. "Now" is what the job makes of the frequencies; without one
 * (NULL), what the complaint alone does. */
int report_show(const struct kn_knowledge *kn, int symptom, struct job *job, enum show_form form,
		struct text *out, struct hs_err *err);

#endif
