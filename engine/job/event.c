/* Lines of the journal.  docs/job-file.md is the specification. */
#include "job/inner.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"

static const struct { const char *name; int fields; } kinds[JOB_KINDS] = {
	[JOB_BEGAN] = { "began", 3 },
	[JOB_COMPLAINED] = { "complained", 1 },
	[JOB_TOLD] = { "told", 2 },
	[JOB_ANSWERED] = { "answered", 5 },
	[JOB_SKIPPED] = { "skipped", 3 },
	[JOB_REPAIRED] = { "repaired", 2 },
	[JOB_DECLINED] = { "declined", 1 },
	[JOB_ACCESS] = { "access", 2 },
	[JOB_SETTING] = { "setting", 4 },
	[JOB_NOTED] = { "noted", 1 },
	[JOB_CLOSED] = { "closed", 4 },
	[JOB_TOOK_BACK] = { "took-back", 1 },
	[JOB_PUT_BACK] = { "put-back", 1 },
	[JOB_CHANGED] = { "changed", 7 },
	[JOB_TIMER] = { "timer", 2 },
	[JOB_ADJUSTED] = { "adjusted", 3 },
	[JOB_UNKNOWN] = { "", 0 },
};

const char *job_kind_name(enum job_kind k) { return k >= 0 && k < JOB_KINDS ? kinds[k].name : "?"; }
int job_kind_fields(enum job_kind k) { return kinds[k].fields; }

/* ---- writing ----------------------------------------------------------------------------------- */

static void add_field(struct text *t, const char *s)
{
	text_addc(t, ' ');
	if (!s || !*s)
		text_add(t, "%-");
	for (; s && *s; s++) {
		unsigned char c = (unsigned char)*s;

		if (c <= ' ' || c == '%' || c == 0x7f)
			text_addf(t, "%%%02x", c);
		else
			text_addc(t, *s);
	}
}

void job_event_write(struct text *line, const struct job_event *e, unsigned previous)
{
	struct text body = { 0 };
	char before[9];

	text_addf(&body, "%06ld %s %lld", e->seq, job_kind_name(e->kind), e->when);
	for (int i = 0; i < job_kind_fields(e->kind); i++)
		add_field(&body, e->field[i]);
	text_addc(&body, '\n');
	snprintf(before, sizeof before, "%08x", previous);
	text_addf(line, "%08x ", job_crc(job_crc(0, before, 8), text_str(&body), body.len));
	text_add(line, text_str(&body));
	text_free(&body);
}

/* ---- reading: strict, so that no flipped bit is overlooked --------------------------------------- */

static int hex(char c)
{
	return c >= '0' && c <= '9' ? c - '0' : c >= 'a' && c <= 'f' ? c - 'a' + 10 : -1;
}

static bool take_crc(const char **at, const char *end, unsigned *out)
{
	*out = 0;
	if (end - *at < 9 || (*at)[8] != ' ')
		return false;
	for (int i = 0; i < 8; i++) {
		int d = hex((*at)[i]);

		if (d < 0)
			return false;
		*out = *out << 4 | (unsigned)d;
	}
	*at += 9;
	return true;
}

static bool take_number(const char **at, const char *end, long long *out)
{
	const char *s = *at;

	*out = 0;
	for (; s < end && *s >= '0' && *s <= '9' && s - *at < 18; s++)
		*out = *out * 10 + (*s - '0');
	if (s == *at || (s < end && *s != ' '))
		return false;
	*at = s < end ? s + 1 : s;
	return true;
}

int job_kind_by_name(const char *name, size_t n)
{
	for (int k = 0; k < JOB_UNKNOWN; k++)
		if (strlen(kinds[k].name) == n && memcmp(kinds[k].name, name, n) == 0)
			return k;
	return JOB_UNKNOWN;
}

/* A word that names no kind is one of a later version; -1: not a word at all. */
static int take_kind(const char **at, const char *end)
{
	const char *word = *at, *s = word;

	while (s < end && ((*s >= 'a' && *s <= 'z') || *s == '-'))
		s++;
	if (s == word || s == end || *s != ' ')
		return -1;
	*at = s + 1;
	return job_kind_by_name(word, (size_t)(s - word));
}

static bool take_field(const char **at, const char *end, struct arena *arena, const char **out)
{
	const char *space = *at < end ? memchr(*at, ' ', (size_t)(end - *at)) : NULL;
	size_t n = (size_t)((space ? space : end) - *at);
	char *s, *to;

	if (n > JOB_FIELD_BYTES * 3)
		return false;
	to = s = arena_alloc(arena, n + 1);
	for (; *at < end && **at != ' '; (*at)++) {
		if (**at != '%') {
			*to++ = **at;
			continue;
		}
		if (end - *at >= 2 && (*at)[1] == '-') {
			(*at)++;
			continue;
		}
		if (end - *at < 3 || hex((*at)[1]) < 0 || hex((*at)[2]) < 0 ||
		    hex((*at)[1]) * 16 + hex((*at)[2]) == 0)
			return false;
		*to++ = (char)(hex((*at)[1]) * 16 + hex((*at)[2]));
		*at += 2;
	}
	if (*at < end)
		(*at)++;
	*out = s;
	return true;
}

int job_event_read(const char *line, size_t n, unsigned previous, long seq, struct arena *arena,
		   struct job_event *out, unsigned *crc)
{
	const char *at = line, *end = line + n;
	long long number;
	char before[9];
	int kind;

	memset(out, 0, sizeof *out);
	if (!take_crc(&at, end, crc))
		return -1;
	snprintf(before, sizeof before, "%08x", previous);
	if (job_crc(job_crc(job_crc(0, before, 8), at, (size_t)(end - at)), "\n", 1) != *crc)
		return -1;
	if (!take_number(&at, end, &number) || number != seq)
		return -1;
	kind = take_kind(&at, end);
	if (kind < 0 || !take_number(&at, end, &out->when))
		return -1;
	out->kind = (enum job_kind)kind;
	out->seq = seq;
	for (int i = 0; i < kinds[kind].fields; i++)
		if (!take_field(&at, end, arena, &out->field[i]))
			return -1;
	return 0;
}
