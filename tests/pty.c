#include "pty.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/wait.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

struct pty {
	int master;        /* -1 after hanging up */
	pid_t process;
	bool ended;        /* the process was waited for; status holds */
	int status;
	char *output;      /* NUL-terminated */
	size_t size, room;
	size_t seen;       /* where the next pty_wait() begins to look */
	char *plain;
};

static void *must(void *p)
{
	if (!p) {
		fputs("pty: out of memory\n", stderr);
		abort();
	}
	return p;
}

static long long now_ms(void)
{
	struct timespec t;

	clock_gettime(CLOCK_MONOTONIC, &t);
	return t.tv_sec * 1000LL + t.tv_nsec / 1000000;
}

/* ---- starting -------------------------------------------------------------------------- */

static void set_size(int fd, int columns, int rows)
{
	struct winsize size = {0};

	size.ws_col = (unsigned short)(columns ? columns : 80);
	size.ws_row = (unsigned short)(rows ? rows : 24);
	ioctl(fd, TIOCSWINSZ, &size);
}

static int open_master(char *slave, size_t room)
{
	int fd = posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC);

	if (fd < 0)
		return -1;
	if (grantpt(fd) != 0 || unlockpt(fd) != 0 || ptsname_r(fd, slave, room) != 0 ||
	    fcntl(fd, F_SETFL, O_NONBLOCK) != 0) {
		close(fd);
		return -1;
	}
	return fd;
}

static void set_environment(const struct pty_setup *setup)
{
	const char *term = setup->term ? setup->term : "xterm";

	if (*term)
		setenv("TERM", term, 1);
	else
		unsetenv("TERM");
	unsetenv("COLUMNS");
	unsetenv("LINES");
	for (const char *const *e = setup->env; e && *e; e++) {
		if (strchr(*e, '='))
			putenv(must(strdup(*e)));
		else
			unsetenv(*e);
	}
}

/* In the child.  Signals go back to their defaults and nothing of ours stays open. */
static _Noreturn void become_program(const struct pty_setup *setup, const char *slave)
{
	sigset_t none;
	char **argv = must(calloc(64, sizeof *argv));

	for (int i = 0; i < 63 && setup->argv[i]; i++)
		argv[i] = must(strdup(setup->argv[i]));
	sigemptyset(&none);
	sigprocmask(SIG_SETMASK, &none, NULL);
	for (int i = 1; i < NSIG; i++)
		signal(i, SIG_DFL);
	setsid();
	int fd = open(slave, O_RDWR);
	if (fd < 0 || ioctl(fd, TIOCSCTTY, 0) != 0)
		_exit(126);
	for (int to = 0; to < 3; to++)
		dup2(fd, to);
	for (int i = 3; i < 256; i++)
		close(i);
	set_environment(setup);
	if (setup->folder && chdir(setup->folder) != 0)
		_exit(126);
	execvp(argv[0], argv);
	_exit(127);
}

struct pty *pty_start(const struct pty_setup *setup)
{
	char slave[64];
	int master = open_master(slave, sizeof slave);

	if (master < 0)
		return NULL;
	/* The child inherits this one, too, and has it until it runs the program: so the other end
	 * is open from the start, and reading does not report an end before the beginning. */
	int hold = open(slave, O_RDWR | O_NOCTTY | O_CLOEXEC);
	if (hold < 0) {
		close(master);
		return NULL;
	}
	set_size(master, setup->columns, setup->rows);
	fflush(NULL);
	pid_t process = fork();
	if (process == 0)
		become_program(setup, slave);
	close(hold);
	if (process < 0) {
		close(master);
		return NULL;
	}
	struct pty *p = must(calloc(1, sizeof *p));
	p->master = master;
	p->process = process;
	p->room = 4096;
	p->output = must(calloc(1, p->room));
	return p;
}

pid_t pty_process(const struct pty *p)
{
	return p->process;
}

/* ---- reading --------------------------------------------------------------------------- */

/* Takes what is there.  False when nothing more can ever come. */
static bool take(struct pty *p)
{
	for (;;) {
		if (p->master < 0)
			return false;
		if (p->room - p->size < 2048) {
			p->room *= 2;
			p->output = must(realloc(p->output, p->room));
		}
		ssize_t got = read(p->master, p->output + p->size, p->room - p->size - 1);
		if (got > 0) {
			p->size += (size_t)got;
			p->output[p->size] = '\0';
		} else if (got < 0 && (errno == EAGAIN || errno == EINTR)) {
			return true;
		} else {
			return false; /* EIO: nobody has the other end open */
		}
	}
}

static void check_ended(struct pty *p)
{
	int status;

	if (p->ended || waitpid(p->process, &status, WNOHANG) != p->process)
		return;
	p->ended = true;
	p->status = WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
}

/* Waits a little for output, at most until `deadline`. */
static void pause_for_output(const struct pty *p, long long deadline)
{
	struct pollfd wait = {.fd = p->master, .events = POLLIN};
	long long left = deadline - now_ms();

	/* In steps: with the other end closed poll() would return at once and for ever, and the
	 * end of the process is not an event here. */
	if (left > 20)
		left = 20;
	if (left > 0 && poll(&wait, 1, (int)left) > 0 && !(wait.revents & POLLIN))
		poll(NULL, 0, 1);
}

bool pty_wait(struct pty *p, const char *text, int milliseconds)
{
	long long deadline = now_ms() + milliseconds;
	size_t n = strlen(text);

	for (;;) {
		check_ended(p); /* before reading, so that the last words are read after the end */
		bool more = take(p);
		char *found = memmem(p->output + p->seen, p->size - p->seen, text, n);
		if (found) {
			p->seen = (size_t)(found - p->output) + n;
			return true;
		}
		if (p->ended || !more || now_ms() >= deadline)
			return false;
		pause_for_output(p, deadline);
	}
}

void pty_settle(struct pty *p, int quiet_milliseconds)
{
	long long since = now_ms();
	size_t size = p->size;

	while (take(p) && now_ms() - since < quiet_milliseconds) {
		if (p->size != size) {
			size = p->size;
			since = now_ms();
		}
		pause_for_output(p, since + quiet_milliseconds);
	}
}

const char *pty_output(const struct pty *p, size_t *size)
{
	if (size)
		*size = p->size;
	return p->output;
}

/* The byte after the escape sequence that begins at s[i] (ESC): CSI, OSC, or two bytes. */
static size_t after_escape(const char *s, size_t i, size_t n)
{
	i++;
	if (i >= n)
		return n;
	if (s[i] == '[') {
		for (i++; i < n && !(s[i] >= 0x40 && s[i] <= 0x7E); i++)
			;
	} else if (s[i] == ']') {
		while (i < n && s[i] != '\a' && s[i] != '\033')
			i++;
	} else if (s[i] == '(' || s[i] == ')') {
		i++;
	}
	return i < n ? i + 1 : n;
}

const char *pty_plain(struct pty *p)
{
	size_t to = 0;

	free(p->plain);
	p->plain = must(malloc(p->size + 1));
	for (size_t i = 0; i < p->size;) {
		char c = p->output[i];
		if (c == '\033') {
			i = after_escape(p->output, i, p->size);
			continue;
		}
		if (c != '\r' && c != '\a' && c != '\0')
			p->plain[to++] = c;
		i++;
	}
	p->plain[to] = '\0';
	return p->plain;
}

/* ---- writing and ending ---------------------------------------------------------------- */

/* Reads while it writes: the program may stop listening until what it says is taken. */
void pty_sendn(struct pty *p, const char *bytes, size_t n)
{
	long long deadline = now_ms() + 10000;

	while (n > 0 && p->master >= 0 && now_ms() < deadline) {
		ssize_t done = write(p->master, bytes, n);
		if (done > 0) {
			bytes += done;
			n -= (size_t)done;
		} else if (done < 0 && errno != EAGAIN && errno != EINTR) {
			return;
		} else {
			take(p);
			pause_for_output(p, deadline);
		}
	}
}

void pty_send(struct pty *p, const char *text)
{
	pty_sendn(p, text, strlen(text));
}

void pty_resize(struct pty *p, int columns, int rows)
{
	if (p->master >= 0)
		set_size(p->master, columns, rows);
}

void pty_signal(struct pty *p, int number)
{
	check_ended(p);
	if (!p->ended)
		kill(p->process, number);
}

void pty_hang_up(struct pty *p)
{
	if (p->master >= 0)
		close(p->master);
	p->master = -1;
}

int pty_end(struct pty *p, int milliseconds)
{
	long long deadline = now_ms() + milliseconds;

	for (;;) {
		check_ended(p);
		take(p);
		if (p->ended)
			return p->status;
		if (now_ms() >= deadline)
			break;
		if (p->master >= 0)
			pause_for_output(p, deadline);
		else
			poll(NULL, 0, 5);
	}
	kill(p->process, SIGKILL);
	waitpid(p->process, NULL, 0);
	p->ended = true;
	p->status = -1;
	return -1;
}

void pty_free(struct pty *p)
{
	if (!p)
		return;
	if (!p->ended)
		pty_end(p, 0);
	pty_hang_up(p);
	free(p->output);
	free(p->plain);
	free(p);
}
