/* First look at the bytes of a file, before any XML library sees them.
 *
 * Refuses what no tree needs and what costs a parser dearly: NUL and other controls, other
 * encodings, document types and their entities, processing instructions, tags of more than 16 KiB
 * (the attribute check behind it is quadratic), more than 32 levels.  On the way it notes where
 * every tag stands, so that errors name the line a person looks for: that of the `<`, and of the
 * attribute. */
#include <ctype.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

#include "knowledge/inner.h"

struct scan {
	struct load *l;
	struct source *s;
	size_t i;               /* next byte */
	int line;
	int depth;
	int open[DEPTH_MAX];    /* tags that are open, as indices */
	bool had_root;
};

__attribute__((format(printf, 3, 4)))
static int refuse(const struct scan *c, int line, const char *format, ...)
{
	char said[400];
	va_list args;

	va_start(args, format);
	vsnprintf(said, sizeof said, format, args);
	va_end(args);
	return err_at(c->l->err, HS_BAD_TREE, c->s->path, line, "%s", said);
}

static bool at(const struct scan *c, const char *what)
{
	size_t n = strlen(what);

	return c->s->size - c->i >= n && !memcmp(c->s->bytes + c->i, what, n);
}

/* Moves over one character; -1 when it may not be there. */
static int step(struct scan *c)
{
	const char *s = c->s->bytes + c->i;
	unsigned char b = (unsigned char)*s;
	uint32_t point;
	size_t n = 1;

	if (b == '\n')
		c->line++;
	else if (b < 0x20 && b != '\t' && b != '\r')
		return refuse(c, c->line, b ? "a control character (byte %d)" : "a NUL byte (%d)", b);
	else if (b >= 0x80 && (n = text_decode(s, c->s->size - c->i, &point)) == 0)
		return refuse(c, c->line, "these bytes are not UTF-8");
	c->i += n;
	return 0;
}

/* Moves behind the next `end`; `what` began on `line`. */
static int skip_to(struct scan *c, const char *end, const char *what)
{
	int line = c->line;

	while (c->i < c->s->size) {
		if (at(c, end)) {
			c->i += strlen(end);
			return 0;
		}
		if (step(c) < 0)
			return -1;
	}
	return refuse(c, line, "%s is not ended by %s", what, end);
}

static int reference(struct scan *c)
{
	static const char *const known[] = { "&lt;", "&gt;", "&amp;", "&quot;", "&apos;", "&#" };
	size_t n = 1;

	for (int i = 0; i < COUNT(known); i++)
		if (at(c, known[i])) {
			c->i++;
			return 0;
		}
	while (n < 30 && c->i + n < c->s->size && isalnum((unsigned char)c->s->bytes[c->i + n]))
		n++;
	if (n == 1)
		return refuse(c, c->line, "a lone & must be written &amp;");
	return refuse(c, c->line, "unknown entity %.*s; there are &lt; &gt; &amp; &quot; &apos;",
		      (int)n, c->s->bytes + c->i);
}

static size_t name_length(const char *s)
{
	return strcspn(s, " \t\r\n/>=\"'<");
}

/* From behind `<` or `</` to behind `>`; quotes are respected. */
static int tag_end(struct scan *c, int line)
{
	size_t start = c->i;
	char quote = 0;

	while (c->i < c->s->size) {
		char b = c->s->bytes[c->i];

		if (c->i - start > TAG_BYTES_MAX)
			return refuse(c, line, "a tag of more than %d bytes", TAG_BYTES_MAX);
		if (b == '<')
			return refuse(c, c->line, "a < inside the tag that begins on line %d", line);
		if (b == '>' && !quote) {
			c->i++;
			return 0;
		}
		if (quote ? b == quote : b == '"' || b == '\'')
			quote = quote ? 0 : b;
		if ((b == '&' ? reference(c) : step(c)) < 0)
			return -1;
	}
	return refuse(c, line, quote ? "a value in this tag is not ended by its quote"
				     : "this tag is not ended by >");
}

static int close_tag(struct scan *c, const char *name, size_t n, int line)
{
	const struct tag *open;
	const char *was;
	size_t was_n;

	if (c->depth == 0)
		return refuse(c, line, "</%.*s> closes nothing", (int)(n > 40 ? 40 : n), name);
	open = &c->s->tags[c->open[--c->depth]];
	was = c->s->bytes + open->at + 1;
	was_n = name_length(was);
	if (n != was_n || memcmp(name, was, n) != 0)
		return refuse(c, line, "</%.*s> where </%.*s> is due: <%.*s> is open since line %d",
			      (int)(n > 40 ? 40 : n), name, (int)(was_n > 40 ? 40 : was_n), was,
			      (int)(was_n > 40 ? 40 : was_n), was, open->line);
	return 0;
}

static int tag(struct scan *c)
{
	struct tag *t = &c->s->tags[c->s->ntags];
	bool closing = at(c, "</");
	const char *name = c->s->bytes + c->i + (closing ? 2 : 1);

	t->at = c->i;
	t->line = c->line;
	c->i += closing ? 2 : 1;
	if (name_length(name) == 0)
		return refuse(c, c->line, "a lone < must be written &lt;");
	if (tag_end(c, t->line) < 0)
		return -1;
	t->end = c->i;
	t->opens = !closing;
	t->closes = closing || c->s->bytes[c->i - 2] == '/';
	if (closing && close_tag(c, name, name_length(name), t->line) < 0)
		return -1;
	if (t->opens && c->depth == DEPTH_MAX)
		return refuse(c, t->line, "elements are more than %d deep", DEPTH_MAX);
	if (t->opens && c->depth == 0 && c->had_root)
		return refuse(c, t->line, "a second root element; everything belongs in one <knowledge>");
	c->had_root = true;
	if (t->opens && !t->closes)
		c->open[c->depth++] = c->s->ntags;
	c->s->ntags++;
	return 0;
}

/* Does the declaration say name="value"? `otherwise` when the name is not in it. */
static bool declares(const char *from, size_t n, const char *name, const char *value, bool otherwise)
{
	const char *at = memmem(from, n, name, strlen(name));

	if (!at)
		return otherwise;
	at += strlen(name);
	at += strspn(at, " \t\r\n=");
	return (*at == '"' || *at == '\'') && !strncasecmp(at + 1, value, strlen(value)) &&
	       at[1 + strlen(value)] == *at;
}

static int declaration(struct scan *c)
{
	const char *from = c->s->bytes + c->i;
	int line = c->line;
	size_t n;

	if (c->i != 0 || !(at(c, "<?xml ") || at(c, "<?xml\t") || at(c, "<?xml\n")))
		return refuse(c, line, "processing instructions (<? ... ?>) are not used here; only "
				       "<?xml ... ?> at the very beginning");
	if (skip_to(c, "?>", "the XML declaration") < 0)
		return -1;
	n = (size_t)(c->s->bytes + c->i - from);
	if (!declares(from, n, "encoding", "UTF-8", true))
		return refuse(c, line, "the encoding must be UTF-8");
	if (!declares(from, n, "version", "1.0", false))
		return refuse(c, line, "the XML declaration is not right; <?xml version=\"1.0\" "
				       "encoding=\"UTF-8\"?> is");
	return 0;
}

static int one(struct scan *c)
{
	if (c->s->bytes[c->i] != '<')
		return c->s->bytes[c->i] == '&' ? reference(c) : step(c);
	if (at(c, "<!--"))
		return skip_to(c, "-->", "this comment");
	if (at(c, "<![CDATA["))
		return skip_to(c, "]]>", "this CDATA section");
	if (at(c, "<!"))
		return refuse(c, c->line, "document types and their entities (<!...) are not used here");
	if (at(c, "<?"))
		return declaration(c);
	return tag(c);
}

static int no_other_encoding(const struct scan *c)
{
	if (at(c, "\xEF\xBB\xBF"))
		return refuse(c, 1, "the file begins with a byte order mark; save it without");
	if (at(c, "\xFE\xFF") || at(c, "\xFF\xFE") || (c->s->size > 1 && !c->s->bytes[1]) ||
	    (c->s->size && !c->s->bytes[0]))
		return refuse(c, 1, "the file is not UTF-8 text");
	return 0;
}

int scan_source(struct load *l, struct source *s)
{
	struct scan c = { .l = l, .s = s, .line = 1 };
	size_t most = 0;

	for (const char *p = s->bytes; (p = memchr(p, '<', s->size - (size_t)(p - s->bytes))); p++)
		most++;
	s->tags = arena_array(l->scratch, most + 1, sizeof *s->tags);
	if (no_other_encoding(&c) < 0)
		return -1;
	while (c.i < s->size)
		if (one(&c) < 0)
			return -1;
	if (c.depth > 0) {
		const struct tag *open = &s->tags[c.open[c.depth - 1]];
		const char *name = s->bytes + open->at + 1;

		return refuse(&c, open->line, "<%.*s> is never closed",
			      (int)(name_length(name) > 40 ? 40 : name_length(name)), name);
	}
	if (!c.had_root)
		return refuse(&c, 1, "the file has no element; the root is <knowledge version=\"1\">");
	return 0;
}
