/* The fault tree of a symptom: as text for a screen of 80 columns, and as a DOT graph. */
#ifndef REPORT_SHOW_H
#define REPORT_SHOW_H

#include "base/text.h"
#include "knowledge/knowledge.h"

enum show_form { SHOW_TEXT, SHOW_DOT };

/* symptom: a check of kind KN_SYMPTOM. "Now" is what the complaint alone makes of the frequencies.
 */
int report_show(const struct kn_knowledge *kn, int symptom, enum show_form form, struct text *out,
		struct hs_err *err);

#endif
