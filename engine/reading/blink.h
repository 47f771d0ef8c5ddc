/* Lamp codes: long flashes are the first digit, short ones the second.
 *
 * Typed as the number ("23"), in words ("2 long 3 short", "long, long, short"), in letters
 * ("LLSSS") or in strokes ("- - . . .").  Several codes of one reading are parted by commas, "then",
 * "and" or blanks; two readings by "/" or "again".  Lamps send the lowest code first and repeat the
 * list, so a code that is not higher than the one before begins the list again: "13 41 13 41" is
 * one list read twice.  `stored` and `active` behind codes say of them, back to the last such word,
 * whether they come in the read-out only or with the engine running: "13 41 stored", "13 active 41
 * stored".  Common practice, no source. */
#ifndef READING_BLINK_H
#define READING_BLINK_H

#include <stdbool.h>

#include "base/err.h"
#include "base/text.h"

#define RD_CODES_MAX 8
#define RD_LONGS_MAX 5       /* more long flashes than any list of codes has */
#define RD_SHORTS_MAX 9

enum rd_code_state { RD_CODE_NOT_SAID, RD_CODE_ACTIVE, RD_CODE_STORED };

struct rd_blink {
	int n, code[RD_CODES_MAX]; /* the list, in the order it was sent */
	enum rd_code_state state[RD_CODES_MAX];
	int readings;              /* how often it was read and found the same; a code counts from 2 on */
};
/* 0; -1 with the reason: not understood, no long flash, more flashes than a code has, or two
 * readings that differ (err says both). */
int rd_blink_read(const char *text, struct rd_blink *out, struct hs_err *err);
void rd_blink_format(struct text *t, const struct rd_blink *b); /* "13, 41 (read twice)" */

/* What one lighting of the lamp is, by its seconds. */
enum rd_flash { RD_FLASH_SHORT, RD_FLASH_UNCLEAR, RD_FLASH_LONG, RD_FLASH_LAMP_TEST };
enum rd_flash rd_flash(double seconds);

/* What a code is worth as evidence: an exponent on its likelihood.  A stored one is history; with
 * the battery below RD_BLINK_VOLTS while cranking the box invents them. */
#define RD_BLINK_VOLTS 9.5
double rd_blink_worth(bool active, double cranking_volts); /* NAN: not measured */

#endif
