/* The command line: options, subcommands, where the trees are. */
#include <dirent.h>
#include <getopt.h>
#include <locale.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/mem.h"
#include "base/text.h"
#include "plan/plan.h"
#include "talk/paths.h"
#include "talk/talk.h"

#ifndef HALFSPLIT_TREES
#define HALFSPLIT_TREES "/usr/local/share/halfsplit/trees"
#endif
#define VERSION "0.1"

static const char usage[] =
	"Usage: halfsplit [--machine ID] [--complaint ID]   find a fault, step by step\n"
	"       halfsplit resume [ID]                 go on with a job (the newest)\n"
	"       halfsplit jobs [WORD] [--due]         jobs; those with WORD in them\n"
	"       halfsplit report [ID]                 a job sheet (the newest)\n"
	"       halfsplit learn                       count closed jobs into frequencies\n"
	"       halfsplit list machines|symptoms|checks|suspects [--machine ID] [--json]\n"
	"       halfsplit work [SUM FIGURE... | list]  the workshop's sums, without a job\n"
	"       halfsplit rank --machine ID --complaint ID [--answer C[@P]=V] [--json]\n"
	"       halfsplit show SYMPTOM [JOB] [--machine ID] [--html|--dot|--figures]\n"
	"       halfsplit chart SYMPTOM [--machine ID] [--html] a decision chart\n"
	"       halfsplit machine new                 describe your own bike\n"
	"       halfsplit lint [FILE|DIR] [--figures]           judge trees\n"
	"\n"
	"  -s, --script FILE      answers from FILE (- is standard input), one a line\n"
	"  -m, --machine ID       the machine\n"
	"  -t, --trees DIR        folder of the trees (or the variable HALFSPLIT_TREES)\n"
	"  -j, --job-dir DIR      folder of the jobs\n"
	"      --rates NAME       home, workshop or counter: what time and money cost\n"
	"      --json             JSON instead of text (rank, list, report, jobs)\n"
	"      --due              jobs on watch whose day has come (jobs)\n"
	"      --html             an HTML page instead of text (report, show, chart)\n"
	"      --depth N  --least PERCENT   how far a chart goes: steps; rarest answer\n"
	"  -c, --complaint ID     what it does wrong (also rank; may be repeated)\n"
	"  -a, --answer CHECK[@POSITION]=VALUE  --tool ID  --history ID[=no]\n"
	"      --circumstance ID[=no]   what is known (rank; may be repeated)\n"
	"      --leads-unmeasured --size-is-right   take readings as they are (rank)\n"
	"  -h, --help  -V, --version\n"
	"\n"
	"Exit status: 0 done; 1 ended without an answer; 2 usage, or a script line not\n"
	"understood; 3 trees; 4 job file; 5 reading or writing; 130 Ctrl-C twice.\n";

enum { HISTORY = 256, CIRCUMSTANCE, TOOL, JSON, LEADS, SIZE, HTML, DUE, DOT, FIGURES, RATES, DEPTH, LEAST };

static const struct option long_options[] = {
	{"script", required_argument, NULL, 's'},
	{"machine", required_argument, NULL, 'm'},
	{"trees", required_argument, NULL, 't'},
	{"job-dir", required_argument, NULL, 'j'},
	{"rates", required_argument, NULL, RATES},
	{"json", no_argument, NULL, JSON},
	{"html", no_argument, NULL, HTML},
	{"due", no_argument, NULL, DUE},
	{"dot", no_argument, NULL, DOT},
	{"figures", no_argument, NULL, FIGURES},
	{"depth", required_argument, NULL, DEPTH},
	{"least", required_argument, NULL, LEAST},
	{"complaint", required_argument, NULL, 'c'},
	{"answer", required_argument, NULL, 'a'},
	{"tool", required_argument, NULL, TOOL},
	{"history", required_argument, NULL, HISTORY},
	{"circumstance", required_argument, NULL, CIRCUMSTANCE},
	{"leads-unmeasured", no_argument, NULL, LEADS},
	{"size-is-right", no_argument, NULL, SIZE},
	{"help", no_argument, NULL, 'h'},
	{"version", no_argument, NULL, 'V'},
	{NULL, 0, NULL, 0},
};

/* Which commands an option says something to; "-" is the conversation.  Options not named here only say
 * where things are, and go with all. */
static const struct { int option; const char *commands; } only[] = {
	{'s', " - resume machine "},
	{'m', " - list rank show chart learn "},
	{'c', " - rank "},
	{'a', " rank "},
	{TOOL, " rank "},
	{HISTORY, " rank "},
	{CIRCUMSTANCE, " rank "},
	{LEADS, " rank "},
	{SIZE, " rank "},
	{JSON, " rank list report jobs "},
	{HTML, " report show chart "},
	{DOT, " show "},
	{FIGURES, " show lint "},
	{DUE, " jobs "},
	{DEPTH, " chart "},
	{LEAST, " chart "},
	{RATES, " - chart "},
};
#define ONLY ((int)(sizeof only / sizeof *only))

struct command_line {
	bool given[ONLY];
	struct talk_options talk;
	struct talk_rank rank;
	struct talk_chart chart;
	bool html, due, dot, figures;
};

static void exhausted(void)
{
	static const char text[] = "halfsplit: There is no memory left. Everything answered is saved.\n";

	/* Nothing can be done about a failing write here. */
	if (write(STDERR_FILENO, text, sizeof text - 1) < 0)
		_exit(TALK_IO);
	_exit(TALK_IO);
}

static int wrong(const char *what, const char *word)
{
	fprintf(stderr, "halfsplit: %s", what);
	if (word)
		fprintf(stderr, ": %s", word);
	fputs(". Try `halfsplit --help`.\n", stderr);
	return TALK_USAGE;
}

/* ---- options ---------------------------------------------------------------------------------------- */

/* 0, or -1 when there are too many. */
static int collect(const char **list, int *n)
{
	if (*n == TALK_MANY)
		return -1;
	list[(*n)++] = optarg;
	return 0;
}

static int take_rank_option(struct talk_rank *r, int option)
{
	switch (option) {
	case 'c': return collect(r->complaints, &r->ncomplaints);
	case 'a': return collect(r->answers, &r->nanswers);
	case TOOL: return collect(r->tools, &r->ntools);
	case HISTORY: return collect(r->histories, &r->nhistories);
	case CIRCUMSTANCE: return collect(r->circumstances, &r->ncircumstances);
	case JSON: r->json = true; return 0;
	case LEADS: r->leads_unmeasured = true; return 0;
	case SIZE: r->size_is_right = true; return 0;
	default: return -1;
	}
}

static const char *name_of(int option)
{
	const struct option *o = long_options;

	while (o->name && o->val != option)
		o++;
	return o->name;
}

/* An option that the command would pass over in silence is refused. -1: none, or no such command. */
static int passed_over(const struct command_line *c, const char *command)
{
	struct text word = {0}, what = {0};
	int status = -1;
	bool known = strcmp(command, "work") == 0; /* takes none of them */

	text_addf(&word, " %s ", command);
	for (int i = 0; i < ONLY; i++)
		known = known || strstr(only[i].commands, text_str(&word));
	for (int i = 0; known && status < 0 && i < ONLY; i++) {
		if (!c->given[i] || strstr(only[i].commands, text_str(&word)))
			continue;
		text_addf(&what, "--%s says nothing to %s", name_of(only[i].option),
			  strcmp(command, "-") == 0 ? "a conversation" : command);
		status = wrong(text_str(&what), NULL);
	}
	text_free(&word);
	text_free(&what);
	return status;
}

/* -1: go on; else the status to end with. */
static int take_option(struct command_line *c, int option)
{
	struct pl_rates rates;

	for (int i = 0; i < ONLY; i++)
		c->given[i] = c->given[i] || only[i].option == option;
	switch (option) {
	case 's': c->talk.script = optarg; return -1;
	case 'm': c->talk.machine = c->rank.machine = optarg; return -1;
	case 't': c->talk.trees = optarg; return -1;
	case 'j': c->talk.job_dir = optarg; return -1;
	case RATES:
		c->talk.rates = optarg;
		return pl_rates_named(optarg, &rates) ? -1 : wrong("The rates are home, workshop or counter", optarg);
	case HTML: c->html = c->chart.html = true; return -1;
	case DEPTH: c->chart.depth = optarg; return -1;
	case LEAST: c->chart.least = optarg; return -1;
	case DUE: c->due = true; return -1;
	case DOT: c->dot = true; return -1;
	case FIGURES: c->figures = true; return -1;
	case 'h': fputs(usage, stdout); return TALK_DONE;
	case 'V':
		puts("halfsplit " VERSION "\nLicence GPL-3.0-or-later. There is no warranty.");
		return TALK_DONE;
	case '?': return wrong("The options are not right", NULL);
	default:
		if (take_rank_option(&c->rank, option) == 0)
			return -1;
		return wrong("More options of one kind than fit", NULL);
	}
}

/* ---- where the trees are ------------------------------------------------------------------------------ */

/* "trees" in the folder above the one the program is in: a build that was not installed. */
static bool beside_build(struct text *path)
{
	char self[4096];
	ssize_t n = readlink("/proc/self/exe", self, sizeof self - 1);
	char *slash;

	if (n <= 0)
		return false;
	self[n] = '\0';
	for (int up = 0; up < 2; up++) {
		slash = strrchr(self, '/');
		if (!slash)
			return false;
		*slash = '\0';
	}
	text_addf(path, "%s/trees", self);
	return access(text_str(path), R_OK | X_OK) == 0;
}

/* The folder with an .xml file in it that `machine new` made. */
static bool has_machines(const char *folder)
{
	struct dirent *entry;
	DIR *d = opendir(folder);
	bool has = false;

	while (d && !has && (entry = readdir(d))) {
		size_t n = strlen(entry->d_name);
		has = n > 4 && entry->d_name[0] != '.' && strcmp(entry->d_name + n - 4, ".xml") == 0;
	}
	if (d)
		closedir(d);
	return has;
}

/* The user's own machines are read wherever the trees are. */
static void find_own_machines(struct command_line *c, struct text *all)
{
	struct text own = {0};

	if (paths_data("machines", false, &own) && has_machines(text_str(&own))) {
		text_addf(all, "%s:%s", c->talk.trees, text_str(&own));
		c->talk.trees = text_str(all);
	}
	text_free(&own);
}

static void find_trees(struct command_line *c, struct text *path, struct text *all)
{
	const char *told = getenv("HALFSPLIT_TREES");

	if (!c->talk.trees && told && *told)
		c->talk.trees = told;
	if (!c->talk.trees && beside_build(path))
		c->talk.trees = text_str(path);
	if (!c->talk.trees)
		c->talk.trees = HALFSPLIT_TREES;
	c->talk.installed = c->talk.trees;
	find_own_machines(c, all);
	c->rank.trees = c->talk.trees;
	c->talk.complaints = c->rank.complaints;
	c->talk.ncomplaints = c->rank.ncomplaints;
}

/* ---- subcommands --------------------------------------------------------------------------------------- */

static int run(struct command_line *c, int argc, char **argv)
{
	const char *command = argc > 0 ? argv[0] : "-", *argument = argc > 1 ? argv[1] : NULL;
	int status = passed_over(c, command);

	if (status >= 0)
		return status;
	if (strcmp(command, "work") == 0)
		return talk_work(argv + 1, argc - 1);
	if (argc > 2 && (argc > 3 || strcmp(command, "show") != 0))
		return wrong("One word too many", argv[argc > 3 ? 3 : 2]);
	if (argc == 0)
		return talk_run(&c->talk);
	if (strcmp(command, "resume") == 0) {
		c->talk.resume = argument ? argument : "";
		return talk_run(&c->talk);
	}
	if (strcmp(command, "report") == 0)
		return talk_report(c->talk.trees, c->talk.job_dir, argument,
				   c->html ? TALK_HTML : c->rank.json ? TALK_JSON : TALK_TEXT_FORM);
	if (strcmp(command, "list") == 0)
		return argument ? talk_list(argument, c->talk.trees, c->talk.machine, c->rank.json)
				: wrong("List of what: machines, symptoms, checks or suspects", NULL);
	if (strcmp(command, "lint") == 0)
		return talk_lint(argument ? argument : c->talk.trees, c->figures);
	if (strcmp(command, "show") == 0)
		return argument ? talk_show(argument, argc > 2 ? argv[2] : NULL, &c->talk,
					    c->dot ? TALK_DOT : c->html ? TALK_PAGE
					    : c->figures ? TALK_FIGURES : TALK_DRAWN)
				: wrong("Show which symptom", NULL);
	if (strcmp(command, "chart") == 0) {
		c->chart.symptom = argument;
		return argument ? talk_chart(&c->chart, &c->talk) : wrong("A chart of which symptom", NULL);
	}
	if (strcmp(command, "machine") == 0)
		return argument && strcmp(argument, "new") == 0
			       ? talk_machine_new(&c->talk)
			       : wrong("machine new is the only one", argument);
	if (strcmp(command, "jobs") == 0)
		return talk_jobs(c->talk.job_dir, argument, c->due, c->rank.json);
	if (argument)
		return wrong("One word too many", argument);
	if (strcmp(command, "learn") == 0)
		return talk_learn(c->talk.trees, c->talk.job_dir, c->talk.machine);
	if (strcmp(command, "rank") == 0)
		return talk_rank(&c->rank);
	return wrong("There is no such command", command);
}

int main(int argc, char **argv)
{
	static struct command_line c;
	struct text path = {0}, all = {0};
	int option, status = -1;

	/* Numbers stay in the "C" form everywhere: only characters follow the user's locale. */
	if (!setlocale(LC_CTYPE, ""))
		setlocale(LC_CTYPE, "C.UTF-8");
	mem_on_exhausted(exhausted);
	mem_keep_large();
	while (status < 0 && (option = getopt_long(argc, argv, "s:m:t:j:c:a:hV", long_options, NULL)) != -1)
		status = take_option(&c, option);
	if (status < 0) {
		find_trees(&c, &path, &all);
		status = run(&c, argc - optind, argv + optind);
	}
	text_free(&path);
	text_free(&all);
	if (fflush(stdout) != 0 && status == TALK_DONE)
		status = TALK_IO;
	return status;
}
