/* Asking an element for its attributes, children and place. */
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "knowledge/inner.h"

const char *el_attr(const struct el *e, const char *name)
{
	const struct el_rule *rule = &el_rules[e->kind];

	for (int i = 0; i < rule->nattrs; i++)
		if (!strcmp(rule->attrs[i].name, name))
			return e->value[i];
	return NULL;
}

const char *el_id(const struct el *e)
{
	const char *id = el_attr(e, "id");

	return id ? id : "";
}

/* The rules have let numbers through only. */
double el_number(const struct el *e, const char *name, double otherwise)
{
	const char *s = el_attr(e, name);
	double x = otherwise;

	if (s)
		value_number(s, &x);
	return x;
}

bool el_yes(const struct el *e, const char *name)
{
	const char *s = el_attr(e, name);

	return s && !strcmp(s, "yes");
}

int el_choice(const struct el *e, const char *name, const char *const *words, int otherwise)
{
	const char *s = el_attr(e, name);

	for (int i = 0; s && words[i]; i++)
		if (!strcmp(words[i], s))
			return i;
	return otherwise;
}

struct el *el_kid(const struct el *e, enum el_kind kind)
{
	struct el *k = e->first;

	while (k && k->kind != kind)
		k = k->next;
	return k;
}

struct el *el_next(const struct el *kid, enum el_kind kind)
{
	struct el *k = kid->next;

	while (k && k->kind != kind)
		k = k->next;
	return k;
}

int el_count(const struct el *e, enum el_kind kind)
{
	int n = 0;

	for (struct el *k = el_kid(e, kind); k; k = el_next(k, kind))
		n++;
	return n;
}

const char *el_kid_text(const struct el *e, enum el_kind kind, const char *otherwise)
{
	struct el *k = el_kid(e, kind);

	return k ? k->text : otherwise;
}

/* Only called for errors, so the tag is looked through again. */
int el_line(const struct el *e, const char *attr)
{
	const char *s = e->source->bytes + e->tag->at, *end = e->source->bytes + e->tag->end;
	size_t n = attr ? strlen(attr) : 0;
	int line = e->tag->line;
	char quote = 0;

	for (; n && s < end; s++) {
		line += *s == '\n';
		if (quote ? *s == quote : *s == '"' || *s == '\'')
			quote = quote ? 0 : *s;
		else if (!quote && strchr(" \t\r\n", *s) && (size_t)(end - s) > n + 1 &&
			 !strncmp(s + 1, attr, n) && strchr(" \t\r\n=", s[n + 1]))
			return line;
	}
	return e->tag->line;
}

int el_too_many(const struct load *l, const struct el *e, int most, const char *what)
{
	return err_at(l->err, HS_LIMIT, e->source->path, e->tag->line, "more than %d %s", most, what);
}

int el_err(const struct load *l, const struct el *e, const char *attr, const char *format, ...)
{
	char said[sizeof l->err->text];
	va_list args;

	va_start(args, format);
	vsnprintf(said, sizeof said, format, args);
	va_end(args);
	return err_at(l->err, HS_BAD_TREE, e->source->path, el_line(e, attr), "%s", said);
}
