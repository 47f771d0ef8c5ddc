/* One answer of any bytes against the reading room, and what must hold whatever they are. */
#ifndef TESTS_READING_FUZZ_H
#define TESTS_READING_FUZZ_H

#include <stddef.h>
#include <stdint.h>

#define ANSWER_MAX 256

struct answer { size_t n; uint8_t byte[ANSWER_MAX]; };

/* The first two bytes choose the check, the rest is what was typed. NULL, or what did not hold. */
const char *reading_fuzz(const uint8_t *data, size_t n);
void reading_fuzz_show(const char *wrong, const uint8_t *data, size_t n); /* on standard error */

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t n); /* the name libFuzzer calls */

/* The answers kept in tests/data/reading/kept.hex: one a line, in hexadecimal. How many; -1 when the
 * file cannot be read.  *out is the caller's, for mem_free(). */
int reading_kept(struct answer **out);

#endif
