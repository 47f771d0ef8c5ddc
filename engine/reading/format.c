#include <math.h>
#include <stdio.h>

#include "reading/reading.h"

static int decimals(double value, double u)
{
	int d;

	if (!(u > 0) || !isfinite(u))
		return fabs(value) >= 100 ? 0 : fabs(value) >= 10 ? 1 : 2;
	d = (int)ceil(-log10(u) - 1e-9); /* the first digit the uncertainty touches */
	if (fabs(value) < 1 && d < 2)
		d = 2;
	return d < 0 ? 0 : d > 6 ? 6 : d;
}

void rd_format(struct text *t, enum rd_kind kind, double value, double u, enum rd_unit unit)
{
	const char *name = rd_unit_name(unit);

	if (kind == RD_OPEN)
		text_addf(t, "open");
	else if (kind == RD_SHORT)
		text_addf(t, "short");
	else
		text_addf(t, "%.*f%s%s", decimals(value, u), value, *name ? " " : "", name);
}

const char *rd_verdict_words(enum rd_verdict v)
{
	static const char *const words[] = { "no band", "inside", "outside", "too close to say" };

	return words[v];
}

static const char *const derive[RD_DERIVE_COUNT] = { "as-read", "each", "spread", "least-over-most",
						     "each-over-highest" };

const char *rd_derive_name(enum rd_derive d) { return derive[d]; }

bool rd_derive_by_name(const char *name, enum rd_derive *out)
{
	for (int i = 0; i < RD_DERIVE_COUNT; i++) {
		const char *a = name, *b = derive[i];

		while (*a && *a == *b) {
			a++;
			b++;
		}
		if (*a == *b) {
			*out = (enum rd_derive)i;
			return true;
		}
	}
	return false;
}
