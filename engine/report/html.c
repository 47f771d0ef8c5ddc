/* The job sheet as one HTML page. */
#include <math.h>
#include <string.h>

#include "base/mem.h"
#include "report/bench.h"
#include "report/html.h"

#define SUSPECTS_SHOWN 8

/* A4 and phones; nothing is fetched, so the fonts are those there are. */
static const char style[] =
	"*{box-sizing:border-box}"
	"body{font:15px/1.4 sans-serif;color:#111;background:#fff;margin:0 auto;padding:12px;"
	"max-width:50em;overflow-wrap:anywhere}"
	"h1{font-size:1.5em;margin:0 0 .3em}"
	"h2{font-size:1.15em;margin:1.2em 0 .4em;border-bottom:2px solid #33557a}"
	"p{margin:.3em 0}ul,ol{margin:.3em 0;padding-left:1.3em}ol{padding-left:2.4em}li{margin:.35em 0}"
	"table{border-collapse:collapse;width:100%}"
	"td,th{text-align:left;vertical-align:top;padding:.3em .5em .3em 0;border-bottom:1px solid #ccc}"
	"svg{display:block;width:100%}svg.reading{max-width:24em}svg.share{max-width:12em;height:8px}"
	".number{white-space:nowrap;width:4em}.state{font-weight:bold}.typed,.small{color:#444;font-size:.9em}"
	".outside{color:#a30000;font-weight:bold}.inside{color:#14532d}.close{color:#7a4d00}"
	".signal{padding:.4em .6em;margin:.4em 0;border-left:.5em solid #0b4ea2;background:#f2f2f2}"
	".DANGER{border-color:#c8102e}.WARNING{border-color:#e87722}.CAUTION{border-color:#d9a900}"
	"footer{margin-top:1.5em;border-top:1px solid #ccc;font-size:.85em;color:#333}"
	"@page{size:A4;margin:15mm}"
	"@media print{body{font-size:10.5pt;padding:0;max-width:none}h2{break-after:avoid}"
	"li,tr,.signal{break-inside:avoid}*{-webkit-print-color-adjust:exact;print-color-adjust:exact}}";

/* ---- the writer ----------------------------------------------------------------------------------- */

static void took(struct html *h, int result)
{
	h->failed = h->failed || result < 0;
}

void html_open(struct html *h, const char *element)
{
	took(h, xmlTextWriterStartElement(h->writer, (const xmlChar *)element));
}

/* With a tag of its own even when there is nothing in it: HTML does not know <td/>. */
void html_close(struct html *h) { took(h, xmlTextWriterFullEndElement(h->writer)); }

void html_void(struct html *h) { took(h, xmlTextWriterEndElement(h->writer)); }

void html_attribute(struct html *h, const char *name, const char *value)
{
	struct text safe = { 0 };

	text_clean(&safe, value);
	took(h, xmlTextWriterWriteAttribute(h->writer, (const xmlChar *)name,
					    (const xmlChar *)text_str(&safe)));
	text_free(&safe);
}

void html_figure(struct html *h, const char *name, double value)
{
	struct text t = { 0 };

	text_addf(&t, "%.2f", value);
	html_attribute(h, name, text_str(&t));
	text_free(&t);
}

void html_text(struct html *h, const char *s)
{
	struct text safe = { 0 };

	text_clean(&safe, s);
	took(h, xmlTextWriterWriteString(h->writer, (const xmlChar *)text_str(&safe)));
	text_free(&safe);
}

void html_put(struct html *h, const char *element, const char *class_name, const char *s)
{
	html_open(h, element);
	if (class_name)
		html_attribute(h, "class", class_name);
	html_text(h, s);
	html_close(h);
}

void html_put_text(struct html *h, const char *element, const char *class_name, struct text *t)
{
	html_put(h, element, class_name, text_str(t));
	text_free(t);
}

/* ---- head ------------------------------------------------------------------------------------------- */

static void meta(struct html *h, const char *key, const char *name, const char *content)
{
	html_open(h, "meta");
	html_attribute(h, key, name);
	if (content)
		html_attribute(h, "content", content);
	html_void(h);
}

void html_head(struct html *h, const char *title, const char *more_style)
{
	html_open(h, "head");
	meta(h, "charset", "utf-8", NULL);
	meta(h, "http-equiv", "Content-Security-Policy", "default-src 'none'; style-src 'unsafe-inline'");
	meta(h, "name", "viewport", "width=device-width, initial-scale=1");
	html_put(h, "title", NULL, title);
	html_open(h, "style");
	html_text(h, style);
	html_text(h, more_style);
	html_close(h);
	html_close(h);
}

static void complaint(struct html *h, const struct job_view *v)
{
	struct text t = { 0 };

	html_put(h, "h2", NULL, "Complaint");
	for (int i = 0; i < v->ncomplaints; i++)
		html_put(h, "p", "state", v->kn->checks[v->complaints[i]].title);
	if (!v->ncomplaints)
		html_put(h, "p", NULL, "None: a bench run.");
	words_told(&t, v);
	if (t.len)
		html_put_text(h, "p", NULL, &t);
}

static void signal(struct html *h, enum kn_signal s, const char *title, const char *say)
{
	const char *word = kn_signal_word(s);
	struct text class_name = { 0 };

	text_addf(&class_name, "signal %s", word);
	html_open(h, "p");
	html_attribute(h, "class", text_str(&class_name));
	html_put(h, "strong", NULL, word);
	html_text(h, ": ");
	html_text(h, title);
	if (say) {
		html_text(h, ". ");
		html_text(h, say);
	}
	html_close(h);
	text_free(&class_name);
}

static void head(struct html *h, const struct job *j, const struct job_view *v)
{
	struct text t = { 0 };
	int n = job_nevents(j);

	text_addf(&t, "Job sheet %s", job_id(j));
	html_put_text(h, "h1", NULL, &t);
	text_addf(&t, "Machine: %s", v->kn->machine_title);
	html_put_text(h, "p", NULL, &t);
	text_addf(&t, "State: %s%s%s%s", job_state_words(v->state),
		  v->recheck[0] ? ", to be looked at again on " : "", v->recheck,
		  v->state == JOB_OPEN && v->complaint_gone
			  ? "; the complaint was repeated and is gone" : "");
	html_put_text(h, "p", "state", &t);
	text_add(&t, "Begun ");
	words_day(&t, n ? job_event_at(j, 0)->when : 0);
	text_add(&t, ", last change ");
	words_day(&t, n ? job_event_at(j, n - 1)->when : 0);
	html_put_text(h, "p", "small", &t);
	if (n && strcmp(job_event_at(j, 0)->field[1], v->kn->digest) != 0)
		html_put(h, "p", NULL,
			 "The trees have changed since the job began; it is judged by those of today.");
	complaint(h, v);
	for (int i = 0; i < v->nholds; i++) {
		const struct kn_hold *hold = &v->kn->holds[v->holds[i]];

		signal(h, hold->signal, hold->title, hold->say);
	}
}

/* ---- findings ----------------------------------------------------------------------------------------- */

struct shown { enum rd_kind kind; double raw, value, u, p_inside; enum rd_verdict verdict; };

static const char *class_of(enum rd_verdict v)
{
	return v == RD_INSIDE ? "inside" : v == RD_OUTSIDE ? "outside" : v == RD_TOO_CLOSE ? "close" : NULL;
}

static void reading(struct html *h, const struct kn_reading *r, bool listed, const char *at,
		    const struct shown *s)
{
	struct text t = { 0 };
	struct html_drawing d = { r->low, r->high, s->value, s->u, s->verdict == RD_INSIDE,
				  s->verdict == RD_TOO_CLOSE, rd_unit_name(words_unit(r, listed)) };

	if (at)
		text_addf(&t, "%s: ", at);
	words_value(&t, s->kind, s->raw, s->value, s->u, s->verdict, s->p_inside, words_unit(r, listed));
	html_put_text(h, "p", class_of(s->verdict), &t);
	if (s->kind == RD_NUMBER && s->verdict != RD_NO_BAND)
		html_draw(h, &d);
}

static void readings(struct html *h, const struct kn_knowledge *kn, const struct kn_check *c,
		     const struct rd_result *r)
{
	struct text t = { 0 };
	struct shown s = { r->kind, r->raw, r->value, r->u, r->p_inside, r->verdict };

	if (!r->nplaces || c->compare)
		reading(h, c->reading, false, NULL, &s);
	for (int p = 0; !c->compare && p < r->nplaces; p++) {
		const struct rd_place_result *at = &r->at[p];

		if (!at->given)
			continue;
		s = (struct shown){ at->kind, at->raw, at->value, at->u, at->p_inside, at->verdict };
		reading(h, c->reading, true, words_place(kn, c->per, p), &s);
	}
	words_limit(&t, c->reading, r->nplaces > 0);
	for (int i = 0; i < r->nnotes; i++)
		text_addf(&t, "; %s", r->note[i]);
	if (t.len)
		html_put(h, "p", "small", text_str(&t) + 2); /* behind "; " */
	text_free(&t);
}

static void finding(struct html *h, const struct kn_knowledge *kn, const struct job_finding *f)
{
	const struct kn_check *c = &kn->checks[f->check];
	struct text t = { 0 };

	html_open(h, "li");
	html_open(h, "p");
	text_add(&t, c->title);
	words_at(&t, kn, c->per, f->place);
	html_put_text(h, "strong", NULL, &t);
	html_text(h, " ");
	text_addf(&t, "typed \"%s\"", f->raw);
	html_put_text(h, "span", "typed", &t);
	html_close(h);
	if (f->understood.number)
		readings(h, kn, c, &f->understood.reading);
	else
		html_put(h, "p", NULL, f->understood.echo);
	if (!f->counts && f->why[0]) {
		text_addf(&t, "Not counted: %s.", f->why);
		html_put_text(h, "p", "small", &t);
	}
	html_close(h);
}

static void repair(struct html *h, const struct job_view *v, int r)
{
	const struct kn_remedy *rem = &v->kn->remedies[v->repairs[r].remedy];
	struct text t = { 0 };

	html_open(h, "li");
	text_addf(&t, "Done: %s", rem->title);
	words_at(&t, v->kn, rem->per, v->repairs[r].place);
	html_put_text(h, "strong", NULL, &t);
	if (rem->parts) {
		text_addf(&t, "Parts: %s", rem->parts);
		html_put_text(h, "p", NULL, &t);
	}
	html_close(h);
}

/* Everything in the order it happened, as far as it was not taken back. */
static void history(struct html *h, const struct job *j, const struct job_view *v)
{
	struct text t = { 0 };
	int at = 0, done = 0;

	html_put(h, "h2", NULL, "Found and done, in order");
	html_put(h, "p", "small", "Mark: the reading; line: twice its standard uncertainty u; green: the band.");
	html_open(h, "ol");
	for (int e = 0; e < job_nevents(j); e++) {
		for (; at < v->nfindings && v->findings[at].event == e; at++)
			finding(h, v->kn, &v->findings[at]);
		for (; done < v->nrepairs && v->repair_event[done] == e; done++)
			repair(h, v, done);
		if (job_in_force(j, e))
			words_event(&t, v->kn, job_event_at(j, e));
		if (t.len)
			html_put_text(h, "li", NULL, &t);
	}
	html_close(h);
}

/* ---- suspects, settings, proof -------------------------------------------------------------------------- */

static void share_row(struct html *h, double p, const char *title)
{
	struct text t = { 0 };

	html_open(h, "tr");
	text_addf(&t, "%.0f %%", 100 * p);
	html_put_text(h, "td", "number", &t);
	html_open(h, "td");
	html_text(h, title);
	html_share(h, p);
	html_close(h);
	html_close(h);
}

static void suspects(struct html *h, const struct job_view *v)
{
	struct su_line *lines;
	struct text t = { 0 };
	int n = su_lines(v->suspects, &lines);

	html_put(h, "h2", NULL, v->nrepairs ? "What may still be wrong" : "What may be wrong");
	html_open(h, "table");
	html_open(h, "tbody");
	if (v->suspects->p_none > .005)
		share_row(h, v->suspects->p_none, v->nrepairs ? "nothing any more" : "nothing");
	for (int i = 0; i < n && i < SUSPECTS_SHOWN && lines[i].p >= .01; i++) {
		words_line(&t, v->kn, &lines[i]);
		share_row(h, lines[i].p, text_str(&t));
		text_clear(&t);
	}
	html_close(h);
	html_close(h);
	words_not_examined(&t, v->suspects->left_out);
	html_put_text(h, "p", "small", &t);
	mem_free(lines);
}

static void bench_line(void *to, const char *line) { html_put(to, "li", NULL, line); }

static void bench(struct html *h, const struct job_view *v)
{
	html_put(h, "h2", NULL, "The bench run");
	for (enum bench_list list = BENCH_PASSED; list < BENCH_LISTS; list++) {
		if (bench_lines(v, list, NULL, NULL) == 0)
			continue;
		html_put(h, "p", "state", bench_heading(list));
		html_open(h, "ul");
		bench_lines(v, list, bench_line, h);
		html_close(h);
	}
}

static void settings(struct html *h, const struct job_view *v)
{
	static const char *const heads[] = { "Setting", "As found", "As left", "Limit" };

	if (!v->nsettings)
		return;
	html_put(h, "h2", NULL, "Settings");
	html_open(h, "table");
	html_open(h, "thead");
	html_open(h, "tr");
	for (int i = 0; i < 4; i++)
		html_put(h, "th", NULL, heads[i]);
	html_close(h);
	html_close(h);
	html_open(h, "tbody");
	for (int i = 0; i < v->nsettings; i++) {
		const struct job_setting *s = &v->settings[i];
		const struct kn_setting *k = &v->kn->settings[s->setting];
		struct text t = { 0 };
		bool wrong;

		html_open(h, "tr");
		text_add(&t, k->title);
		words_at(&t, v->kn, k->per, s->place);
		html_put_text(h, "td", NULL, &t);
		html_put(h, "td", NULL, words_setting(s->found, s->found_asked, "-"));
		wrong = (s->found[0] && !s->left_asked) ||
			words_setting_verdict(v, s, s->left) == RD_OUTSIDE;
		html_put(h, "td", wrong ? "outside" : NULL,
			 words_setting(s->left, s->left_asked, s->found[0] ? "NOT NOTED YET" : "-"));
		words_setting_limit(&t, v, s);
		html_put_text(h, "td", NULL, &t);
		html_close(h);
	}
	html_close(h);
	html_close(h);
}

static void labelled(struct html *h, const char *element, const char *label, const char *s)
{
	struct text t = { 0 };

	text_addf(&t, "%s: %s", label, s);
	html_put_text(h, element, NULL, &t);
}

static void verification(struct html *h, const struct job_view *v)
{
	const struct kn_remedy *r;
	int last;

	if (!v->nrepairs)
		return;
	last = v->repair_event[v->nrepairs - 1];
	r = &v->kn->remedies[v->repairs[v->nrepairs - 1].remedy];
	html_put(h, "h2", NULL, "Verified after the last repair");
	html_open(h, "ul");
	for (int i = 0; i < r->nverifies; i++)
		labelled(h, "li", v->kn->checks[r->verifies[i]].title,
			 words_answered_after(v, r->verifies[i], last) ? "done, see above" : "not done");
	if (v->ncomplaints)
		labelled(h, "li", "Complaint repeated",
			 v->complaint_gone ? "yes, and it is gone" : "not yet, or still there");
	if (r->proof)
		labelled(h, "li", "Proof asked for", r->proof);
	if (r->recheck)
		labelled(h, "li", "Look again after", r->recheck);
	html_close(h);
}

static void cautions(struct html *h, const struct job_view *v)
{
	const struct kn_caution *c[WORDS_CAUTIONS_MOST];
	int n = words_cautions(v, c, WORDS_CAUTIONS_MOST);

	if (n)
		html_put(h, "h2", NULL, "Cautions of the work done");
	for (int i = 0; i < n; i++)
		signal(h, c[i]->signal, c[i]->text, NULL);
}

static void open_ends(struct html *h, struct job *j, const struct job_view *v)
{
	bool unfinished = v->state == JOB_OPEN || v->state == JOB_TO_VERIFY;
	struct hs_err ignored = { 0 };
	const struct pl_plan *plan = unfinished && !v->complaint_gone ? job_plan(j, &ignored) : NULL;

	html_put(h, "h2", NULL, "Still open, notes");
	html_open(h, "ul");
	if (plan && plan->nsteps)
		labelled(h, "li", "Next step", words_step_title(v->kn, &plan->step[0]));
	for (int a = 1; a < v->kn->naccesses && a < 64; a++)
		if (v->open >> a & 1)
			labelled(h, "li", "Open", v->kn->accesses[a].title);
	for (int i = 0; i < v->nnotes; i++)
		labelled(h, "li", "Note", v->notes[i]);
	html_close(h);
}

/* ---- the page --------------------------------------------------------------------------------------------- */

static int page_body(struct html *h, struct job *j, const struct job_view *v, struct hs_err *err)
{
	int result;

	html_open(h, "body");
	head(h, j, v);
	history(h, j, v);
	if (bench_is_one(v))
		bench(h, v);
	suspects(h, v);
	result = html_moves(h, j, err);
	settings(h, v);
	verification(h, v);
	cautions(h, v);
	open_ends(h, j, v);
	html_put(h, "footer", NULL,
		 "A guide to isolating faults, not a substitute for licensed practice; local rules on "
		 "emissions, noise and fuel disposal come first.");
	html_close(h);
	return result;
}

struct sheet { struct job *j; const struct job_view *v; };

static int page(struct html *h, const void *about, struct hs_err *err)
{
	const struct sheet *s = about;
	struct text title = { 0 };

	text_addf(&title, "Job sheet %s", job_id(s->j));
	html_head(h, text_str(&title), "");
	text_free(&title);
	return page_body(h, s->j, s->v, err);
}

/* The whole document; `inside` writes head and body. */
static int document(struct html *h, int (*inside)(struct html *h, const void *about, struct hs_err *err),
		    const void *about, struct hs_err *err)
{
	int result;

	took(h, xmlTextWriterWriteDTD(h->writer, (const xmlChar *)"html", NULL, NULL, NULL));
	html_open(h, "html");
	html_attribute(h, "lang", "en");
	result = inside(h, about, err);
	html_close(h);
	took(h, xmlTextWriterEndDocument(h->writer));
	return result;
}

int html_page(int (*inside)(struct html *h, const void *about, struct hs_err *err), const void *about,
	      struct text *out, struct hs_err *err)
{
	struct html h = { .page = xmlBufferCreate() };
	int result = -1;

	if (h.page)
		h.writer = xmlNewTextWriterMemory(h.page, 0);
	if (h.writer)
		result = document(&h, inside, about, err);
	xmlFreeTextWriter(h.writer);
	if (!h.writer || h.failed)
		result = err_set(err, HS_IO, "There is no memory left for the page.");
	if (result == 0)
		text_addf(out, "%s\n", (const char *)xmlBufferContent(h.page));
	if (h.page)
		xmlBufferFree(h.page);
	return result;
}

int report_html(struct job *j, struct text *out, struct hs_err *err)
{
	struct sheet s = { j, job_view(j, err) };

	return s.v ? html_page(page, &s, out, err) : -1;
}
