/* Names that are written once and never used again.
 *
 * Told from the files themselves, not from what is loaded: binding to a machine drops what it does
 * not use.  A name is used where it stands as a word in the value of an attribute other than id. */
#include <ctype.h>
#include <stdio.h>
#include <string.h>

#include "base/file.h"
#include "base/mem.h"
#include "report/lint.h"

#define FILE_BYTES (2 << 20)   /* the loader's limit for one file */

/* One word in front of each: attribute values, and the elements that define names. */
struct names { struct text values; struct text defined; };

static bool name_char(char c)
{
	return isalnum((unsigned char)c) || c == '-';
}

/* ---- reading the files ---------------------------------------------------------------------- */

static bool same(const char *s, size_t length, const char *word)
{
	return strlen(word) == length && strncmp(s, word, length) == 0;
}

/* One attribute: NAME="VALUE". Titles are words for people and use nothing. */
static void take_attribute(struct names *n, const char *element, size_t length, const char *name,
			   size_t name_length, const char *value, size_t value_length)
{
	bool id = same(name, name_length, "id");

	if (same(name, name_length, "title") || same(name, name_length, "sets-when"))
		return;
	text_addc(id ? &n->defined : &n->values, ' ');
	if (id) {
		text_addn(&n->defined, element, length);
		text_addc(&n->defined, ':');
	}
	text_addn(id ? &n->defined : &n->values, value, value_length);
}

/* s stands behind '<'; takes the attributes up to '>' and returns what follows. The loader has
 * accepted the file before, so its quotes match. */
static const char *take_tag(struct names *n, const char *s)
{
	const char *element = s;
	size_t length = strcspn(s, " \t\r\n/>");

	for (s += length; *s && *s != '>'; ) {
		const char *name = s, *quote, *end;
		size_t name_length = strcspn(s, "= \t\r\n/>");

		if (!name_length) {
			s++;
			continue;
		}
		quote = name + name_length + strcspn(name + name_length, "\"'>");
		end = *quote && *quote != '>' ? strchr(quote + 1, *quote) : NULL;
		if (!end)
			return quote + strlen(quote);
		take_attribute(n, element, length, name, name_length, quote + 1,
			       (size_t)(end - quote - 1));
		s = end + 1;
	}
	return *s ? s + 1 : s;
}

static void take_text(struct names *n, const char *s)
{
	while ((s = strchr(s, '<'))) {
		const char *end;

		if (strncmp(s, "<!--", 4) == 0) {
			end = strstr(s, "-->");
			s = end ? end + 3 : s + strlen(s);
		} else if (s[1] == '/' || s[1] == '?') {
			s++;
		} else {
			s = take_tag(n, s + 1);
		}
	}
}

static int take_file(void *with, const char *path, struct hs_err *err)
{
	size_t size;
	char *all = file_read(path, FILE_BYTES, &size, err);

	if (!all)
		return -1;
	take_text(with, all);
	mem_free(all);
	return 0;
}

/* ---- is it used ----------------------------------------------------------------------------- */

static bool is_used(const struct names *n, const char *name, size_t length)
{
	const char *all = text_str(&n->values);

	for (const char *at = strstr(all, name); at; at = strstr(at + 1, name))
		if ((at == all || !name_char(at[-1])) && !name_char(at[length]))
			return true;
	return false;
}

/* Names of these elements are for others to use. */
static const char *const usable[] = { "tool",	 "option", "circumstance", "history", "access",
				      "setting", "gate",   "value",	   "part",    "spoiler" };

static void judge(struct lint *l, const struct names *n, const char *defined)
{
	const char *colon = strchr(defined, ':');
	size_t kind = colon ? (size_t)(colon - defined) : 0, length;
	char name[128];

	if (!kind)
		return;
	length = strcspn(colon + 1, " ");
	if (length >= sizeof name)
		return;
	memcpy(name, colon + 1, length);
	name[length] = '\0';
	for (size_t i = 0; i < sizeof usable / sizeof *usable; i++)
		if (strlen(usable[i]) == kind && strncmp(usable[i], defined, kind) == 0 &&
		    strcmp(name, "on-bike") != 0 && !is_used(n, name, length))
			lint_add(l, LINT_FAULT, "unused", "%s \"%s\" is used nowhere", usable[i],
				 name);
}

int lint_names(struct lint *l, const char *path, struct hs_err *err)
{
	struct names n = { { 0 }, { 0 } };
	int result = kn_files(path, take_file, &n, err);

	for (const char *s = text_str(&n.defined); result == 0 && *s; s += strcspn(s, " ")) {
		s += *s == ' ';
		judge(l, &n, s);
	}
	text_free(&n.values);
	text_free(&n.defined);
	return result;
}
