/* Cases as data: every case of tests/data/cases is played through the library.
 *
 * The format is docs/cases.md.  A case that does not come out is reported with its file and line
 * and the suspects as they stand; all cases are played before the test fails. */
#include <ctype.h>
#include <dirent.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "base/file.h"
#include "base/mem.h"
#include "base/text.h"
#include "job/job.h"

#define COUNT(a) (sizeof(a) / sizeof *(a))
#define MACHINES_MAX 8
#define CASES_LEAST 40
#define PER_SYMPTOM_LEAST 2

struct case_run {
	const char *file;
	int line;
	char title[160];
	struct kn_knowledge *kn;
	struct job *job;
	bool leads_waived;
	int nexpected;
	bool failed, quiet;
};

static struct kn_knowledge *known[MACHINES_MAX];
static int nknown, ncases, nfailed;
/* How often a symptom was the complaint of a case, by the index of the machine "four". */
static int *played;

static const char *in_root(const char *path)
{
	static char full[1024];
	const char *root = getenv("HALFSPLIT_ROOT");

	snprintf(full, sizeof full, "%s/%s", root ? root : ".", path);
	return full;
}

static struct kn_knowledge *knowledge_of(const char *machine)
{
	struct hs_err err = { 0 };

	for (int i = 0; i < nknown; i++)
		if (strcmp(known[i]->machine, machine) == 0)
			return known[i];
	assert_true(nknown < MACHINES_MAX);
	known[nknown] = kn_load(in_root("trees"), machine, &err);
	if (!known[nknown])
		fail_msg("%s:%d: %s", err.file, err.line, err.text);
	return known[nknown++];
}

/* ---- what came out -------------------------------------------------------------------------- */

static void complain(struct case_run *c, const char *format, ...)
	__attribute__((format(printf, 2, 3)));

static void complain(struct case_run *c, const char *format, ...)
{
	va_list list;

	if (!c->failed)
		nfailed++;
	c->failed = true;
	if (c->quiet)
		return;
	print_error("%s:%d: %s: ", c->file, c->line, c->title);
	va_start(list, format);
	vprint_error(format, list);
	va_end(list);
	print_error("\n");
}

static const char *line_name(const struct kn_knowledge *kn, const struct su_line *l, char name[160])
{
	const struct kn_mode *m = l->mode == KN_NONE ? NULL : &kn->modes[l->mode];
	const struct kn_part *part = m ? &kn->parts[m->part] : NULL;

	snprintf(name, 160, "%s%s%s", m ? m->ref : "something-else",
		 l->all		 ? "@all"
		 : l->place >= 0 ? "@"
				 : "",
		 l->place >= 0 && part && part->kind >= 0
			 ? kn->kinds[part->kind].places[l->place].id
			 : "");
	return name;
}

static void show_suspects(const struct kn_knowledge *kn, const struct su_line *lines, int n)
{
	char name[160];

	for (int i = 0; i < n && i < 6; i++)
		print_error("\t%d. %s %.3f\n", i + 1, line_name(kn, &lines[i], name), lines[i].p);
}

/* A line is meant by PART.MODE, and by PART.MODE@PLACE or @all when the place is decided so. */
static bool is_meant(const struct kn_knowledge *kn, const struct su_line *l, const char *name)
{
	char full[160];
	const char *at = strchr(name, '@');

	line_name(kn, l, full);
	return at ? strcmp(full, name) == 0
		  : strncmp(full, name, strlen(name)) == 0 &&
			       (full[strlen(name)] == '\0' || full[strlen(name)] == '@');
}

static bool name_exists(const struct kn_knowledge *kn, const char *name)
{
	char ref[160];

	snprintf(ref, sizeof ref, "%.*s", (int)strcspn(name, "@"), name);
	return kn_mode_by_ref(kn, ref) != KN_NONE;
}

/* The answer that goes least with the others. */
static void expect_odd(struct case_run *c, const char *check)
{
	struct su_settings settings = su_settings_default();
	struct hs_err err = { 0 };
	const struct job_view *v = job_view(c->job, &err);
	struct su_fit fit;

	c->nexpected++;
	if (!v || su_fits(c->kn, &v->the_case, &settings, &fit, &err) != 0)
		complain(c, "%s", err.text);
	else if (fit.odd == KN_NONE)
		complain(c, "no answer is odd");
	else if (strcmp(c->kn->checks[v->the_case.evidence[fit.odd].check].id, check) != 0)
		complain(c, "odd is %s, not %s",
			 c->kn->checks[v->the_case.evidence[fit.odd].check].id, check);
}

#define SAYS_DB 1.0           /* decibans an answer must have moved a suspect to be a reason */

/* "NAME CHECK": how far the last answer to CHECK moved NAME; NAN with a complaint when unknown. */
static double moved_by(struct case_run *c, const char *words)
{
	struct hs_err err = { 0 };
	const struct job_view *v = job_view(c->job, &err);
	char name[160], check[160];
	double *moved, db = NAN;

	c->nexpected++;
	if (!v || sscanf(words, "%159s %159s", name, check) != 2 || !name_exists(c->kn, name)) {
		complain(c, "not understood: %s %s", words, err.text);
		return NAN;
	}
	moved = mem_array((size_t)v->the_case.nevidence + 1, sizeof *moved);
	if (su_why(c->kn, &v->the_case, NULL, kn_mode_by_ref(c->kn, name), moved, &err) == 0)
		for (int i = 0; i < v->the_case.nevidence; i++)
			if (!strcmp(c->kn->checks[v->the_case.evidence[i].check].id, check))
				db = moved[i];
	if (isnan(db))
		complain(c, "no answer to %s %s", check, err.text);
	mem_free(moved);
	return db;
}

/* "for NAME CHECK", "against NAME CHECK", "nothing NAME CHECK": the reasons behind the ranking. */
static bool expect_reason(struct case_run *c, const char *words)
{
	int side = strncmp(words, "for ", 4) == 0 ? 1 : strncmp(words, "against ", 8) == 0 ? -1 : 0;
	double db;

	if (!side && strncmp(words, "nothing ", 8) != 0)
		return false;
	db = moved_by(c, words + (side > 0 ? 4 : 8));
	if (side ? db * side < SAYS_DB : fabs(db) >= SAYS_DB)
		complain(c, "it moved it by %.1f dB, not %s", db, words);
	return true;
}

/* "first NAME", "among N NAME", "not first NAME", "not among N NAME". */
static void expect(struct case_run *c, const char *words)
{
	bool not = strncmp(words, "not ", 4) == 0, there = false;
	const struct job_view *v;
	struct hs_err err = { 0 };
	struct su_line *lines = NULL;
	char name[160];
	int first = 0, n;

	if (strncmp(words, "odd ", 4) == 0) {
		expect_odd(c, words + 4);
		return;
	}
	if (expect_reason(c, words))
		return;
	if (not)
		words += 4;
	if (sscanf(words, "first %159s", name) == 1)
		first = 1;
	else if (sscanf(words, "among %d %159s", &first, name) != 2)
		first = 0;
	if (first < 1 || !name_exists(c->kn, name)) {
		complain(c, "not understood: expect %s", words);
		return;
	}
	v = job_view(c->job, &err);
	if (!v) {
		complain(c, "%s", err.text);
		return;
	}
	n = su_lines(v->suspects, &lines);
	for (int i = 0; i < n && i < first; i++)
		there = there || is_meant(c->kn, &lines[i], name);
	c->nexpected++;
	if (there == not) {
		complain(c, "%s is%s among the first %d", name, not ? "" : " not", first);
		if (!c->quiet)
			show_suspects(c->kn, lines, n);
	}
	mem_free(lines);
}

/* ---- what went in --------------------------------------------------------------------------- */

static void add(struct case_run *c, enum job_kind kind, const char *f0, const char *f1,
		const char *f2)
{
	struct job_event e = { .kind = kind, .field = { f0, f1, f2 } };
	struct hs_err err = { 0 };

	if (job_add(c->job, &e, &err) != 0)
		complain(c, "%s", err.text);
}

/* Splits "NAME[@PLACE] = VALUE"; returns NAME, the others may come out NULL. */
static char *take_apart(char *words, char **place, char **value)
{
	char *equals = strchr(words, '='), *end;

	*value = equals;
	if (equals) {
		*equals = '\0';
		*value = equals + 1 + strspn(equals + 1, " \t");
	}
	for (end = words + strlen(words); end > words && isspace((unsigned char)end[-1]); end--)
		end[-1] = '\0';
	*place = strchr(words, '@');
	if (*place)
		*(*place)++ = '\0';
	return words;
}

static void answer(struct case_run *c, char *words)
{
	struct job_understood understood;
	struct hs_err err = { 0 };
	struct job_answer a = { .place = KN_NONE };
	char *place, *value, *name = take_apart(words, &place, &value);
	const struct kn_kind *kind;

	a.check = kn_check_by_id(c->kn, name);
	if (a.check == KN_NONE || !value) {
		complain(c, "no check \"%s\", or no = behind it", name);
		return;
	}
	if (!c->kn->checks[a.check].offered) {
		complain(c, "%s does not offer the check %s", c->kn->machine, name);
		return;
	}
	kind = kn_check_kind_of(c->kn, &c->kn->checks[a.check]);
	if (place && (!kind || (a.place = kn_place_by_id(kind, place)) == KN_NONE)) {
		complain(c, "%s has no place \"%s\"", name, place);
		return;
	}
	a.text = value;
	a.flags = c->leads_waived ? JOB_LEADS_WAIVED : 0;
	if (job_answer(c->job, &a, &understood, &err) != JOB_OK)
		complain(c, "%s = %s: %s", name, value,
			 err.text[0] ? err.text : "a question came back");
}

static void complaint(struct case_run *c, const char *name)
{
	int check = kn_check_by_id(c->kn, name);

	if (check == KN_NONE || c->kn->checks[check].kind != KN_SYMPTOM) {
		complain(c, "no symptom \"%s\"", name);
		return;
	}
	for (int i = 0; i < known[0]->nsymptoms; i++)
		if (strcmp(known[0]->checks[known[0]->symptoms[i]].id, name) == 0)
			played[i]++;
	add(c, JOB_COMPLAINED, name, NULL, NULL);
}

static void tell(struct case_run *c, char *words)
{
	char *value = strchr(words, '=');

	if (!value) {
		complain(c, "told what? FACT = VALUE");
		return;
	}
	for (char *end = value++; end > words && isspace((unsigned char)end[-1]); end--)
		end[-1] = '\0';
	words[strcspn(words, "=")] = '\0';
	add(c, JOB_TOLD, words, value + strspn(value, " \t"), NULL);
}

/* ---- the file ------------------------------------------------------------------------------- */

static void begin(struct case_run *c, const char *machine)
{
	c->kn = knowledge_of(machine);
	c->job = job_new(c->kn);
	add(c, JOB_BEGAN, c->kn->machine, c->kn->digest, "complaint");
}

static void end(struct case_run *c)
{
	if (c->title[0] && (!c->job || c->nexpected == 0))
		complain(c, "a case needs a machine and expects something");
	job_close(c->job);
	c->job = NULL;
	c->leads_waived = false;
	c->nexpected = 0;
	c->failed = false;
}

static void in_case(struct case_run *c, const char *word, char *rest)
{
	char *place, *value;

	if (strcmp(word, "complaint") == 0)
		complaint(c, rest);
	else if (strcmp(word, "answer") == 0)
		answer(c, rest);
	else if (strcmp(word, "expect") == 0)
		expect(c, rest);
	else if (strcmp(word, "told") == 0)
		tell(c, rest);
	else if (strcmp(word, "leads") == 0 && strcmp(rest, "without") == 0)
		c->leads_waived = true;
	else if (strcmp(word, "skip") == 0 && take_apart(rest, &place, &value))
		add(c, JOB_SKIPPED, rest, place ? place : "", "dont-know");
	else if (strcmp(word, "repaired") == 0 && take_apart(rest, &place, &value))
		add(c, JOB_REPAIRED, rest, place ? place : "", NULL);
	else
		complain(c, "not understood: %s %s", word, rest);
}

static void take_line(struct case_run *c, char *line)
{
	char *rest;
	size_t word;

	line += strspn(line, " \t");
	for (char *stop = line + strlen(line); stop > line && isspace((unsigned char)stop[-1]);
	     stop--)
		stop[-1] = '\0';
	word = strcspn(line, " \t");
	rest = line + word + strspn(line + word, " \t");
	line[word] = '\0';
	if (*line == '\0' || *line == '#' || strcmp(line, "note") == 0)
		return;
	if (strcmp(line, "case") == 0) {
		end(c);
		ncases++;
		snprintf(c->title, sizeof c->title, "%s", rest);
	} else if (strcmp(line, "machine") == 0 && c->title[0] && !c->job)
		begin(c, rest);
	else if (c->job)
		in_case(c, line, rest);
	else
		complain(c, "before the case or its machine: %s %s", line, rest);
}

static void play_file(const char *name)
{
	char path[300];
	struct hs_err err = { 0 };
	struct case_run c = { .file = name };
	size_t size;
	char *all, *next;

	snprintf(path, sizeof path, "tests/data/cases/%s", name);
	all = file_read(in_root(path), 1 << 20, &size, &err);
	if (!all)
		fail_msg("%s", err.text);
	for (char *line = all; line; line = next) {
		next = strchr(line, '\n');
		if (next)
			*next++ = '\0';
		c.line++;
		take_line(&c, line);
	}
	end(&c);
	mem_free(all);
}

static int is_case_file(const struct dirent *d)
{
	size_t n = strlen(d->d_name);

	return n > 5 && strcmp(d->d_name + n - 5, ".case") == 0;
}

static void test_cases_come_out_when_played(void **state)
{
	struct dirent **files;
	int n = scandir(in_root("tests/data/cases"), &files, is_case_file, alphasort);

	(void)state;
	assert_true(n > 0);
	for (int i = 0; i < n; i++) {
		play_file(files[i]->d_name);
		free(files[i]);
	}
	free(files);
	if (nfailed)
		fail_msg("%d of %d cases do not come out", nfailed, ncases);
}

/* After the cases were played. */
static void test_every_symptom_has_cases_when_counted(void **state)
{
	(void)state;
	assert_true(ncases >= CASES_LEAST);
	for (int i = 0; i < known[0]->nsymptoms; i++)
		if (played[i] < PER_SYMPTOM_LEAST)
			fail_msg("%s: %d cases", known[0]->checks[known[0]->symptoms[i]].id,
				 played[i]);
}

/* What a case must never do: pass because nothing was compared. */
static void test_wrong_case_is_caught_when_played(void **state)
{
	static const char *const lines[] = {
		"case turned round", "machine four", "complaint slow-crank",
		"expect first spark-plug.fouled",
	};
	struct case_run c = { .file = "(wrong on purpose)", .quiet = true };
	int before = nfailed, cases_before = ncases;

	(void)state;
	for (size_t i = 0; i < COUNT(lines); i++) {
		char line[80];

		snprintf(line, sizeof line, "%s", lines[i]);
		take_line(&c, line);
	}
	assert_int_equal(nfailed, before + 1);
	end(&c);
	nfailed = before;
	ncases = cases_before;
}

static int start(void **state)
{
	(void)state;
	played = mem_array((size_t)knowledge_of("four")->nsymptoms, sizeof *played);
	return 0;
}

static int stop(void **state)
{
	(void)state;
	mem_free(played);
	for (int i = 0; i < nknown; i++)
		kn_free(known[i]);
	return 0;
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_cases_come_out_when_played),
		cmocka_unit_test(test_every_symptom_has_cases_when_counted),
		cmocka_unit_test(test_wrong_case_is_caught_when_played),
	};
	return cmocka_run_group_tests(tests, start, stop);
}
