/* Units a check may speak and an answer may carry, with factors to SI (NIST SP 811 App. B). */
#ifndef READING_UNIT_H
#define READING_UNIT_H

#include <stdbool.h>

enum rd_unit {
	RD_NO_UNIT = 0, /* a plain number or a ratio */
	RD_OHM, RD_KILOHM, RD_MEGOHM, RD_VOLT, RD_MILLIVOLT, RD_AMPERE, RD_MILLIAMPERE,
	RD_MM, RD_INCH, RD_METRE, RD_KILOMETRE,
	RD_KPA, RD_BAR, RD_PSI, RD_MMHG, RD_CMHG, RD_INHG, RD_KGF_PER_CM2, RD_MMH2O, RD_INH2O,
	RD_RPM, RD_SECOND, RD_MINUTE, RD_DAY, RD_MONTH,
	RD_ML, RD_LITRE, RD_FLOZ, RD_ML_PER_MIN, RD_DEGC, RD_DEGF, RD_DEGREE, RD_TURN,
	RD_PERCENT, RD_GRAM, RD_NEWTON_METRE, RD_FOOT_POUND, RD_INCH_POUND, RD_KGF_METRE, RD_UNIT_COUNT
};

/* Every unit belongs to one quantity; only units of one quantity convert into each other. */
const char *rd_unit_name(enum rd_unit u);             /* "ohm", "kPa", "" */
bool rd_unit_by_name(const char *name, enum rd_unit *out); /* names and common spellings */
bool rd_unit_convertible(enum rd_unit from, enum rd_unit to);
double rd_unit_convert(double value, enum rd_unit from, enum rd_unit to); /* NAN if not convertible */

#endif
