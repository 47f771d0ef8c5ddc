/* Driving a program on a pseudo-terminal, as a person at a terminal would.
 *
 *     struct pty *p = pty_start(&(struct pty_setup){.argv = argv});
 *     if (!p) skip();                        no pseudo-terminal on this machine
 *     assert_true(pty_wait(p, "Which machine", 5000));
 *     pty_send(p, "1\r");                    Enter is \r, Ctrl-C \003, Ctrl-D \004
 *     assert_int_equal(pty_end(p, 5000), 0);
 *     pty_free(p);
 *
 * Allocates by itself, not through base/mem.h, so that a driver does not disturb the counts of
 * the memory under test.  When memory runs out the test program aborts. */
#ifndef TESTS_PTY_H
#define TESTS_PTY_H

#include <stdbool.h>
#include <stddef.h>
#include <sys/types.h>

struct pty_setup {
	const char *const *argv; /* ends with NULL; argv[0] is searched in PATH */
	const char *const *env;  /* "NAME=value" added to or replacing our own environment; a "NAME"
				  * without = is removed; ends with NULL; may be NULL */
	const char *term;        /* TERM; NULL means "xterm", "" means unset */
	const char *folder;      /* working folder; NULL means ours */
	int columns, rows;       /* 0 means 80 by 24 */
};

struct pty; /* one program on one terminal */

/* NULL when there is no pseudo-terminal to be had (a chroot without /dev/pts, for instance). */
struct pty *pty_start(const struct pty_setup *setup);
pid_t pty_process(const struct pty *p);

void pty_send(struct pty *p, const char *text);
void pty_sendn(struct pty *p, const char *bytes, size_t n);
void pty_resize(struct pty *p, int columns, int rows); /* the program gets SIGWINCH */
void pty_signal(struct pty *p, int number);
void pty_hang_up(struct pty *p);                       /* the terminal is closed: SIGHUP */

/* Waits until `text` has come, looking behind the place where the last pty_wait() found its text.
 * False when it did not come in time or the program ended without it. */
bool pty_wait(struct pty *p, const char *text, int milliseconds);
/* Reads until nothing has come for so long. */
void pty_settle(struct pty *p, int quiet_milliseconds);

/* Everything that came so far, NUL-terminated.  The second form has no escape sequences, carriage
 * returns or bells in it.  Both belong to `p` and hold until the next call with it. */
const char *pty_output(const struct pty *p, size_t *size); /* size may be NULL */
const char *pty_plain(struct pty *p);

/* Waits for the program to end, reading what it still says.  Returns its exit status, 128 + n
 * when signal n ended it, -1 when it did not end in time and was killed.  May be called again. */
int pty_end(struct pty *p, int milliseconds);
void pty_free(struct pty *p); /* kills the program if it still runs; NULL is fine */

#endif
