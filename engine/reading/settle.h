/* A verdict too close to say: what would decide it. */
#ifndef READING_SETTLE_H
#define READING_SETTLE_H

#include "reading/reading.h"

#define RD_SETTLE_READINGS_MAX 10   /* more nobody takes */

enum rd_settle_by {
	RD_SETTLED,            /* nothing to do: inside, outside or no band */
	RD_SETTLE_REPEAT,      /* more readings, typed together */
	RD_SETTLE_LEADS,       /* the leads are what is unknown: measure them, or at the part */
	RD_SETTLE_TEMPERATURE, /* the part's own temperature */
	RD_SETTLE_INSTRUMENT,  /* a better instrument, with `readings` readings */
	RD_SETTLE_NOT          /* it lies at the limit: no reading with these tools decides */
};

struct rd_settle {
	enum rd_settle_by by;
	int readings;          /* in all; 1: one is enough */
	const struct rd_instrument *instrument;
	double u_needed;       /* largest standard uncertainty that decides, were the figure to stay */
	char words[100];       /* "to settle it: 5 readings in all" */
};

/* Cheapest first, in the order above.  Each is worked out as if the figure stayed where it is: parts
 * of the uncertainty are taken out in squares (JCGM 100 5.1.2), repeats by the square root of their
 * number (4.2.3). */
void rd_settle(const struct rd_setup *setup, const struct rd_result *r, struct rd_settle *out);

#endif
