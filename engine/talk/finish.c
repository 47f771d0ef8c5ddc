/* The end of a job: closed with proof, on watch, parts fitted, handed over. */
#include <string.h>
#include <time.h>

#include "base/mem.h"
#include "job/learn.h"
#include "report/report.h"
#include "talk/inner.h"
#include "talk/paths.h"

enum { PROVEN, WATCH, PARTS_FITTED, HANDED_OVER, LOOK_ON, NWAYS };
static const struct talk_choice complaint_ways[NWAYS] = {
	{"proven", "proven: the complaint was repeated and is gone"},
	{"watch", "on watch: it cannot be repeated now; it will show"},
	{"parts-fitted", "parts fitted: nothing was proven"},
	{"handed-over", "handed over to somebody else"},
	{"look-on", "not yet: look on"},
};
/* Of a bench run: nothing can be repeated, and nothing is claimed of the engine. */
static const struct talk_choice bench_ways[NWAYS] = {
	{"checked", "checked: the bench run is what it was for"},
	{"watch", "on watch: to be looked at again"},
	{"parts-fitted", "parts fitted: nothing was proven"},
	{"handed-over", "handed over to somebody else"},
	{"look-on", "not yet: look on"},
};

static const struct talk_choice *ways_of(const struct job_view *v)
{
	return bench_running(v) ? bench_ways : complaint_ways;
}

static void help_finish(struct talk *t, const void *about)
{
	out_say(&t->out, 2, 2, "A job is closed as proven only when the complaint was repeated after "
		"the work and was gone. Everything else is called what it is.");
	choose_list(t, about, NWAYS);
}

/* A path is never broken: it is there to be copied. */
static void say_path(struct talk *t, const char *what, const char *path)
{
	struct text line = {0};

	text_addf(&line, "%s: %s\n", what, path);
	out_lines(&t->out, text_str(&line));
	text_free(&line);
}

static int save(struct talk *t, const char *what, const char *ending,
		int (*report)(struct job *j, struct text *out, struct hs_err *err))
{
	char folder[4096];
	struct text sheet = {0}, path = {0};
	struct hs_err err = {0};
	int result = -1;

	if (t->options->job_dir)
		text_addf(&path, "%s", t->options->job_dir);
	else {
		job_default_dir(folder, sizeof folder);
		text_add(&path, folder);
	}
	text_addf(&path, "/%s.%s", job_id(t->job), ending);
	if (report(t->job, &sheet, &err) == 0 &&
	    paths_write(text_str(&path), text_str(&sheet), sheet.len, &err) == 0) {
		say_path(t, what, text_str(&path));
		result = 0;
	} else {
		talk_fail(t, &err);
	}
	text_free(&sheet);
	text_free(&path);
	return result;
}

int report_save(struct talk *t)
{
	if (save(t, "Job sheet", "txt", report_text) < 0)
		return -1;
	return save(t, "The same to print or send", "html", report_html);
}

static const char *proof_wanted(const struct job_view *v)
{
	return v->nrepairs > 0 ? v->kn->remedies[v->repairs[v->nrepairs - 1].remedy].proof : NULL;
}

static void help_proof(struct talk *t, const void *about)
{
	const char *wanted = about;

	if (wanted)
		out_say(&t->out, 2, 2, "What should be seen: %s", wanted);
	out_say(&t->out, 2, 2, "It goes into the job sheet as typed.");
}

static enum talk_reply ask_words(struct talk *t, const char *question, const char *by_default,
				 const char *about, struct text *out)
{
	struct talk_prompt p = {.question = question, .by_default = by_default, .help = help_proof,
				.about = about};
	enum talk_reply reply = talk_ask(t, &p, out);

	if (reply == TALK_DEFAULT || reply == TALK_DONT_KNOW || reply == TALK_CANNOT) {
		text_clear(out);
		text_add(out, by_default);
		reply = TALK_TEXT;
	}
	return reply;
}

static void help_again(struct talk *t, const void *about)
{
	const struct job_view *v = talk_view(t);
	const struct kn_remedy *r = v && v->nrepairs > 0
					    ? &t->kn->remedies[v->repairs[v->nrepairs - 1].remedy] : NULL;

	(void)about;
	out_say(&t->out, 2, 2, "A day like 2026-12-24, or 7 days, 2 weeks. `halfsplit jobs --due` lists the "
		"jobs whose day has come.");
	if (r && r->recheck)
		out_say(&t->out, 2, 2, "This repair is looked at again after: %s.", r->recheck);
}

/* The day on which a job on watch is looked at again. */
static enum talk_reply ask_again(struct talk *t, char day[11])
{
	struct talk_prompt p = {.question = "Look at it again on", .by_default = "14 days",
				.allowed = "a day, or a number of days or weeks",
				.help = help_again};
	struct text line = {0};
	enum talk_reply reply;

	for (;;) {
		struct hs_err err = {0};
		reply = talk_ask(t, &p, &line);
		if (reply == TALK_DONT_KNOW || reply == TALK_CANNOT)
			reply = TALK_DEFAULT;
		if (reply != TALK_TEXT && reply != TALK_DEFAULT)
			break;
		if (job_recheck_day(reply == TALK_DEFAULT ? p.by_default : text_str(&line),
				    (long long)time(NULL), day, &err) == 0) {
			reply = TALK_TEXT;
			break;
		}
		if (!talk_refuse(t, &line, "%s", err.text)) {
			reply = TALK_OVER;
			break;
		}
	}
	text_free(&line);
	return reply;
}

static enum talk_reply ask_proven(struct talk *t, const struct job_view *v, struct text *proof)
{
	const char *wanted = proof_wanted(v);
	struct text cause = {0};
	enum talk_reply reply;

	if (wanted)
		out_say(&t->out, 0, 2, "Proof beside the repeated complaint: %s", wanted);
	reply = ask_words(t, "What proves it", "complaint repeated and gone", wanted, proof);
	if (reply == TALK_TEXT)
		reply = ask_words(t, "Why did it happen", "not known", NULL, &cause);
	if (reply == TALK_TEXT)
		text_addf(proof, ". Why it happened: %s.", text_str(&cause));
	text_free(&cause);
	return reply;
}

static enum talk_reply close_job(struct talk *t, int way, const struct job_view *v)
{
	const struct talk_choice *chosen = &ways_of(v)[way];
	bool proven = way == PROVEN && !bench_running(v);
	struct text proof = {0}, found = {0};
	const char *recheck;
	char again[11] = "";
	enum talk_reply reply;

	if (proven)
		reply = ask_proven(t, v, &proof);
	else
		reply = ask_words(t, "A word for the job sheet", "nothing to add", NULL, &proof);
	if (reply == TALK_TEXT && way == WATCH)
		reply = ask_again(t, again);
	v = talk_view(t); /* a note may have been written since */
	if (reply == TALK_TEXT && v)
		job_found(v, &found);
	recheck = v && v->nrepairs > 0 ? t->kn->remedies[v->repairs[v->nrepairs - 1].remedy].recheck : NULL;
	if (reply == TALK_TEXT &&
	    talk_record(t, JOB_CLOSED, chosen->id, text_str(&proof), again, text_str(&found)) == 0 &&
	    report_save(t) == 0) {
		out_say(&t->out, 0, 2, "Closed: %s.", chosen->title);
		if (proven && recheck)
			out_say(&t->out, 0, 2, "Look again after: %s.", recheck);
		if (*again)
			out_say(&t->out, 0, 2, "To be looked at again on %s.", again);
		t->over = true;
		t->status = way == HANDED_OVER ? TALK_NO_ANSWER : TALK_DONE;
	}
	text_free(&proof);
	text_free(&found);
	return t->over ? TALK_OVER : reply;
}

/* KN_NONE when it was refused and the question comes again. */
static int way_of(struct talk *t, const struct job_view *v, const struct text *line)
{
	const struct talk_choice *ways = ways_of(v);
	int way = choose_one(ways, NWAYS, text_str(line));
	struct hs_err err = {0};

	if (way == KN_NONE)
		talk_refuse(t, line, "Please one of the list.");
	/* The day of a recheck is asked for afterwards. */
	if (way != KN_NONE && way != LOOK_ON && job_may_close(v, ways[way].id, "later", &err) < 0) {
		talk_refuse(t, line, "%s", err.text);
		way = KN_NONE;
	}
	return way;
}

static enum talk_reply take_way(struct talk *t, int way)
{
	const struct job_view *v = talk_view(t);
	enum talk_reply reply;

	if (!v)
		return TALK_OVER;
	if (way == LOOK_ON) {
		t->looked_past = v->nrepairs;
		t->bench_passed = bench_running(v);
		return TALK_MOVED;
	}
	reply = close_job(t, way, v);
	if (reply == TALK_BACK)
		return TALK_MOVED;
	return reply;
}

enum talk_reply ask_finish(struct talk *t)
{
	const struct job_view *v = talk_view(t);
	struct talk_prompt p = {.question = "Close the job as", .allowed = "1 to 5",
				.help = help_finish, .nchoices = NWAYS};
	struct hs_err err = {0};
	struct text line = {0};
	enum talk_reply reply = TALK_MOVED;
	int way = KN_NONE;

	if (!v)
		return TALK_OVER;
	p.about = p.choices = ways_of(v);
	out_blank(&t->out);
	if (job_only_consequences(v))
		out_say(&t->out, 0, 2, "What was repaired follows from something else. Ask why it "
			"happened before this is closed, or it comes back.");
	if (v->complaint_gone && v->intermittent)
		out_say(&t->out, 0, 2, "It was away once before anything was repaired: that it is away "
			"now proves nothing.");
	if (v->complaint_gone)
		p.by_default = job_may_close(v, "proven", NULL, &err) == 0 ? "proven"
			       : v->intermittent ? "watch" : "look-on";
	if (bench_running(v))
		p.by_default = "checked";
	choose_list(t, p.choices, NWAYS);
	while (way == KN_NONE && !t->over) {
		reply = talk_ask(t, &p, &line);
		if (reply == TALK_DEFAULT)
			way = choose_one(p.choices, NWAYS, p.by_default);
		else if (reply == TALK_TEXT)
			way = way_of(t, v, &line);
		else
			break;
	}
	text_free(&line);
	if (way != KN_NONE)
		return take_way(t, way);
	if (t->over)
		return TALK_OVER;
	if (reply == TALK_BACK)
		talk_back(t);
	else if (reply != TALK_MOVED)
		t->looked_past = v->nrepairs;
	return TALK_MOVED;
}

enum talk_reply ask_reopen(struct talk *t)
{
	const struct job_view *v = talk_view(t);
	bool yes = false;
	enum talk_reply reply;

	if (!v)
		return TALK_OVER;
	out_say(&t->out, 0, 2, "This job is %s.", job_state_words(v->state));
	reply = talk_ask_yes(t, "Open it again", "no", NULL, NULL, &yes);
	if (reply == TALK_BACK) {
		talk_back(t);
		return TALK_MOVED;
	}
	if (reply == TALK_TEXT && yes) {
		t->looked_past = v->nrepairs;
		return talk_record(t, JOB_CLOSED, "reopened", "", NULL, NULL) < 0 ? TALK_OVER
										  : TALK_MOVED;
	}
	if (reply != TALK_OVER && reply != TALK_MOVED) {
		t->over = true;
		t->status = TALK_DONE;
		return TALK_OVER;
	}
	return reply;
}
