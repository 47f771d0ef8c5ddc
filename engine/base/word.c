/* Words a person typed: comparing without case, and the name that was probably meant. */
#include <string.h>

#include "base/mem.h"
#include "base/text.h"

#define FAR         9   /* distances are not told apart beyond this */
#define LONGEST     255 /* longer words are either the same or far */
#define MANY_LETTERS 256

/* ASCII only: the same in every locale. */
static unsigned char lower(char c)
{
	return (unsigned char)(c >= 'A' && c <= 'Z' ? c - 'A' + 'a' : c);
}

bool text_same_word(const char *a, const char *b)
{
	while (*a && lower(*a) == lower(*b)) {
		a++;
		b++;
	}
	return *a == '\0' && *b == '\0';
}

bool text_starts_word(const char *word, const char *prefix)
{
	while (*prefix && lower(*prefix) == lower(*word)) {
		prefix++;
		word++;
	}
	return *prefix == '\0';
}

static int least(int a, int b)
{
	return a < b ? a : b;
}

/* Lowrance and Wagner 1975: d[i+1][j+1] is the distance of a[0..i) and b[0..j); row and column 0
 * are a wall.  last_row[c] is the last row whose letter was c, last_column the last column in this
 * row where the letters agreed: between them lies the transposition. */
static int full_distance(const char *a, size_t na, const char *b, size_t nb)
{
	size_t last_row[MANY_LETTERS] = {0};
	size_t width = nb + 2;
	int *d = mem_array((na + 2) * width, sizeof *d);
	int wall = (int)(na + nb);

	d[0] = wall;
	for (size_t i = 0; i <= na; i++) {
		d[(i + 1) * width] = wall;
		d[(i + 1) * width + 1] = (int)i;
	}
	for (size_t j = 0; j <= nb; j++) {
		d[j + 1] = wall;
		d[width + j + 1] = (int)j;
	}
	for (size_t i = 1; i <= na; i++) {
		size_t last_column = 0;
		for (size_t j = 1; j <= nb; j++) {
			size_t row = last_row[lower(b[j - 1])], column = last_column;
			bool same = lower(a[i - 1]) == lower(b[j - 1]);
			int best = d[i * width + j] + (same ? 0 : 1);
			if (same)
				last_column = j;
			best = least(best, d[(i + 1) * width + j] + 1);
			best = least(best, d[i * width + j + 1] + 1);
			best = least(best, d[row * width + column] +
					   (int)(i - row - 1 + 1 + (j - column - 1)));
			d[(i + 1) * width + j + 1] = best;
		}
		last_row[lower(a[i - 1])] = i;
	}
	int distance = d[(na + 1) * width + nb + 1];
	mem_free(d);
	return distance;
}

int text_distance(const char *a, const char *b)
{
	size_t na = strlen(a), nb = strlen(b);

	if (text_same_word(a, b))
		return 0;
	if (na > LONGEST || nb > LONGEST || (na > nb ? na - nb : nb - na) >= FAR)
		return FAR;
	return least(full_distance(a, na, b, nb), FAR);
}

/* How many slips are still believable in a word of this length. */
static int slips_allowed(size_t len)
{
	return len < 2 ? 0 : len <= 3 ? 1 : len <= 6 ? 2 : 3;
}

static const char *only_one_starting(const char *typed, const char *const *names, int n)
{
	const char *found = NULL;

	for (int i = 0; i < n; i++) {
		if (!text_starts_word(names[i], typed))
			continue;
		if (found)
			return NULL;
		found = names[i];
	}
	return found;
}

const char *text_near(const char *typed, const char *const *names, int n)
{
	const char *nearest = NULL;
	int best = slips_allowed(strlen(typed)) + 1;

	for (int i = 0; i < n; i++) {
		int distance = text_distance(typed, names[i]);
		if (distance < best) {
			best = distance;
			nearest = names[i];
		}
	}
	if (!nearest && strlen(typed) >= 3)
		nearest = only_one_starting(typed, names, n);
	return nearest;
}
