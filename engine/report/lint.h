/* Judging trees that load: what no check can find, what contradicts itself, what is missing.
 *
 * The loader's errors come first and stop everything; what is said here is about trees that load.
 * A fault must be mended (exit status 1), a remark is for whoever writes the trees to weigh. */
#ifndef REPORT_LINT_H
#define REPORT_LINT_H

#include "base/text.h"
#include "knowledge/knowledge.h"

enum lint_grade { LINT_FAULT, LINT_REMARK };

/* about: the check or remedy, when another machine of the folder may do without the finding: then it
 * comes of a figure this one lacks, and is a remark.  Borrowed from the knowledge; NULL otherwise. */
struct lint_finding { enum lint_grade grade; const char *rule, *about; char text[320]; };
struct lint { int n, cap, nfaults; struct lint_finding *finding; };

/* rule is a literal: "no-cause", "not-reached" ... (docs/diagnosability.md lists them). */
void lint_add(struct lint *l, enum lint_grade grade, const char *rule, const char *format, ...)
	__attribute__((format(printf, 4, 5)));
void lint_fault_about(struct lint *l, const char *rule, const char *id, const char *kind,
		      const char *what);
void lint_free(struct lint *l);

void lint_machine(struct lint *l, const struct kn_knowledge *kn); /* lint.c: all of a machine's */
void lint_words(struct lint *l, const struct kn_knowledge *kn);	  /* lint_words.c: its texts */
/* Names of files under path that nothing uses, and names no machine uses. -1 with err. */
int lint_names(struct lint *l, const char *path, struct hs_err *err); /* lint_names.c */

/* Everything about a file or folder, every machine in it; lines of 80 columns. The number of
 * faults, or -1 with err when the trees do not load. */
int report_lint(const char *path, struct text *out, struct hs_err *err);

#endif
