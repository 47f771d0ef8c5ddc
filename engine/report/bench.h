/* What came of a bench run, shared by the sheets. */
#ifndef REPORT_BENCH_H
#define REPORT_BENCH_H

#include "report/words.h"

/* BENCH_RENEW: what to do about what failed, as far as the suspects say. */
enum bench_list { BENCH_PASSED, BENCH_FAILED, BENCH_RENEW, BENCH_AGAIN, BENCH_NOT_DONE, BENCH_LISTS };
const char *bench_heading(enum bench_list list);
/* Calls `each` with every line of a list; returns how many there are. */
int bench_lines(const struct job_view *v, enum bench_list list, void (*each)(void *to, const char *line),
		void *to);
bool bench_is_one(const struct job_view *v);   /* no complaint */

#endif
