/* Memory: one counted door for every allocation, and an arena for things that live together.
 *
 * When memory is exhausted the handler installed by mem_on_exhausted() is called and must not
 * return (the program says so and leaves; everything answered is on disk already).  So these
 * functions never return NULL and no caller needs a branch for it.  The default handler aborts.
 * docs/robustness.md says why. */
#ifndef BASE_MEM_H
#define BASE_MEM_H

#include <stdarg.h>
#include <stddef.h>

void *mem_alloc(size_t size);                 /* zeroed */
void *mem_array(size_t count, size_t size);   /* zeroed; overflow counts as exhausted */
void *mem_resize(void *old, size_t size);     /* new bytes are NOT zeroed */
void *mem_resize_array(void *old, size_t count, size_t size);
char *mem_strdup(const char *s);
void mem_free(void *p);                       /* NULL is fine */
void mem_on_exhausted(void (*handler)(void));

/* For programs, not for libraries: large blocks given back stay with the process for the next weighing, and are
 * not fetched from the system page by page each time.  Does nothing where the C library has no such setting. */
void mem_keep_large(void);

/* Test aid: the n-th allocation from now is treated as exhausted; 0 switches it off. */
void mem_fail_at(unsigned long n);
unsigned long mem_count(void);

/* An arena owns everything taken from it; one arena_free() gives all back. */
struct arena;
struct arena *arena_new(void);
void arena_free(struct arena *a);             /* NULL is fine */
void *arena_alloc(struct arena *a, size_t size);                /* zeroed, aligned */
void *arena_array(struct arena *a, size_t count, size_t size);  /* zeroed */
char *arena_strdup(struct arena *a, const char *s);
char *arena_strndup(struct arena *a, const char *s, size_t n);
char *arena_printf(struct arena *a, const char *format, ...) __attribute__((format(printf, 2, 3)));

#endif
