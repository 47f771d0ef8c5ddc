/* What went wrong, where, and what to do about it.
 *
 * Every function that can fail on bad input takes an optional struct hs_err.  The first error
 * wins: a vaguer one met on the way out never overwrites it.  Texts are whole sentences for the
 * person at the bike: what, where, what to do; no library wording, no errno numbers. */
#ifndef BASE_ERR_H
#define BASE_ERR_H

enum hs_code {
	HS_OK = 0,
	HS_BAD_INPUT,   /* an answer or an argument that was not understood */
	HS_BAD_TREE,    /* a knowledge file: file and line are set */
	HS_BAD_JOB,     /* a job file */
	HS_IO,          /* the system refused: disk full, no permission ... */
	HS_NOT_FOUND,   /* a name that is not there */
	HS_LIMIT        /* more than the documented limits */
};

struct hs_err {
	enum hs_code code;
	char file[256]; /* empty when no file is concerned */
	int line;       /* 1-based; 0 when unknown */
	char text[640];
};

/* Sets *err unless it is NULL or already holds an error.  Returns -1 so that callers can
 * `return err_set(...)`. */
int err_set(struct hs_err *err, enum hs_code code, const char *format, ...)
	__attribute__((format(printf, 3, 4)));
int err_at(struct hs_err *err, enum hs_code code, const char *file, int line, const char *format,
	   ...) __attribute__((format(printf, 5, 6)));
void err_clear(struct hs_err *err);

#endif
