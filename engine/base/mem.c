/* The one door to the heap.  Everything is counted so that a test can let the n-th request fail. */
#include "base/mem.h"

#include <limits.h>
#ifdef __GLIBC__
#include <malloc.h>
#endif
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#define LARGEST_KEPT (32 << 20) /* bytes; glibc refuses more */

static void (*exhausted_handler)(void);
static unsigned long requests; /* since the program started */
static unsigned long fail_at;  /* value of `requests` that fails; 0 = none */

static _Noreturn void exhausted(void)
{
	if (exhausted_handler)
		exhausted_handler();
	abort();
}

/* Counts a request; does not return when a test wanted this one to fail, or when no object can
 * be so large. */
static void count_request(size_t size)
{
	requests++;
	if ((fail_at != 0 && requests == fail_at) || size > PTRDIFF_MAX)
		exhausted();
}

static size_t product(size_t count, size_t size)
{
	if (size != 0 && count > SIZE_MAX / size)
		exhausted();
	return count * size;
}

void *mem_alloc(size_t size)
{
	count_request(size);
	void *p = calloc(1, size ? size : 1);
	if (!p)
		exhausted();
	return p;
}

void *mem_array(size_t count, size_t size)
{
	return mem_alloc(product(count, size));
}

void *mem_resize(void *old, size_t size)
{
	count_request(size);
	void *p = realloc(old, size ? size : 1);
	if (!p)
		exhausted();
	return p;
}

void *mem_resize_array(void *old, size_t count, size_t size)
{
	return mem_resize(old, product(count, size));
}

char *mem_strdup(const char *s)
{
	size_t size = strlen(s) + 1;

	return memcpy(mem_alloc(size), s, size);
}

void mem_free(void *p)
{
	free(p);
}

void mem_keep_large(void)
{
#ifdef __GLIBC__
	mallopt(M_MMAP_THRESHOLD, LARGEST_KEPT);
	mallopt(M_TRIM_THRESHOLD, INT_MAX);
#endif
}

void mem_on_exhausted(void (*handler)(void))
{
	exhausted_handler = handler;
}

void mem_fail_at(unsigned long n)
{
	fail_at = n ? requests + n : 0;
}

unsigned long mem_count(void)
{
	return requests;
}
