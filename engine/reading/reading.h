/* A typed answer -> a number with unit, corrected, with its standard uncertainty and a verdict.
 *
 * The one door of this room is rd_read(): it parses what the mechanic typed, corrects it, works
 * out the uncertainty (JCGM 100) and judges it against the band (JCGM 106 / ISO 14253-1).  It
 * knows nothing of parts or trees: numbers in, numbers out.  Finer doors (parse, units, normal
 * distribution, models of the reading) have headers of their own in this room. */
#ifndef READING_READING_H
#define READING_READING_H

#include <stdbool.h>

#include "base/err.h"
#include "base/text.h"
#include "reading/unit.h"

#define RD_PLACES_MAX 8     /* positions one list may have */
#define RD_ITEMS_MAX 64     /* numbers one answer may have (a sweep) */
#define RD_NOTES_MAX 6

/* What is made of the numbers of one answer. */
enum rd_derive {
	RD_AS_READ,          /* one number (repeats are pooled, differences taken, ratios divided) */
	RD_EACH,             /* one number per position, each judged by itself */
	RD_SPREAD,           /* highest minus lowest over the positions */
	RD_LEAST_OVER_MOST,  /* lowest over highest */
	RD_EACH_OVER_HIGHEST,/* per position: its number over the highest; for temperatures above
			      * ambient when setup.ambient is known */
	RD_DERIVE_COUNT
};
const char *rd_derive_name(enum rd_derive d);            /* "as-read", "each", "spread", ... */
bool rd_derive_by_name(const char *name, enum rd_derive *out);

enum rd_kind { RD_NUMBER, RD_OPEN, RD_SHORT };            /* what the meter showed */
enum rd_verdict { RD_NO_BAND, RD_INSIDE, RD_OUTSIDE, RD_TOO_CLOSE };
/* JCGM 106: inside when the probability of conformance is 95 % or more, outside when 5 % or less.
 * +/-INFINITY where there is no limit. */
enum rd_verdict rd_judge(double low, double high, enum rd_kind kind, double value, double u,
			 double *p_inside);
const char *rd_verdict_words(enum rd_verdict v);          /* "inside", "outside", "too close to say", "no band" */

struct rd_instrument {
	const char *id, *title;  /* "good-meter", "vernier", ... */
	double percent;          /* accuracy: +/- percent of reading ... */
	double digits;           /* ... + this many units of the last digit shown (half-widths) */
	double least_count;      /* resolution when the answer does not show it, in the check's unit */
};
const struct rd_instrument *rd_instrument_by_id(const char *id); /* NULL when unknown */
int rd_instrument_count(void);
const struct rd_instrument *rd_instrument_at(int i);
/* Standard uncertainty of one reading by this instrument: rectangular half-widths over sqrt 3,
 * combined with the method's repeatability (one standard deviation).  `resolution` <= 0: the
 * instrument's least count. */
double rd_instrument_u(const struct rd_instrument *m, double value, double resolution,
		       double repeatability);

/* Everything rd_read() needs to know about the check.  Set with rd_setup_init() first. */
struct rd_setup {
	enum rd_unit unit;               /* the check's unit; answers without a unit are in it */
	enum rd_derive derive;
	double low, high;                /* band in `unit`; +/-INFINITY where one-sided or none */
	const struct rd_instrument *instrument;
	double repeatability;            /* one standard deviation of the method, in `unit` */
	bool through_leads;              /* a low-ohm reading: leads are to be subtracted */
	double leads, leads_u;           /* ohm; leads NAN: not measured yet */
	bool leads_waived;               /* the user said: go on without */
	double part_degC, part_degC_u;   /* copper only; NAN: no temperature correction */
	double reference_degC;           /* NAN: none */
	double altitude_m;               /* NAN: none; pressures are carried to sea level (ISO 2533) */
	double cranking_degC;            /* volts while cranking, air; NAN: no correction */
	double ambient;                  /* for RD_EACH_OVER_HIGHEST of temperatures; NAN: unknown */
	double typical;                  /* expected size, for the thousand-fold slip; NAN: unknown */
	bool slip_confirmed;             /* the user confirmed the odd size */
	bool wordless;                   /* figures only: echo and notes stay empty */
	int nplaces;                     /* names that may label a list, in the order of a bare list */
	const char *places[RD_PLACES_MAX];
};
void rd_setup_init(struct rd_setup *s);

struct rd_place_result {
	bool given;
	enum rd_kind kind;
	double raw, value, u;            /* as shown; corrected or derived; standard uncertainty */
	enum rd_verdict verdict;
	double p_inside;                 /* conformance probability */
	double resolution, u_random;     /* as below */
	double carried;                  /* what the corrections multiplied it by */
};

struct rd_result {
	enum rd_kind kind;
	double raw, value, u;            /* the check's own figure, in setup.unit (ratio: no unit) */
	enum rd_verdict verdict;
	double p_inside;
	double resolution;               /* of what was typed, in setup.unit */
	int repeats;                     /* readings pooled in it; 0: open, short, derived from places */
	double u_random;                 /* the part of u that more readings make smaller */
	int nplaces;                     /* > 0 for lists; then at[] is filled */
	struct rd_place_result at[RD_PLACES_MAX];
	int nnotes;
	char note[RD_NOTES_MAX][120];    /* "leads 0.3 ohm subtracted", "to 20 degC: x 0.83" ... */
	char echo[160];                  /* "read as 12.4 ohm" */
};

enum rd_status {
	RD_OK,
	RD_REFUSED,        /* err says why; the text goes back for editing */
	RD_ASK_LEADS,      /* leads are not measured yet in this job */
	RD_ASK_SLIP        /* a thousand times off: err says what it looks like */
};
enum rd_status rd_read(const struct rd_setup *setup, const char *text, struct rd_result *out,
		       struct hs_err *err);

/* "12.4 ohm", "open", "0.241": value with a sensible number of digits for its uncertainty. */
void rd_format(struct text *t, enum rd_kind kind, double value, double u, enum rd_unit unit);

#endif
