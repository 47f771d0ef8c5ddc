/* Finding a value again: set, read, move, read ... until it is inside its band and stays there when
 * everything is tight.
 *
 * Readings come one after another, each with how far the thing was moved since the one before (turns
 * of a screw, millimetres of a tab), or NAN when nobody can say (a sensor body nudged round).  A
 * reading taken after tightening shows what tightening shifts; the next aim allows for it. */
#ifndef READING_ADJUST_H
#define READING_ADJUST_H

#include <stdbool.h>

#include "base/err.h"
#include "base/text.h"
#include "reading/reading.h"

#define RD_ADJUST_MAX 64

struct rd_aim {
	double low, high;       /* the band; one side may be infinite */
	double target;          /* what to aim at; NAN: the middle, or the limit where there is one only */
	enum rd_unit unit;
	double u;               /* standard uncertainty of one reading, independent part */
	const char *move;       /* "turn", "mm of tab"; NULL: moves have no measure */
	double fine;            /* the usual small move, in its measure: .25, .1 */
};

struct rd_adjusted {
	double value;
	double moved;           /* since the reading before; NAN: not said; 0 for the first */
	bool tightened;         /* nothing moved on purpose, only made tight */
};

enum rd_adjust_do {
	RD_ADJUST_MOVE,         /* not there yet */
	RD_ADJUST_TIGHTEN,      /* there: make it tight and read once more */
	RD_ADJUST_DONE,         /* there, and tight */
	RD_ADJUST_STUCK         /* moves do nothing that shows: look at the thing, not at the screw */
};

struct rd_adjust {
	enum rd_adjust_do next;
	enum rd_verdict verdict; double p_inside;
	double over;            /* the last reading less the target: above 0 too high */
	double outside;         /* how far outside the band, signed; 0 inside */
	double last_effect;     /* what the last move did; NAN: no move yet */
	double rate, u_rate;    /* change of the reading per unit of movement; NAN: not known */
	double shift;           /* what tightening does, mean of those seen; 0 when none was */
	double move;            /* suggested, in the measure of moves; NAN: not known */
	double of_last;         /* suggested, as a share of the last move; NAN: not known */
};

/* One line of the loop: "840", "840 +1/4" (moved a quarter on since the reading before), "840 -.1 mm",
 * "735 tight".  The reading itself, which may be typed in any way, is left in `reading`; step->value is
 * not set.  -1 with err when the move is none. */
int rd_adjust_split(const char *typed, struct text *reading, struct rd_adjusted *step, struct hs_err *err);
/* What moves are measured in where the reading is in this unit: "mm" by tenths, "turn" by quarters. */
void rd_adjust_measure(struct rd_aim *aim);

/* -1 when there are no readings, too many, or the band is none. */
int rd_adjust(const struct rd_aim *aim, const struct rd_adjusted *step, int n, struct rd_adjust *out,
	      struct hs_err *err);

/* One or two sentences for the person with the screwdriver. */
void rd_adjust_say(struct text *t, const struct rd_aim *aim, const struct rd_adjusted *last,
		   const struct rd_adjust *a);

#endif
