/* An arena: a list of blocks, filled front to back, given back together.
 *
 * Invariant: everything handed out lies in one of the blocks, is aligned for any type and was
 * zero.  Blocks double from 4 KiB to 64 KiB; a request larger than a block gets its own. */
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include "base/mem.h"

#define ALIGNMENT   ((size_t)16)
#define FIRST_BLOCK ((size_t)4096)
#define LAST_BLOCK  ((size_t)65536)

struct block {
	struct block *next;
	size_t size, used; /* bytes after this header */
};

/* The header is padded so that the bytes behind it are aligned. */
#define HEADER ((sizeof(struct block) + ALIGNMENT - 1) / ALIGNMENT * ALIGNMENT)

struct arena {
	struct block *blocks; /* the first one is being filled */
	size_t next_size;
};

struct arena *arena_new(void)
{
	struct arena *a = mem_alloc(sizeof *a);

	a->next_size = FIRST_BLOCK;
	return a;
}

void arena_free(struct arena *a)
{
	if (!a)
		return;
	for (struct block *b = a->blocks; b;) {
		struct block *next = b->next;
		mem_free(b);
		b = next;
	}
	mem_free(a);
}

/* Saturates, so that an absurd size ends as "memory exhausted" and not as a small block. */
static size_t round_up(size_t size)
{
	if (size > SIZE_MAX - HEADER - ALIGNMENT)
		return SIZE_MAX - HEADER;
	return (size + ALIGNMENT - 1) / ALIGNMENT * ALIGNMENT;
}

static struct block *add_block(struct arena *a, size_t at_least)
{
	size_t size = at_least > a->next_size ? at_least : a->next_size;
	struct block *b = mem_alloc(HEADER + size);

	b->size = size;
	b->next = a->blocks;
	a->blocks = b;
	if (a->next_size < LAST_BLOCK)
		a->next_size *= 2;
	return b;
}

void *arena_alloc(struct arena *a, size_t size)
{
	struct block *b = a->blocks;

	size = round_up(size ? size : 1);
	if (!b || b->size - b->used < size)
		b = add_block(a, size);
	void *p = (char *)b + HEADER + b->used;
	b->used += size;
	return p;
}

void *arena_array(struct arena *a, size_t count, size_t size)
{
	if (size != 0 && count > SIZE_MAX / size)
		return arena_alloc(a, SIZE_MAX);
	return arena_alloc(a, count * size);
}

char *arena_strndup(struct arena *a, const char *s, size_t n)
{
	size_t len = strnlen(s, n);

	return memcpy(arena_alloc(a, len + 1), s, len);
}

char *arena_strdup(struct arena *a, const char *s)
{
	return arena_strndup(a, s, strlen(s));
}

char *arena_printf(struct arena *a, const char *format, ...)
{
	va_list args, again;

	va_start(args, format);
	va_copy(again, args);
	int len = vsnprintf(NULL, 0, format, args);
	size_t size = len < 0 ? 1 : (size_t)len + 1;
	char *s = arena_alloc(a, size);
	if (len > 0)
		vsnprintf(s, size, format, again);
	va_end(again);
	va_end(args);
	return s;
}
