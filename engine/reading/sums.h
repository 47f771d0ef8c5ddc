/* The sums of the workshop by name: what each takes and what it gives.  Rules and sources stand with
 * the functions they call. */
#ifndef READING_SUMS_H
#define READING_SUMS_H

#include "base/text.h"
#include "reading/propagate.h"
#include "reading/unit.h"

#define RD_SUM_UNITS 4

struct rd_sum {
	const char *name, *takes, *meaning;
	int least, most;                   /* figures */
	enum rd_unit unit[RD_SUM_UNITS];   /* of each figure; the last one for all that follow */
	rd_function *number;               /* the result, or ... */
	enum rd_unit out;
	/* ... in words; where there are both, the number is for the least figures */
	void (*say)(struct text *t, const double *x, int n);
	rd_function *sense;                /* 0: figures no workshop has; NULL: any will do */
};

int rd_sum_count(void);
const struct rd_sum *rd_sum_at(int i);
const struct rd_sum *rd_sum_by_name(const char *name);

#endif
