/* A figure out of a manual, as it is typed: a nominal with its tolerance, a band, or one limit.
 *
 *     2.8 +- .3 ohm      2.5 to 3.1 ohm      at least 800 kPa      at most 2 mA
 *     2.8 ohm +- 10 %    2.5-3.1             > 800 kPa             < 2 mA
 *     2.8 ohm at 25 degC
 *
 * The numbers are those of the grammar in docs/reading.md; a unit typed once counts for both. */
#ifndef READING_FIGURE_H
#define READING_FIGURE_H

#include "base/err.h"
#include "base/text.h"
#include "reading/unit.h"

struct rd_figure {
	double nominal;         /* NAN: a band or a limit */
	double low, high;       /* -/+INFINITY where there is no limit */
	double at_degC;         /* NAN: not said */
	bool assumed;           /* no tolerance was typed: RD_FIGURE_ASSUMED taken */
};

/* Share of a nominal that counts as its tolerance when the manual gives none. Common practice, no
 * source. */
#define RD_FIGURE_ASSUMED .1

/* In `unit`. 0, or -1 with err saying what to type instead. */
int rd_figure_parse(enum rd_unit unit, const char *typed, struct rd_figure *out, struct hs_err *err);

/* "2.8 +- 0.3 ohm", "2.5 to 3.1 ohm", "at least 800 kPa", with " at 25 degC": can be parsed again. */
void rd_figure_format(struct text *t, const struct rd_figure *f, enum rd_unit unit);

#endif
