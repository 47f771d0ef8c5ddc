/* A figure of the owner's manual: typed, echoed, held against what is usual. */
#include <math.h>
#include <string.h>

#include "talk/figure.h"

#define ODD_SIZE 5.0      /* so many times more or less than usual is asked about */

void figure_of_value(struct text *out, const struct kn_value *v)
{
	struct rd_figure f = {.nominal = v->nominal, .low = v->low, .high = v->high,
			      .at_degC = v->at_degC};

	rd_figure_format(out, &f, v->unit);
}

static double size_of(double nominal, double low, double high)
{
	if (!isnan(nominal))
		return fabs(nominal);
	if (isfinite(low) && isfinite(high))
		return fabs(low + high) / 2;
	return fabs(isfinite(low) ? low : high);
}

static bool odd_size(const struct kn_value *v, const struct rd_figure *f)
{
	double usual = size_of(v->nominal, v->low, v->high),
	       typed = size_of(f->nominal, f->low, f->high);

	return usual > 0 && typed > 0 && (typed > ODD_SIZE * usual || usual > ODD_SIZE * typed);
}

static void echo(struct talk *t, const struct kn_value *v, const struct rd_figure *f)
{
	struct text words = {0};

	rd_figure_format(&words, f, v->unit);
	out_say(&t->out, 0, 2, "Understood: %s.%s", text_str(&words),
		f->assumed ? " No tolerance was typed: 10 % either way is taken." : "");
	text_free(&words);
}

/* TALK_TEXT: keep it; TALK_MOVED: ask again. */
static enum talk_reply doubt(struct talk *t, const struct kn_value *v, const struct rd_figure *f)
{
	struct text usual = {0}, typed = {0};
	enum talk_reply reply;
	bool yes = false;

	if (!odd_size(v, f))
		return TALK_TEXT;
	figure_of_value(&usual, v);
	rd_figure_format(&typed, f, v->unit);
	out_say(&t->out, 0, 2, "%s is far from what is usual (%s).", text_str(&typed), text_str(&usual));
	reply = talk_ask_yes(t, "Is it right, with that unit", NULL, NULL, NULL, &yes);
	text_free(&usual);
	text_free(&typed);
	if (reply == TALK_OVER)
		return reply;
	return reply == TALK_TEXT && yes ? TALK_TEXT : TALK_MOVED;
}

static void help(struct talk *t, const void *about)
{
	const struct kn_value *v = about;
	const char *unit = rd_unit_name(v->unit);

	out_say(&t->out, 2, 2, "%s, as the owner's manual of this bike has it.", v->title);
	out_say(&t->out, 2, 2, "A figure with its tolerance (2.8 +- .3), a band (2.5 to 3.1) or a limit "
		"(at least 2.5)%s%s, or with its own unit; `at 25 degC` behind it where the manual says "
		"so.", *unit ? ", in " : "", unit);
}

enum talk_reply figure_ask(struct talk *t, const char *question, const struct kn_value *v,
			   const char *by_default,
			   int (*fits)(void *with, const struct rd_figure *f, struct hs_err *err),
			   void *with, struct rd_figure *out)
{
	struct text line = {0}, allowed = {0};
	struct talk_prompt p = {.question = question, .by_default = by_default, .help = help, .about = v};
	enum talk_reply reply;

	text_addf(&allowed, "a figure%s%s, or don't know", *rd_unit_name(v->unit) ? " in " : "",
		  rd_unit_name(v->unit));
	p.allowed = text_str(&allowed);
	do {
		struct hs_err err = {0};
		reply = talk_ask(t, &p, &line);
		if (reply != TALK_TEXT)
			break;
		if (rd_figure_parse(v->unit, text_str(&line), out, &err) == 0 &&
		    (!fits || fits(with, out, &err) == 0)) {
			reply = doubt(t, v, out);
			if (reply == TALK_TEXT)
				echo(t, v, out);
		} else if (talk_refuse(t, &line, "%s", err.text)) {
			reply = TALK_MOVED;
		} else {
			reply = TALK_OVER;
		}
	} while (reply == TALK_MOVED);
	text_free(&line);
	text_free(&allowed);
	return reply;
}
