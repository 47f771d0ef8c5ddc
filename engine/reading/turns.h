/* Screws counted in eighths of a turn, as found, set and trimmed.  Common practice, no source. */
#ifndef READING_TURNS_H
#define READING_TURNS_H

#include <stdbool.h>

#include "base/text.h"

enum rd_screw { RD_SCREW_FUEL, RD_SCREW_AIR };

int rd_eighths(double turns);                     /* nearest eighth; halves away from zero */
double rd_eighths_turns(int eighths);
void rd_eighths_format(struct text *t, int eighths); /* "2 3/8", "-1/8", "0" */

/* +1: turning the screw out by these eighths makes richer, -1 leaner, 0 neither. */
int rd_screw_richer(enum rd_screw type, int eighths_out);

/* Two counts to lightly seated must agree to an eighth: more, and one was seated hard. */
bool rd_seat_counts_agree(int eighths, int again);

#endif
