/* Words several reports share. */
#ifndef REPORT_WORDS_H
#define REPORT_WORDS_H

#include "report/report.h"

/* "float needle worn, carburettor: which one not known yet". */
void words_line(struct text *t, const struct kn_knowledge *kn, const struct su_line *l);
/* " 63 %  title", wrapped to 80 columns. */
void words_share(struct text *out, double p, const char *title);
/* How much of what may be wrong was not looked at. */
void words_not_examined(struct text *out, double left_out);
/* "carburettor 1 or all of them", "which carburettor: not known yet" of a line that is undecided. */
void words_which(struct text *t, const struct kn_knowledge *kn, const struct su_line *l);
const char *words_place(const struct kn_knowledge *kn, int kind, int place); /* "" for none */
/* The unit of the check's own figure, or of one in a list. */
enum rd_unit words_unit(const struct kn_reading *r, bool listed);
const char *words_step_id(const struct kn_knowledge *kn, const struct pl_step *s);
const char *words_step_title(const struct kn_knowledge *kn, const struct pl_step *s);
/* ", carburettor 2"; nothing where there is no place. */
void words_at(struct text *t, const struct kn_knowledge *kn, int kind, int place);
/* "2026-11-25 13:30 UTC" */
void words_day(struct text *t, long long when);
/* "Told: stood for months; air 12 degC."; nothing when nothing was told. */
void words_told(struct text *t, const struct job_view *v);
/* "3.30 ohm as shown, 3.0 ohm corrected (u 0.02): inside" */
void words_value(struct text *t, enum rd_kind kind, double raw, double value, double u,
		 enum rd_verdict verdict, double p_inside, enum rd_unit unit);
/* "; limit 2 to 4 ohm"; nothing when there is no limit. */
void words_limit(struct text *t, const struct kn_reading *r, bool listed);
/* What an event says that is neither an answer nor a repair; nothing for others. */
void words_event(struct text *t, const struct kn_knowledge *kn, const struct job_event *e);
bool words_answered_after(const struct job_view *v, int check, int event);

#define WORDS_CAUTIONS_MOST 64

/* Adds cautions to out[0..n), each text once, at most `most`; returns the new n.  Those of a path: of
 * opening an access state and what leads to it. */
int words_add_cautions(const struct kn_caution *list, int nlist, const struct kn_caution **out, int n,
		       int most);
int words_add_path(const struct kn_knowledge *kn, int access, const struct kn_caution **out, int n, int most);
/* Gravest first, else as they stand. */
void words_sort_cautions(const struct kn_caution **out, int n);

/* Cautions of the work done, each text once, the gravest first; returns how many are in out. */
int words_cautions(const struct job_view *v, const struct kn_caution **out, int most);

/* A setting (settings.c): what it must come to; whether what was typed does, RD_NO_BAND when it cannot be
 * judged; what is shown for it, `never` when it was not asked for. */
void words_setting_limit(struct text *t, const struct job_view *v, const struct job_setting *s);
enum rd_verdict words_setting_verdict(const struct job_view *v, const struct job_setting *s,
				      const char *typed);
const char *words_setting(const char *text, bool asked, const char *never);

#endif
