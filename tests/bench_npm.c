/* Side by side with a general Bayesian-network library from npm: bayesjs 0.6.5 (MIT; enumeration,
 * variable elimination, junction tree), put into the build folder and nowhere else.  Networks and
 * answers are those of tests/test_outside.c; both sides read the same files.  Posteriors must be the
 * same to 1e-9, else this fails; the time is reported.  Without npm, or where it reaches nothing, a
 * line says so. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "base/mem.h"
#include "fixture.h"
#include "network.h"
#include "suspects/suspects.h"

#define LIBRARY_NAME "bayesjs"
#define LIBRARY_VERSION "0.6.5"
#define WITHIN 1e-9
#define ROUNDS 2001
#define CAUSES_MAX 32
#define SAID_MAX 3

struct said { const char *check, *outcome; };
struct net_case { const char *name; int n; struct said said[SAID_MAX]; };

static const struct net_case cases[] = {
	{ "chest-clinic", 2, { { "asia", "yes" }, { "dyspnoea", "yes" } } },
	{ "chest-clinic", 3, { { "asia", "yes" }, { "dyspnoea", "yes" }, { "x-ray", "abnormal" } } },
	{ "fuel-gauge", 2, { { "gauge", "empty" }, { "battery-seen", "flat" } } },
	{ "start-problem", 2, { { "start", "no" }, { "meter", "half" } } },
	{ "train-strike", 2, { { "norman-late", "late" }, { "martin-late", "late" } } },
	{ "accident", 2, { { "traffic", "jam" }, { "president-seen", "yes" } } },
	{ "burglary", 1, { { "both-call", "both" } } },
	{ "fever", 1, { { "fever", "yes" } } },
	{ "alarm", 2, { { "alarm", "yes" }, { "earthquake-felt", "yes" } } },
	{ "pressure-tank", 1, { { "top-event", "yes" } } },
	{ "seals", 1, { { "top-event", "yes" } } },
	{ "three-motors", 1, { { "top-event", "yes" } } },
	{ "polybox", 1, { { "outputs", "seen" } } },
};
#define NCASES ((int)(sizeof cases / sizeof *cases))

struct run {
	struct kn_knowledge *kn[NCASES];
	double ms[NCASES];                      /* one update */
	double theirs[NCASES], kept[NCASES];    /* from the network; with the tree kept */
	double p[NCASES][CAUSES_MAX];
	double worst;                           /* largest difference of a posterior */
	int compared;
};

/* ---- ours --------------------------------------------------------------------------------------- */

static void evidence(const struct kn_knowledge *kn, const struct net_case *c, struct su_evidence *e)
{
	memset(e, 0, sizeof *e * SAID_MAX);
	for (int i = 0; i < c->n; i++) {
		e[i].check = kn_check_by_id(kn, c->said[i].check);
		e[i].place = KN_NONE;
		e[i].exponent = 1;
		e[i].ncells = kn->checks[e[i].check].noutcomes;
		e[i].share[kn_outcome_by_id(&kn->checks[e[i].check], c->said[i].outcome)] = 1;
	}
}

static double now_ms(void)
{
	struct timespec t;

	clock_gettime(CLOCK_MONOTONIC, &t);
	return 1e3 * (double)t.tv_sec + 1e-6 * (double)t.tv_nsec;
}

static int rising(const void *a, const void *b)
{
	double x = *(const double *)a, y = *(const double *)b;

	return (x > y) - (x < y);
}

/* From knowledge and answers alone, nothing kept from the last time; what is left out is far below
 * what is compared. */
static void weigh(struct run *r, int i)
{
	static double ms[ROUNDS];
	struct su_settings fine = { 1e-10, 100000000, 64 };
	struct su_evidence e[SAID_MAX];
	struct su_case c = { cases[i].n, e, 0, NULL, 0, true };

	evidence(r->kn[i], &cases[i], e);
	for (int k = 0; k < ROUNDS; k++) {
		struct su_suspects *s;

		ms[k] = now_ms();
		s = su_weigh(r->kn[i], &c, &fine, NULL);
		ms[k] = now_ms() - ms[k];
		for (int f = 0; s && f < r->kn[i]->nfaults; f++)
			r->p[i][f] = s->now[f];
		su_free(s);
	}
	qsort(ms, ROUNDS, sizeof *ms, rising);
	r->ms[i] = ms[ROUNDS / 2];
}

/* ---- theirs ------------------------------------------------------------------------------------- */

static void describe(struct text *out, const struct run *r)
{
	text_add(out, "[");
	for (int i = 0; i < NCASES; i++) {
		const struct kn_knowledge *kn = r->kn[i];

		text_addf(out, "%s{\"name\": \"%d\", \"network\": ", i ? ",\n" : "", i);
		network_json(out, kn);
		text_add(out, ", \"given\": {");
		for (int k = 0; k < cases[i].n; k++) {
			int check = kn_check_by_id(kn, cases[i].said[k].check);

			text_addf(out, "%s\"c%d\": \"o%d\"", k ? ", " : "", check,
				  kn_outcome_by_id(&kn->checks[check], cases[i].said[k].outcome));
		}
		text_add(out, "}, \"causes\": [");
		for (int f = 0; f < kn->nfaults; f++)
			text_addf(out, "%s\"f%d\"", f ? ", " : "", f);
		text_add(out, "]}");
	}
	text_add(out, "]\n");
}

static void take_line(struct run *r, const char *line)
{
	int i, f;
	double x, y;

	if (sscanf(line, "p %d %*s f%d %lf", &i, &f, &x) == 3 && i < NCASES && f < CAUSES_MAX) {
		r->compared++;
		r->worst = fmax(r->worst, fabs(x - r->p[i][f]));
	} else if (sscanf(line, "ms %d %lf %lf", &i, &x, &y) == 3 && i < NCASES) {
		r->theirs[i] = x;
		r->kept[i] = y;
	}
}

/* Installs what is not there yet; says why not when it cannot. */
static bool library_there(const char *build)
{
	struct text command = { 0 };
	int status;

	if (system("command -v node >/dev/null 2>&1 && command -v npm >/dev/null 2>&1") != 0) {
		printf("# suspects.vs_npm_junction_tree: skipped, node or npm is not installed\n");
		return false;
	}
	text_addf(&command, "test -d '%s/npm/node_modules/" LIBRARY_NAME "' || "
		  "timeout 180 npm install --silent --no-audit --no-fund --no-package-lock --prefix "
		  "'%s/npm' " LIBRARY_NAME "@" LIBRARY_VERSION " >/dev/null 2>&1", build, build);
	status = system(text_str(&command));
	text_free(&command);
	if (status != 0)
		printf("# suspects.vs_npm_junction_tree: skipped, npm cannot fetch " LIBRARY_NAME
		       " " LIBRARY_VERSION " here\n");
	return status == 0;
}

static bool ask(struct run *r, const char *build, const char *root)
{
	struct text path = { 0 }, json = { 0 }, command = { 0 };
	char line[256];
	FILE *f;
	int status = -1;

	text_addf(&path, "%s/npm/networks.json", build);
	describe(&json, r);
	f = fopen(text_str(&path), "w");
	if (f && fputs(text_str(&json), f) >= 0 && fclose(f) == 0) {
		text_addf(&command, "node '%s/tests/infer.js' '%s/npm/node_modules/" LIBRARY_NAME "' '%s'",
			  root, build, text_str(&path));
		f = popen(text_str(&command), "r");
		while (f && fgets(line, sizeof line, f))
			take_line(r, line);
		status = f ? pclose(f) : -1;
	}
	text_free(&path);
	text_free(&json);
	text_free(&command);
	return status == 0;
}

/* ---- both --------------------------------------------------------------------------------------- */

static int tell(const struct run *r)
{
	int slow = 0, slow_kept = 0, hundred = 0;

	for (int i = 0; i < NCASES; i++) {
		printf("# %-14s %d answers: %7.4f ms; junction tree %7.3f ms, %.0f times; its tree kept %7.3f ms, "
		       "%.0f times\n", cases[i].name, cases[i].n, r->ms[i], r->theirs[i],
		       r->theirs[i] / r->ms[i], r->kept[i], r->kept[i] / r->ms[i]);
		hundred += r->theirs[i] >= 100 * r->ms[i];
		if (r->theirs[i] / r->ms[i] < r->theirs[slow] / r->ms[slow])
			slow = i;
		if (r->kept[i] / r->ms[i] < r->kept[slow_kept] / r->ms[slow_kept])
			slow_kept = i;
	}
	printf("suspects.vs_npm_junction_tree = %.0f ratio\n", r->theirs[slow] / r->ms[slow]);
	printf("suspects.vs_npm_junction_tree_kept = %.0f ratio\n", r->kept[slow_kept] / r->ms[slow_kept]);
	printf("suspects.vs_npm_networks_100_times = %d of %d\n", hundred, NCASES);
	printf("# the least of %d, in %s; %d posteriors compared, largest difference %.1g\n", NCASES,
	       cases[slow].name, r->compared, r->worst);
	if (r->compared >= 3 * NCASES && r->worst <= WITHIN)
		return 0;
	fprintf(stderr, "The posteriors are not the same to %g.\n", WITHIN);
	return 1;
}

int main(void)
{
	const char *build = getenv("HALFSPLIT_BUILD"), *root = getenv("HALFSPLIT_ROOT");
	struct run *r = mem_alloc(sizeof *r);
	int status = 0;

	build = build ? build : "build";
	root = root ? root : ".";
	for (int i = 0; i < NCASES; i++) {
		char path[160];

		snprintf(path, sizeof path, "tests/data/outside/%s.xml", cases[i].name);
		r->kn[i] = fixture_trees(path, cases[i].name);
		if (!r->kn[i] || r->kn[i]->nfaults > CAUSES_MAX)
			return 1;
	}
	if (library_there(build)) {
		for (int i = 0; i < NCASES; i++)
			weigh(r, i);
		status = ask(r, build, root) ? tell(r) : 1;
	}
	for (int i = 0; i < NCASES; i++)
		kn_free(r->kn[i]);
	mem_free(r);
	return status;
}
