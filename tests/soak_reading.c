/* Kept answers, cut, joined and changed, for HALFSPLIT_SOAK_SECONDS of processor time (60). */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "base/mem.h"
#include "reading_fuzz.h"

/* xorshift64* (Vigna 2016): the same run for the same number of answers. */
static uint64_t seed = 20261125;

static size_t below(size_t n)
{
	seed ^= seed >> 12;
	seed ^= seed << 25;
	seed ^= seed >> 27;
	return n ? (size_t)((seed * 0x2545F4914F6CDD1DULL) >> 33) % n : 0;
}

static void insert(struct answer *a, const uint8_t *what, size_t n)
{
	size_t at = 2 + below(a->n - 1);

	if (at > a->n || a->n + n > ANSWER_MAX)
		return;
	memmove(a->byte + at + n, a->byte + at, a->n - at);
	memcpy(a->byte + at, what, n);
	a->n += n;
}

static void cut(struct answer *a)
{
	size_t at = 2 + below(a->n - 2), n;

	if (a->n <= 3)
		return;
	n = 1 + below(a->n - at);
	memmove(a->byte + at, a->byte + at + n, a->n - at - n);
	a->n -= n;
}

static void change(struct answer *a, const struct answer *other)
{
	uint8_t byte = (uint8_t)below(256);
	size_t from = 2 + below(other->n - 2);

	switch (below(4)) {
	case 0: a->byte[below(a->n)] = byte; break;
	case 1: cut(a); break;
	case 2: insert(a, &byte, 1); break;
	default:
		if (from < other->n)
			insert(a, other->byte + from, 1 + below(other->n - from));
	}
}

/* ---- kept answers to and from files, one each, for tests/soak_reading_guided.sh ---------------- */

static int to_files(const char *folder, const struct answer *kept, int n)
{
	for (int i = 0; i < n; i++) {
		char path[1024];
		FILE *f;

		snprintf(path, sizeof path, "%s/%d", folder, i);
		f = fopen(path, "wb");
		if (!f || fwrite(kept[i].byte, 1, kept[i].n, f) != kept[i].n || fclose(f) != 0)
			return 1;
	}
	return 0;
}

static int in_hex(char **paths, int n)
{
	for (int i = 0; i < n; i++) {
		FILE *f = fopen(paths[i], "rb");
		int byte;

		if (!f)
			return 1;
		while ((byte = getc(f)) != EOF)
			printf("%02x", (unsigned)byte);
		putchar('\n');
		fclose(f);
	}
	return 0;
}

static double seconds(void) { return (double)clock() / CLOCKS_PER_SEC; }

int main(int argc, char **argv)
{
	const char *wanted = getenv("HALFSPLIT_SOAK_SECONDS");
	double end = seconds() + (wanted ? atof(wanted) : 60);
	struct answer *kept = NULL;
	int n = reading_kept(&kept);
	long done = 0, wrong = 0;

	if (n < 1) {
		fprintf(stderr, "no kept answers\n");
		return 1;
	}
	if (argc == 3 && strcmp(argv[1], "files") == 0)
		return to_files(argv[2], kept, n);
	if (argc > 2 && strcmp(argv[1], "hex") == 0)
		return in_hex(argv + 2, argc - 2);
	while (seconds() < end && wrong < 10)
		for (int i = 0; i < 1000; i++, done++) {
			struct answer a = kept[below((size_t)n)];
			const char *what;

			for (size_t k = 1 + below(4); k; k--)
				change(&a, &kept[below((size_t)n)]);
			what = reading_fuzz(a.byte, a.n);
			if (what) {
				reading_fuzz_show(what, a.byte, a.n);
				wrong++;
			}
		}
	printf("reading.soak_answers = %ld answers\nreading.soak_wrong = %ld answers\n", done, wrong);
	mem_free(kept);
	return wrong > 0;
}
