/* XML -> elements, by libxml2 in its narrowest use: one buffer in memory, start, end and text
 * events, no tree, no entities, no network, no options that widen anything.
 *
 * Every element and attribute is held against the rules the moment it is seen.  libxml2's own
 * messages never come out: what it finds is said in our words, at its line. */
#include <libxml/parser.h>
#include <libxml/parserInternals.h>
#include <libxml/xmlerror.h>
#include <string.h>

#include "knowledge/inner.h"

struct parse {
	struct load *l;
	struct source *s;
	xmlParserCtxtPtr ctxt;
	int tag;                /* next one in s->tags */
	struct el *now;         /* the element that is open; NULL outside the root */
	struct text words;      /* of the element that is open */
	bool failed;
};

#if LIBXML_VERSION >= 21200
typedef const xmlError *error_ptr;
#else
typedef xmlErrorPtr error_ptr;
#endif

/* ---- libxml2 and its memory ------------------------------------------------------------- */

/* Memory that runs out must end the program, not silently shorten a document (docs/robustness.md). */
static void *xml_alloc(size_t size) { return mem_alloc(size); }
static void *xml_resize(void *old, size_t size) { return mem_resize(old, size); }
static char *xml_copy(const char *s) { return mem_strdup(s); }

static xmlParserInputPtr no_entity(const char *url, const char *id, xmlParserCtxtPtr ctxt)
{
	(void)url;
	(void)id;
	(void)ctxt;
	return NULL;
}

static void prepare_library(void)
{
	static bool prepared;

	if (prepared)
		return;
	prepared = true;
	xmlMemSetup(mem_free, xml_alloc, xml_resize, xml_copy);
	xmlInitParser();
	xmlSetExternalEntityLoader(no_entity);
}

/* ---- events ------------------------------------------------------------------------------- */

static void stop(struct parse *p)
{
	p->failed = true;
	xmlStopParser(p->ctxt);
}

static const struct kid_rule *kid_rule(const struct el *parent, const char *name)
{
	const struct el_rule *rule = &el_rules[parent->kind];

	for (int i = 0; i < rule->nkids; i++)
		if (!strcmp(el_rules[rule->kids[i].kind].name, name))
			return &rule->kids[i];
	return NULL;
}

static int wrong_kid(struct parse *p, const char *name)
{
	const struct el_rule *rule = &el_rules[p->now->kind];
	const char *names[E_COUNT];
	struct text t = { 0 };

	for (int i = 0; i < rule->nkids; i++)
		names[i] = el_rules[rule->kids[i].kind].name;
	text_addf(&t, "<%.60s> cannot stand in <%s>", name, rule->name);
	if (rule->nkids)
		advise(&t, name, names, rule->nkids, "allowed are");
	else
		text_add(&t, ", which has no elements inside");
	err_at(p->l->err, HS_BAD_TREE, p->s->path, p->s->tags[p->tag].line, "%s", text_str(&t));
	text_free(&t);
	return -1;
}

static struct el *new_el(struct parse *p, enum el_kind kind)
{
	struct el *e = arena_alloc(p->l->scratch, sizeof *e);

	e->kind = kind;
	e->index = KN_NONE;
	e->source = p->s;
	e->tag = &p->s->tags[p->tag];
	e->parent = p->now;
	e->value = arena_array(p->l->scratch, (size_t)el_rules[kind].nattrs, sizeof *e->value);
	return e;
}

static void hang(struct el *parent, struct el *e)
{
	if (parent->last)
		parent->last->next = e;
	else
		parent->first = e;
	parent->last = e;
	parent->nkids++;
}

static int wrong_attribute(struct parse *p, const struct el *e, const char *name)
{
	const struct el_rule *rule = &el_rules[e->kind];
	const char *names[40];
	struct text t = { 0 };

	for (int i = 0; i < rule->nattrs && i < COUNT(names); i++)
		names[i] = rule->attrs[i].name;
	text_addf(&t, "<%s> has no attribute \"%.60s\"", rule->name, name);
	if (rule->nattrs)
		advise(&t, name, names, rule->nattrs, "it has");
	else
		text_add(&t, ", nor any other");
	el_err(p->l, e, name, "%s", text_str(&t));
	text_free(&t);
	return -1;
}

/* White space folded, none at the ends. libxml2 hands `&` in values over as `&#38;`. */
static char *fold(struct arena *a, const char *s, size_t n)
{
	char *out = arena_alloc(a, n + 1);
	size_t len = 0;

	for (size_t i = 0; i < n; i++) {
		if (strchr(" \t\r\n", s[i])) {
			if (len && out[len - 1] != ' ')
				out[len++] = ' ';
		} else {
			out[len++] = s[i];
			if (s[i] == '&' && n - i > 4 && !memcmp(s + i, "&#38;", 5))
				i += 4;
		}
	}
	while (len && out[len - 1] == ' ')
		len--;
	out[len] = '\0';
	return out;
}

static int set_attribute(struct parse *p, struct el *e, const char *name, const char *s, size_t n)
{
	const struct el_rule *rule = &el_rules[e->kind];
	const char *value = fold(p->l->keep, s, n);
	struct text why = { 0 };
	int i = 0;

	while (i < rule->nattrs && strcmp(rule->attrs[i].name, name) != 0)
		i++;
	if (i == rule->nattrs)
		return wrong_attribute(p, e, name);
	e->value[i] = value;
	if (!value_fits(&rule->attrs[i], value, &why))
		el_err(p->l, e, name, "%s=\"%.100s\" %s", name, value, text_str(&why));
	text_free(&why);
	return p->l->err->code ? -1 : 0;
}

static int required_attributes(struct parse *p, const struct el *e)
{
	const struct el_rule *r = &el_rules[e->kind];

	for (int i = 0; i < r->nattrs; i++)
		if (r->attrs[i].required && !e->value[i])
			return el_err(p->l, e, NULL, "<%s> needs the attribute \"%s\"", r->name,
				      r->attrs[i].name);
	if (r->either && !el_attr(e, r->either) == !el_attr(e, r->other))
		return el_err(p->l, e, NULL, "<%s> needs either \"%s\" or \"%s\"%s", r->name, r->either,
			      r->other, el_attr(e, r->either) ? ", not both" : "");
	return 0;
}

static int open_element(struct parse *p, const char *name, int nattrs, const xmlChar **attrs)
{
	enum el_kind kind = E_KNOWLEDGE;
	struct el *e;

	if (p->now) {
		const struct kid_rule *k = kid_rule(p->now, name);

		if (!k)
			return wrong_kid(p, name);
		kind = k->kind;
		if (k->most == 1 && el_kid(p->now, kind))
			return err_at(p->l->err, HS_BAD_TREE, p->s->path, p->s->tags[p->tag].line,
				      "a second <%s> in this <%s>; the first one is on line %d", name,
				      el_rules[p->now->kind].name, el_kid(p->now, kind)->tag->line);
	} else if (strcmp(name, "knowledge") != 0) {
		return err_at(p->l->err, HS_BAD_TREE, p->s->path, p->s->tags[p->tag].line,
			      "the root element is <%.60s>; it must be <knowledge version=\"1\">", name);
	}
	e = new_el(p, kind);
	for (int i = 0; i < nattrs; i++)
		if (set_attribute(p, e, (const char *)attrs[5 * i], (const char *)attrs[5 * i + 3],
				  (size_t)(attrs[5 * i + 4] - attrs[5 * i + 3])) < 0)
			return -1;
	if (required_attributes(p, e) < 0)
		return -1;
	if (p->now) {
		if (p->now->kind != E_KNOWLEDGE && p->now->nkids == KIDS_MAX)
			return el_too_many(p->l, e, KIDS_MAX, "elements inside another");
		hang(p->now, e);
	}
	p->now = e;
	return 0;
}

static int keep_text(struct parse *p, struct el *e)
{
	const struct el_rule *rule = &el_rules[e->kind];

	if (!rule->text)
		return 0;
	e->text = fold(p->l->keep, text_str(&p->words), p->words.len);
	text_clear(&p->words);
	if (!*e->text)
		return el_err(p->l, e, NULL, "<%s> has no text", rule->name);
	if (strlen(e->text) > TEXT_MAX)
		return el_err(p->l, e, NULL, "the text of <%s> is longer than %d bytes", rule->name,
			      TEXT_MAX);
	return 0;
}

static int enough_kids(struct parse *p, const struct el *e)
{
	const struct el_rule *rule = &el_rules[e->kind];

	for (int i = 0; i < rule->nkids; i++)
		if (rule->kids[i].least && el_count(e, rule->kids[i].kind) < rule->kids[i].least)
			return el_err(p->l, e, NULL, "<%s> needs %s <%s> inside", rule->name,
				      rule->kids[i].least > 1 ? "at least two" : "a",
				      el_rules[rule->kids[i].kind].name);
	return 0;
}

static void add_top(struct load *l, struct el *e)
{
	if (l->ntops == l->tops_cap) {
		l->tops_cap = l->tops_cap ? l->tops_cap * 2 : 256;
		l->tops = mem_resize_array(l->tops, (size_t)l->tops_cap, sizeof *l->tops);
	}
	l->tops[l->ntops++] = e;
}

static int close_element(struct parse *p)
{
	struct el *e = p->now;

	if (keep_text(p, e) < 0 || enough_kids(p, e) < 0)
		return -1;
	if (e->parent && e->parent->kind == E_KNOWLEDGE)
		add_top(p->l, e);
	p->now = e->parent;
	return 0;
}

static void on_start(void *data, const xmlChar *name, const xmlChar *prefix, const xmlChar *uri,
		     int nspaces, const xmlChar **spaces, int nattrs, int ndefaulted,
		     const xmlChar **attrs)
{
	struct parse *p = data;

	(void)uri;
	(void)spaces;
	(void)ndefaulted;
	if (p->failed)
		return;
	if (prefix || nspaces) {
		err_at(p->l->err, HS_BAD_TREE, p->s->path, p->s->tags[p->tag].line,
		       "XML namespaces (xmlns, names with a colon) are not used here");
		stop(p);
	} else if (open_element(p, (const char *)name, nattrs, attrs) < 0) {
		stop(p);
	}
	p->tag++;
}

static void on_end(void *data, const xmlChar *name, const xmlChar *prefix, const xmlChar *uri)
{
	struct parse *p = data;

	(void)name;
	(void)prefix;
	(void)uri;
	if (p->failed)
		return;
	if (!p->now->tag->closes)
		p->tag++;
	if (close_element(p) < 0)
		stop(p);
}

/* The line of the first letter behind the last tag. */
static int text_line(const struct parse *p)
{
	const struct tag *t = &p->s->tags[p->tag - 1];
	const char *s = p->s->bytes + t->at;
	int line = t->line;

	for (; s < p->s->bytes + t->end || strchr(" \t\r\n", *s); s++)
		line += *s == '\n';
	return line;
}

static void on_text(void *data, const xmlChar *s, int n)
{
	struct parse *p = data;

	if (p->failed || !p->now)
		return;
	if (el_rules[p->now->kind].text) {
		text_addn(&p->words, (const char *)s, (size_t)n);
		return;
	}
	for (int i = 0; i < n; i++)
		if (!strchr(" \t\r\n", s[i])) {
			err_at(p->l->err, HS_BAD_TREE, p->s->path, text_line(p),
			       "text in <%s>, which has none", el_rules[p->now->kind].name);
			stop(p);
			return;
		}
}

/* What libxml2 refuses beyond what the scan has refused already, in our words. */
static const char *library_words(int code)
{
	switch (code) {
	case XML_ERR_ATTRIBUTE_REDEFINED: return "an attribute is there twice in one tag";
	case XML_ERR_ATTRIBUTE_WITHOUT_VALUE: return "an attribute has no =\"value\"";
	case XML_ERR_ATTRIBUTE_NOT_STARTED: return "a value must stand in quotes";
	case XML_ERR_SPACE_REQUIRED: return "a blank is missing between attributes";
	case XML_ERR_INVALID_CHAR:
	case XML_ERR_INVALID_CHARREF:
	case XML_ERR_INVALID_HEX_CHARREF:
	case XML_ERR_INVALID_DEC_CHARREF: return "this is no character XML allows";
	case XML_ERR_HYPHEN_IN_COMMENT: return "-- inside a comment";
	case XML_ERR_MISPLACED_CDATA_END: return "]]> in a text";
	case XML_ERR_DOCUMENT_END: return "something stands behind the root element";
	case XML_ERR_DOCUMENT_START:
	case XML_ERR_DOCUMENT_EMPTY: return "something stands before the root element";
	case XML_NS_ERR_UNDEFINED_NAMESPACE:
	case XML_NS_ERR_XML_NAMESPACE:
	case XML_NS_ERR_QNAME:
	case XML_NS_ERR_COLON: return "XML namespaces (xmlns, names with a colon) are not used here";
	case XML_ERR_UNSUPPORTED_ENCODING:
	case XML_ERR_INVALID_ENCODING:
	case XML_ERR_UNKNOWN_ENCODING: return "the encoding must be UTF-8";
	case XML_ERR_UNKNOWN_VERSION:
	case XML_ERR_VERSION_MISSING:
	case XML_WAR_UNDECLARED_ENTITY:
	case XML_ERR_XMLDECL_NOT_FINISHED:
	case XML_ERR_XMLDECL_NOT_STARTED: return "the XML declaration is not right; "
						 "<?xml version=\"1.0\" encoding=\"UTF-8\"?> is";
	default: return "this is not well-formed XML";
	}
}

static void on_error(void *data, error_ptr e)
{
	struct parse *p = data;

	if (!e || e->level < XML_ERR_ERROR || p->failed)
		return;
	err_at(p->l->err, HS_BAD_TREE, p->s->path, e->line > 0 ? e->line : 1, "%s",
	       library_words(e->code));
	stop(p);
}

int parse_source(struct load *l, struct source *s)
{
	struct parse p = { .l = l, .s = s };
	xmlSAXHandler events;

	prepare_library();
	memset(&events, 0, sizeof events);
	events.initialized = XML_SAX2_MAGIC;
	events.startElementNs = on_start;
	events.endElementNs = on_end;
	events.characters = events.ignorableWhitespace = events.cdataBlock = on_text;
	events.serror = on_error;
	p.ctxt = xmlCreateMemoryParserCtxt(s->bytes, (int)s->size);
	if (!p.ctxt)
		return err_at(l->err, HS_BAD_TREE, s->path, 1, "the file cannot be read as XML");
	*p.ctxt->sax = events;
	p.ctxt->userData = &p;
	xmlCtxtUseOptions(p.ctxt, XML_PARSE_NONET | XML_PARSE_BIG_LINES);
	xmlParseDocument(p.ctxt);
	if (!p.failed && (!p.ctxt->wellFormed || p.now)) {
		p.failed = true;
		err_at(l->err, HS_BAD_TREE, s->path, 1, "this is not well-formed XML");
	}
	xmlFreeParserCtxt(p.ctxt);
	text_free(&p.words);
	return p.failed ? -1 : 0;
}
