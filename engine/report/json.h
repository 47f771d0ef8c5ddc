/* Pieces of JSON that several reports share.  `end` is what follows: ", " or "}". */
#ifndef REPORT_JSON_H
#define REPORT_JSON_H

#include "report/words.h"

void json_key(struct text *t, const char *name);
void json_string(struct text *t, const char *name, const char *value, const char *end); /* "": null */
void json_number(struct text *t, const char *name, double value, const char *end);
void json_flag(struct text *t, const char *name, bool value, const char *end);
/* "2026-11-25T13:30:00Z" */
void json_time(struct text *t, const char *name, long long when, const char *end);

/* Whole members, each with what follows it (rank.c). */
void json_names(struct text *t, const struct job_view *v, const char *which); /* "complaints", "holds" */
void json_suspects(struct text *t, const struct su_suspects *s);
void json_number_of_faults(struct text *t, const struct su_suspects *s);
void json_evidence(struct text *t, const struct job_view *v);
void json_step(struct text *t, const struct kn_knowledge *kn, const struct pl_step *s);

#endif
