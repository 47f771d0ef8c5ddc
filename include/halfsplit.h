/* halfsplit as a library: one machine, one job in memory, answers in, suspects and advice out.
 *
 * Link with libhalfsplit.a, libxml2 and libm.  Nothing here prints, reads the terminal or leaves the
 * program.  Names are the ids of the trees (docs/trees.md); `halfsplit list` shows them.
 *
 *	struct hs *h = hs_open("trees", "four");
 *	if (hs_complain(h, "flooding") < 0 || hs_answer(h, "fuel-level", "2", "8.5 mm", 0) < 0)
 *		fprintf(stderr, "%s\n", hs_error(h));
 *	else
 *		puts(hs_rank_json(h));
 *	hs_free(h);
 *
 * A handle may be used by one thread at a time. */
#ifndef HALFSPLIT_H
#define HALFSPLIT_H

#ifdef __cplusplus
extern "C" {
#endif

struct hs;

/* Loads the trees (a folder or one file) for a machine; NULL: the only one there is.  Always returns
 * a handle, to be given to hs_free(); when loading failed hs_error() says why, and so does every
 * call after it. */
struct hs *hs_open(const char *trees, const char *machine);
void hs_free(struct hs *h);                    /* NULL is fine */

/* What went wrong in the last call, a whole sentence; NULL when nothing did.  Texts returned here and
 * below belong to the handle and hold until its next call. */
const char *hs_error(const struct hs *h);

/* All of these return 0, or -1 when they changed nothing and hs_error() says why. */
int hs_complain(struct hs *h, const char *symptom);
/* fact: "tool:ID", "history:ID", "circumstance:ID" with yes or no; "altitude" in metres; "air" in
 * degrees Celsius.  Tools never told are taken as there. */
int hs_tell(struct hs *h, const char *fact, const char *value);
/* value as a mechanic would type it: an outcome by id or number, or a reading.  position NULL: the
 * check has none, or they are in the value ("1:dry 2:wet").  flags: */
#define HS_LEADS_UNMEASURED 1                  /* take a low resistance without the meter's leads */
#define HS_SIZE_IS_RIGHT 2                     /* take a figure of an odd size as it stands */
int hs_answer(struct hs *h, const char *check, const char *position, const char *value, int flags);
int hs_skip(struct hs *h, const char *check);  /* cannot be done or is not known; not asked again */
int hs_repaired(struct hs *h, const char *remedy, const char *position);
int hs_undo(struct hs *h);
int hs_redo(struct hs *h);

/* NULL on failure. */
const char *hs_rank_json(struct hs *h);        /* as `halfsplit rank --json` */
const char *hs_report(struct hs *h);           /* the job sheet, 80 columns */
const char *hs_report_html(struct hs *h);      /* the same as one page of HTML, without scripts */
const char *hs_report_json(struct hs *h);      /* as `halfsplit report --json` */

#ifdef __cplusplus
}
#endif

#endif
