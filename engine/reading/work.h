/* The arithmetic of the workshop by itself: one line in, one line out, no job and no machine.
 *
 *   leak-down 700 595           -> "15 %"
 *   parallel 100+-1 150+-2      -> "60.0 ohm, u 0.48"
 *
 * A line is the name of a sum and its figures, each typed as any reading is (unit, comma, letter
 * code, OL).  A figure may carry its standard uncertainty behind +- ; then the result has one too
 * (JCGM 100 5.1.2, sensitivities by small steps, 5.1.4; figures independent). */
#ifndef READING_WORK_H
#define READING_WORK_H

#include <stdbool.h>

#include "base/err.h"
#include "base/text.h"

/* Adds the result to `out`; -1 with err set when the line is not understood. */
int rd_work(const char *line, struct text *out, struct hs_err *err);

/* The sums there are, for a list: "leak-down", "IN HELD", "percent lost of what went in"; false after
 * the last. */
bool rd_work_usage(int i, const char **name, const char **takes, const char **meaning);

#endif
