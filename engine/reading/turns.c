#include "reading/turns.h"

#include <math.h>
#include <stdlib.h>

int rd_eighths(double turns) { return (int)lround(8 * turns); }

double rd_eighths_turns(int eighths) { return eighths / 8.0; }

void rd_eighths_format(struct text *t, int eighths)
{
	int whole = abs(eighths) / 8, part = abs(eighths) % 8, bottom = 8;

	for (; part && part % 2 == 0; part /= 2)
		bottom /= 2;
	if (eighths < 0)
		text_add(t, "-");
	if (whole || !part)
		text_addf(t, "%d%s", whole, part ? " " : "");
	if (part)
		text_addf(t, "%d/%d", part, bottom);
}

int rd_screw_richer(enum rd_screw type, int eighths_out)
{
	int sign = (eighths_out > 0) - (eighths_out < 0);

	return type == RD_SCREW_FUEL ? sign : -sign;
}

bool rd_seat_counts_agree(int eighths, int again) { return abs(eighths - again) <= 1; }
