/* Words several reports share. */
#ifndef REPORT_WORDS_H
#define REPORT_WORDS_H

#include "report/report.h"

/* "float needle worn, carburettor: which one not known yet". */
void words_line(struct text *t, const struct kn_knowledge *kn, const struct su_line *l);
/* " 63 %  title", wrapped to 80 columns. */
void words_share(struct text *out, double p, const char *title);
const char *words_place(const struct kn_knowledge *kn, int kind, int place); /* "" for none */
/* The unit of the check's own figure, or of one in a list. */
enum rd_unit words_unit(const struct kn_reading *r, bool listed);
const char *words_step_id(const struct kn_knowledge *kn, const struct pl_step *s);
const char *words_step_title(const struct kn_knowledge *kn, const struct pl_step *s);

#endif
