/* What leaves the program: the job sheet as text, HTML and JSON, the ranking as JSON, lists. Returns text only. */
#ifndef REPORT_REPORT_H
#define REPORT_REPORT_H

#include "job/job.h"

/* Job sheet, 80 columns: machine, complaint, readings raw and corrected with verdicts, suspects,
 * what was opened, done and fitted, settings found and left, verification, cautions, open ends. */
int report_text(struct job *j, struct text *out, struct hs_err *err);

/* The same and more for the customer and the file: one HTML page without scripts or anything fetched,
 * readings drawn against their bands, the suspects as they moved. Prints on A4, reads on a phone. */
int report_html(struct job *j, struct text *out, struct hs_err *err);
/* The same for other programs. */
int report_json(struct job *j, struct text *out, struct hs_err *err);

/* One job as one line of JSON, from its events alone (job_read()): for a shop's own books. */
void report_job_line(const struct job *j, struct text *out);

/* What came of a bench run: passed, failed, to renew, to measure again, not done. */
int report_bench(struct job *j, struct text *out, struct hs_err *err);

/* halfsplit rank --json: suspects, left_out, evidence, next, others. */
int report_rank_json(struct job *j, struct text *out, struct hs_err *err);
/* The same for a person. */
int report_rank_text(struct job *j, struct text *out, struct hs_err *err);

enum report_list { REPORT_MACHINES, REPORT_SYMPTOMS, REPORT_CHECKS, REPORT_SUSPECTS };
/* kn may be NULL for machines only; dir is the trees folder. */
int report_list(enum report_list what, const struct kn_knowledge *kn, const char *dir, bool json,
		struct text *out, struct hs_err *err);

/* Settings side by side: as found, as left, the limit, and how they stand.  Nothing when there are none. */
void report_settings(const struct job_view *v, struct text *out);

#endif
