/* What the files of this room share: elements as read from XML, the rules they follow, names,
 * and the state of one binding.
 *
 * The way through: walk (which files) -> scan (bytes, tags, lines) -> parse (libxml2 -> elements,
 * held against rules) -> names (ids and references) -> bind_* (elements + machine -> knowledge).
 * Every step returns 0, or -1 with the error set; nothing but the two arenas is owned. */
#ifndef KNOWLEDGE_INNER_H
#define KNOWLEDGE_INNER_H

#include <limits.h>

#include "base/mem.h"
#include "base/text.h"
#include "knowledge/knowledge.h"

#define COUNT(a) ((int)(sizeof(a) / sizeof *(a)))

/* Limits; docs/robustness.md B2 says why each is needed. */
#define FILE_BYTES_MAX  (2u * 1024 * 1024)
#define TOTAL_BYTES_MAX (16u * 1024 * 1024)
#define FILES_MAX       1000
#define FOLDERS_DEEP    8
#define TAG_BYTES_MAX   (16 * 1024)
#define DEPTH_MAX       32
#define KIDS_MAX        300     /* of one element; lists of children are walked in pairs */
#define CHECKS_MAX      2000
#define FAULTS_MAX      2000
#define GATES_MAX       1000
#define GATE_WALK_MAX   10000   /* members of members ... of one gate, shared ones each time */
#define TOGETHER_MAX    1000
#define VOTES_MAX       8000000 /* outcomes with votes times faults: 64 MB of numbers */
#define ID_MAX          64
#define TEXT_MAX        4000

/* ---- elements --------------------------------------------------------------------------- */

enum el_kind {
	E_KNOWLEDGE,
	/* what may stand in <knowledge> */
	E_PRIOR, E_TOOL, E_OPTION, E_CIRCUMSTANCE, E_HISTORY, E_ACCESS, E_TOGETHER, E_SETTING, E_HOLD,
	E_PART, E_GATE, E_SYMPTOM, E_CHECK, E_REMEDY, E_MACHINE, E_SPOILER,
	/* shared children */
	E_CAUTION, E_CAUSE, E_HOW,
	/* of <setting> and <hold> */
	E_RESTORE, E_SAY, E_TRIGGER, E_CLEARED,
	/* of <part>, <gate> and <symptom> */
	E_PART_VALUE, E_MODE, E_SHOWS, E_GATE_OF, E_SAYS, E_ASK, E_BRANCH,
	/* of <check> */
	E_READING, E_MODEL, E_OUTCOME, E_MEANS, E_WHEN, E_TABLE, E_ROW,
	E_SERIES, E_PARALLEL, E_SUM, E_DIFFERENCE, E_RATIO, E_PRODUCT, E_SPREAD, E_HIGHEST, E_LOWEST,
	E_LEAF, E_CONSTANT, E_SPEC,
	/* of <remedy> */
	E_STEP, E_CLEARS, E_RECORD, E_VERIFY, E_PROOF,
	/* of <machine> */
	E_POSITIONS, E_POSITION, E_FITTED, E_VALUE, E_REACH, E_CODE, E_SCALE,
	E_COUNT
};

struct tag {
	size_t at, end;         /* offset of `<`, offset behind `>` */
	int line;               /* of `<` */
	bool opens, closes;     /* both for <x/> */
};

struct source {
	const char *path;       /* as it is named in errors */
	char *bytes; size_t size;
	int ntags; struct tag *tags;
	struct source *next;
};

struct el {
	enum el_kind kind;
	int index;              /* its place in the knowledge, once bound; KN_NONE */
	int nkids;
	const struct source *source;
	const struct tag *tag;
	const char **value;     /* by the order of the rule's attributes; NULL: left out */
	const char *text;       /* white space folded; NULL when the element has none */
	struct el *parent, *first, *last, *next;
};

/* ---- rules -------------------------------------------------------------------------------- */

enum value_kind {
	V_ID, V_PLACE, V_TEXT, V_NUMBER, V_NOT_NEGATIVE, V_POSITIVE, V_PROBABILITY, V_COUNT,
	V_CHOICE, V_CHOICES, V_UNIT, V_DERIVE, V_INSTRUMENT, V_PROBABILITIES, V_BITS, V_SITES,
	V_NAME,                 /* of an element of kind `of` */
	V_NAMES,                /* several, separated by blanks */
	V_MODE,                 /* part.mode, part.mode@all, part.mode@one */
	V_MODES_OR_GATES, V_AT
};

struct attr_rule {
	const char *name;
	enum value_kind kind;
	bool required;
	enum el_kind of;                /* V_NAME, V_NAMES */
	const char *const *words;       /* V_CHOICE, V_CHOICES; ends with NULL */
};

struct kid_rule { enum el_kind kind; int least, most; };

struct el_rule {
	const char *name;
	int nattrs; const struct attr_rule *attrs;
	int nkids; const struct kid_rule *kids;
	bool text;
	const char *either, *other;     /* exactly one of these two attributes */
};
extern const struct el_rule el_rules[E_COUNT];

extern const char *const yes_no[], *const energies[], *const signals[], *const sides[],
	*const runs[], *const spreads[], *const combines[], *const cost_classes[],
	*const gate_kinds[];

/* ---- loading -------------------------------------------------------------------------------- */

struct names;

struct load {
	struct arena *keep;             /* goes with the knowledge: every string */
	struct arena *scratch;          /* elements, tags; freed after binding */
	struct source *sources, *last_source;
	size_t total;
	int ntops, tops_cap; struct el **tops; /* children of <knowledge>, in order; mem */
	struct names *names;
	int nfigures; const struct kn_figure *figures;
	struct hs_err *err;
};

/* The .xml files under `dir` (or the file itself; several, separated by ":", one after the other),
 * sorted; in the scratch arena. Count or -1. */
int walk_files(struct load *l, const char *dir, const char ***out);
int scan_source(struct load *l, struct source *s);      /* fills tags */
int parse_source(struct load *l, struct source *s);     /* appends to tops */
int names_collect(struct load *l);
int names_check(struct load *l);                        /* every reference */
struct el *names_find(const struct load *l, enum el_kind kind, const char *id);
/* "; did you mean ...?" and "; there are ..." for a name that is not there. */
void names_advise(const struct load *l, enum el_kind kind, const char *wrong, struct text *t);
void advise(struct text *t, const char *wrong, const char *const *names, int n,
	    const char *there_are);

/* Does the value follow the rule? If not, what is wrong goes to `why` ("is not a number"). */
bool value_fits(const struct attr_rule *rule, const char *value, struct text *why);
bool value_number(const char *s, double *out);
/* Next blank-separated word of *at, copied to `out` (cut at size); false at the end. */
bool value_word(const char **at, char *out, size_t size);

/* ---- asking elements ------------------------------------------------------------------------ */

const char *el_attr(const struct el *e, const char *name);              /* NULL: left out */
const char *el_id(const struct el *e);                                  /* attribute id, or "" */
double el_number(const struct el *e, const char *name, double otherwise);
bool el_yes(const struct el *e, const char *name);
int el_choice(const struct el *e, const char *name, const char *const *words, int otherwise);
struct el *el_kid(const struct el *e, enum el_kind kind);               /* the first, or NULL */
struct el *el_next(const struct el *kid, enum el_kind kind);            /* its next sibling */
int el_count(const struct el *e, enum el_kind kind);
const char *el_kid_text(const struct el *e, enum el_kind kind, const char *otherwise);
int el_line(const struct el *e, const char *attr);                      /* attribute or tag */
/* Sets the error at the element (attr NULL) or at its attribute. Returns -1. */
int el_err(const struct load *l, const struct el *e, const char *attr, const char *format, ...)
	__attribute__((format(printf, 4, 5)));
int el_too_many(const struct load *l, const struct el *e, int most, const char *what);

/* ---- binding -------------------------------------------------------------------------------- */

enum narrow { ANY_PLACE, ONE_PLACE, ALL_PLACES };      /* rising: the narrower reference counts */

struct mode_ref { int mode; enum narrow narrow; };

struct bind {
	struct load *load;
	struct arena *arena;            /* load->keep */
	struct kn_knowledge *kn;
	const struct el *machine;
	double floor;
	int *gate_walk;                 /* [gates]: how many members a walk through it meets; scratch */
	int nvoted;                     /* outcomes with votes so far */
	int *first_fault, *fault_count; /* [nmodes]; scratch */
	int ngroups; const char **groups; /* same-fact; scratch */
	double *no_votes;               /* [nfaults] of NAN, shared by outcomes nobody votes for */
};

/* The next top of this kind at or after *at, which moves behind it; NULL at the end. */
struct el *top_after(const struct bind *b, int *at, enum el_kind kind);
int top_count(const struct bind *b, enum el_kind kind);

int bind_vocabulary(struct bind *b);    /* prior, tools, circumstances, histories */
int bind_machine(struct bind *b);       /* kinds, values, accesses */
int bind_parts(struct bind *b);         /* parts, modes, faults, together */
int bind_gates(struct bind *b);
int bind_checks(struct bind *b);        /* checks and symptoms, then something else's votes */
int bind_remedies(struct bind *b);      /* settings, remedies, holds */

bool option_fitted(const struct bind *b, const char *option);           /* NULL: true */
int kind_index(const struct bind *b, const char *id);                   /* NULL id: KN_NONE */
int value_index(const struct bind *b, const char *id);
struct mode_ref mode_of(const struct bind *b, const char *ref);
bool fault_meant(const struct bind *b, int fault, enum narrow narrow);
uint64_t name_bits(const struct bind *b, const struct el *e, const char *attr, enum el_kind kind);
int bind_cautions(struct bind *b, const struct el *e, struct kn_caution **out);

int bind_reading(struct bind *b, const struct el *check, struct kn_check *c);
int bind_bands(struct bind *b, const struct el *check, struct kn_check *c);
int bind_models(struct bind *b, const struct el *check, struct kn_check *c);
int bind_table(struct bind *b, const struct el *check, struct kn_check *c);
/* Votes from the <when> or <cause> in `e`; from all branches of a symptom. */
int bind_votes(struct bind *b, const struct el *e, enum el_kind kind, struct kn_outcome *o);
int bind_symptom_votes(struct bind *b, const struct el *e, struct kn_outcome *o);
void something_elses_vote(struct bind *b, struct kn_outcome *yes);

#endif
