/* What was typed, as numbers: the grammar of docs/reading.md.  Knows nothing of bands or leads. */
#ifndef READING_PARSE_H
#define READING_PARSE_H

#include "reading/reading.h"

struct rd_item {
	int place;             /* index in setup.places, -1 when no label was typed */
	enum rd_kind kind;
	double value;          /* in the check's unit */
	double resolution;     /* of the last digit typed, same unit; 0 when not from digits */
	bool difference;       /* typed as a difference: leads are off already */
	bool unit_given;
	enum rd_unit unit;     /* the one typed, when unit_given */
	double loose;          /* half-width added by "about", "just under" */
};

struct rd_typed { int n; struct rd_item item[RD_ITEMS_MAX]; };

/* 0, or -1 with err saying what was not understood and what to type instead. */
int rd_parse(const struct rd_setup *setup, const char *text, struct rd_typed *out, struct hs_err *err);

#endif
