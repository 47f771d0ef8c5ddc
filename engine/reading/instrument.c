/* What instruments of a class are good for: half-widths of accuracy.  Common practice, no source;
 * invented presets in the form makers print them, percent of reading plus digits. */
#include <math.h>
#include <string.h>

#include "reading/reading.h"

static const struct rd_instrument preset[] = {
	{ "cheap-meter", "cheap multimeter", 1.5, 5, .1 },
	{ "good-meter", "good multimeter", .5, 2, .01 },
	{ "clamp-meter", "clamp meter", 3, 3, .1 },
	{ "meter-ratio", "ratio of two readings of one meter", .2, 2, .001 },
	{ "vernier", "vernier caliper", 0, 1, .05 },
	{ "dial-gauge", "dial gauge", 0, 1, .01 },
	{ "feeler", "feeler gauge", 0, 1, .025 },
	{ "feeler-gauge", "feeler gauge", 0, 1, .025 },
	{ "rule", "steel rule", 0, .5, 1 },
	{ "clear-tube", "clear tube and rule", 0, .5, 1 },
	{ "vacuum-gauge", "vacuum gauge", 1.5, .5, 5 },
	{ "vacuum-gauges", "set of vacuum gauges", 1.5, .5, 5 },
	{ "vacuum-column", "vacuum columns", 1, .5, 5 },
	{ "vacuum-pump-gauge", "hand vacuum pump with gauge", 3, .5, 10 },
	{ "pressure-gauge", "pressure gauge", 2, .5, 10 },
	{ "compression-gauge", "compression gauge", 2, .5, 10 },
	{ "stopwatch", "stopwatch", 0, 1, .3 },
	{ "measuring-cup", "measuring cup", 2, .5, 10 },
	{ "contact-thermometer", "contact thermometer", 1, 1, 1 },
	{ "ir-thermometer", "infra-red thermometer", 2, 2, 1 },
	{ "thermometer", "thermometer", 0, 1, 1 },
	{ "tachometer", "tachometer", 1, 1, 10 },
	{ "timing-light", "timing light", 0, 1, 1 },
	{ "exhaust-analyser", "exhaust gas analyser", 5, 1, .1 },
	{ "peak-adaptor", "meter with peak adaptor", 5, 2, .1 },
	{ "scale", "kitchen scale", .5, 1, 1 },
	{ "eye", "by eye", 0, .5, 1 },
};

int rd_instrument_count(void) { return (int)(sizeof preset / sizeof *preset); }

const struct rd_instrument *rd_instrument_at(int i)
{
	return i >= 0 && i < rd_instrument_count() ? &preset[i] : NULL;
}

const struct rd_instrument *rd_instrument_by_id(const char *id)
{
	for (int i = 0; i < rd_instrument_count(); i++)
		if (strcmp(preset[i].id, id) == 0)
			return &preset[i];
	return NULL;
}

/* JCGM 100 4.3.7: a half-width without further knowledge is rectangular, u = a / sqrt 3. */
double rd_instrument_u(const struct rd_instrument *m, double value, double resolution,
		       double repeatability)
{
	double digit, half;

	if (!m)
		return repeatability;
	digit = resolution > 0 ? resolution : m->least_count;
	half = m->percent / 100 * fabs(value) + m->digits * digit;
	return sqrt(half * half / 3 + repeatability * repeatability);
}
