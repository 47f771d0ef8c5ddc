#include "reading/unit.h"

#include <ctype.h>
#include <math.h>
#include <string.h>

enum quantity { NONE, OHM, VOLT, AMPERE, LENGTH, PRESSURE, SPEED, TIME, VOLUME, FLOW, TEMPERATURE,
		ANGLE, RATIO, MASS, TORQUE };

/* Factors to the first unit of each quantity.  Conventional inch, psi, mmHg, inHg, inH2O, US fluid ounce,
 * foot-pound: NIST SP 811 (2008) App. B; degree Fahrenheit has an offset as well. */
static const struct { const char *name; enum quantity q; double factor, offset; } unit[RD_UNIT_COUNT] = {
	[RD_NO_UNIT] = { "", RATIO, 1, 0 },
	[RD_OHM] = { "ohm", OHM, 1, 0 },
	[RD_KILOHM] = { "kohm", OHM, 1e3, 0 },
	[RD_MEGOHM] = { "Mohm", OHM, 1e6, 0 },
	[RD_VOLT] = { "V", VOLT, 1, 0 },
	[RD_MILLIVOLT] = { "mV", VOLT, 1e-3, 0 },
	[RD_AMPERE] = { "A", AMPERE, 1, 0 },
	[RD_MILLIAMPERE] = { "mA", AMPERE, 1e-3, 0 },
	[RD_MM] = { "mm", LENGTH, 1e-3, 0 },
	[RD_INCH] = { "in", LENGTH, 25.4e-3, 0 },
	[RD_METRE] = { "m", LENGTH, 1, 0 },
	[RD_KILOMETRE] = { "km", LENGTH, 1e3, 0 },
	[RD_KPA] = { "kPa", PRESSURE, 1, 0 },
	[RD_BAR] = { "bar", PRESSURE, 100, 0 },
	[RD_PSI] = { "psi", PRESSURE, 6.894757293168361, 0 },
	[RD_MMHG] = { "mmHg", PRESSURE, .133322387415, 0 },
	[RD_CMHG] = { "cmHg", PRESSURE, 1.33322387415, 0 },
	[RD_INHG] = { "inHg", PRESSURE, 3.386388640341, 0 },
	[RD_KGF_PER_CM2] = { "kgf/cm2", PRESSURE, 98.0665, 0 },
	[RD_MMH2O] = { "mmH2O", PRESSURE, 9.80665e-3, 0 },
	[RD_INH2O] = { "inH2O", PRESSURE, .24908891, 0 },
	[RD_RPM] = { "rpm", SPEED, 1, 0 },
	[RD_SECOND] = { "s", TIME, 1, 0 },
	[RD_MINUTE] = { "min", TIME, 60, 0 },
	[RD_DAY] = { "day", TIME, 86400, 0 },
	[RD_MONTH] = { "month", TIME, 86400 * 365.25 / 12, 0 },
	[RD_ML] = { "mL", VOLUME, 1, 0 },
	[RD_LITRE] = { "L", VOLUME, 1000, 0 },
	[RD_FLOZ] = { "fl oz", VOLUME, 29.5735295625, 0 },
	[RD_ML_PER_MIN] = { "mL/min", FLOW, 1, 0 },
	[RD_DEGC] = { "degC", TEMPERATURE, 1, 0 },
	[RD_DEGF] = { "degF", TEMPERATURE, 5.0 / 9, -32 * 5.0 / 9 },
	[RD_DEGREE] = { "degree", ANGLE, 1, 0 },
	[RD_TURN] = { "turn", ANGLE, 360, 0 },
	[RD_PERCENT] = { "%", RATIO, .01, 0 },
	[RD_GRAM] = { "g", MASS, 1, 0 },
	[RD_NEWTON_METRE] = { "Nm", TORQUE, 1, 0 },
	[RD_FOOT_POUND] = { "ft-lbf", TORQUE, 1.3558179483314004, 0 },
	[RD_INCH_POUND] = { "in-lbf", TORQUE, .1129848290276167, 0 },
	[RD_KGF_METRE] = { "kgf-m", TORQUE, 9.80665, 0 },
};

/* Other ways people write them; case matters where a letter means two things (m, M). */
static const struct { const char *name; enum rd_unit u; bool exact; } spelling[] = {
	{ "ohms", RD_OHM, false }, { "r", RD_OHM, false }, { "Ω", RD_OHM, true }, { "Ω", RD_OHM, true },
	{ "k", RD_KILOHM, false }, { "kilohm", RD_KILOHM, false }, { "kilohms", RD_KILOHM, false },
	{ "kohms", RD_KILOHM, false }, { "kΩ", RD_KILOHM, true }, { "kΩ", RD_KILOHM, true },
	{ "M", RD_MEGOHM, true }, { "Mohm", RD_MEGOHM, true }, { "meg", RD_MEGOHM, false },
	{ "megohm", RD_MEGOHM, false }, { "megohms", RD_MEGOHM, false }, { "MΩ", RD_MEGOHM, true },
	{ "volt", RD_VOLT, false }, { "volts", RD_VOLT, false }, { "mv", RD_MILLIVOLT, false },
	{ "millivolt", RD_MILLIVOLT, false }, { "millivolts", RD_MILLIVOLT, false },
	{ "amp", RD_AMPERE, false }, { "amps", RD_AMPERE, false }, { "ampere", RD_AMPERE, false },
	{ "ma", RD_MILLIAMPERE, false }, { "milliamp", RD_MILLIAMPERE, false },
	{ "milliamps", RD_MILLIAMPERE, false },
	{ "inch", RD_INCH, false }, { "inches", RD_INCH, false }, { "\"", RD_INCH, true },
	{ "metre", RD_METRE, false }, { "metres", RD_METRE, false }, { "meter", RD_METRE, false },
	{ "meters", RD_METRE, false }, { "kilometre", RD_KILOMETRE, false },
	{ "kilometres", RD_KILOMETRE, false },
	{ "/min", RD_RPM, false }, { "1/min", RD_RPM, false }, { "revs", RD_RPM, false },
	{ "sec", RD_SECOND, false }, { "secs", RD_SECOND, false }, { "second", RD_SECOND, false },
	{ "seconds", RD_SECOND, false }, { "minute", RD_MINUTE, false }, { "minutes", RD_MINUTE, false },
	{ "mins", RD_MINUTE, false }, { "days", RD_DAY, false }, { "d", RD_DAY, false },
	{ "months", RD_MONTH, false }, { "cc", RD_ML, false }, { "cm3", RD_ML, false },
	{ "litre", RD_LITRE, false }, { "litres", RD_LITRE, false }, { "liter", RD_LITRE, false },
	{ "liters", RD_LITRE, false }, { "floz", RD_FLOZ, false }, { "oz", RD_FLOZ, false },
	{ "ml/minute", RD_ML_PER_MIN, false },
	{ "cc/min", RD_ML_PER_MIN, false }, { "c", RD_DEGC, false }, { "°c", RD_DEGC, false },
	{ "°C", RD_DEGC, true }, { "celsius", RD_DEGC, false }, { "f", RD_DEGF, false },
	{ "°F", RD_DEGF, true }, { "fahrenheit", RD_DEGF, false }, { "deg", RD_DEGREE, false },
	{ "degrees", RD_DEGREE, false }, { "°", RD_DEGREE, true }, { "turns", RD_TURN, false },
	{ "t", RD_TURN, false }, { "rev", RD_TURN, false }, { "percent", RD_PERCENT, false },
	{ "pct", RD_PERCENT, false }, { "gram", RD_GRAM, false }, { "grams", RD_GRAM, false },
	{ "mmhg", RD_MMHG, false }, { "kpa", RD_KPA, false },
	{ "kg/cm2", RD_KGF_PER_CM2, false }, { "kg/cm²", RD_KGF_PER_CM2, false },
	{ "kgf/cm²", RD_KGF_PER_CM2, false }, { "mmwg", RD_MMH2O, false }, { "inwg", RD_INH2O, false },
	{ "ft-lb", RD_FOOT_POUND, false }, { "ftlb", RD_FOOT_POUND, false },
	{ "lb-ft", RD_FOOT_POUND, false }, { "lbft", RD_FOOT_POUND, false },
	{ "in-lb", RD_INCH_POUND, false }, { "inlb", RD_INCH_POUND, false },
	{ "lb-in", RD_INCH_POUND, false }, { "kgm", RD_KGF_METRE, false },
	{ "kg-m", RD_KGF_METRE, false }, { "kgfm", RD_KGF_METRE, false },
};

const char *rd_unit_name(enum rd_unit u)
{
	return (unsigned)u < RD_UNIT_COUNT ? unit[u].name : "";
}

static bool same(const char *a, const char *b, bool exact)
{
	for (; *a && *b; a++, b++)
		if (*a != *b && (exact || tolower((unsigned char)*a) != tolower((unsigned char)*b)))
			return false;
	return *a == *b;
}

bool rd_unit_by_name(const char *name, enum rd_unit *out)
{
	for (int exact = 1; exact >= 0; exact--) {
		for (int u = 0; u < RD_UNIT_COUNT; u++)
			if (same(name, unit[u].name, exact) && *name) {
				*out = (enum rd_unit)u;
				return true;
			}
		for (size_t i = 0; i < sizeof spelling / sizeof *spelling; i++)
			if (same(name, spelling[i].name, exact || spelling[i].exact)) {
				*out = spelling[i].u;
				return true;
			}
	}
	return false;
}

bool rd_unit_convertible(enum rd_unit from, enum rd_unit to)
{
	return unit[from].q == unit[to].q;
}

double rd_unit_convert(double value, enum rd_unit from, enum rd_unit to)
{
	if (!rd_unit_convertible(from, to))
		return NAN;
	if (from == to)
		return value;
	return (value * unit[from].factor + unit[from].offset - unit[to].offset) / unit[to].factor;
}
