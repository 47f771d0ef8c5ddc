#include "reading/adjust.h"

#include <ctype.h>
#include <math.h>
#include <string.h>

#include "reading/line.h"
#include "reading/normal.h"
#include "reading/parse.h"

#define SURE .95          /* as for any verdict */
#define SHOWS 2           /* a change of so many standard uncertainties is one */
#define STUCK_MOVES 2     /* moves in a row without a change that shows */
#define LEAP 4            /* no suggestion is more than so many times the last move: rates bend */

static double target_of(const struct rd_aim *aim)
{
	if (!isnan(aim->target))
		return aim->target;
	if (isinf(aim->low))
		return aim->high - 2 * aim->u; /* far enough inside to be called so */
	return isinf(aim->high) ? aim->low + 2 * aim->u : (aim->low + aim->high) / 2;
}

static void judge(const struct rd_aim *aim, double value, struct rd_adjust *out)
{
	out->p_inside = aim->u > 0 ? normal_between((aim->low - value) / aim->u, (aim->high - value) / aim->u)
				   : value >= aim->low && value <= aim->high;
	out->verdict = out->p_inside >= SURE ? RD_INSIDE : out->p_inside <= 1 - SURE ? RD_OUTSIDE
										     : RD_TOO_CLOSE;
	out->outside = value > aim->high ? value - aim->high : value < aim->low ? value - aim->low : 0;
}

static double mean_shift(const struct rd_adjusted *step, int n)
{
	double sum = 0;
	int seen = 0;

	for (int i = 1; i < n; i++)
		if (step[i].tightened) {
			sum += step[i].value - step[i - 1].value;
			seen++;
		}
	return seen ? sum / seen : 0;
}

/* Readings against how far it stands from where it began, as long as every move was measured; what
 * tightening shifted is taken off again.  Only the last run: where a move was not measured, a new
 * one begins. */
static void find_rate(const struct rd_aim *aim, const struct rd_adjusted *step, int n,
		      struct rd_adjust *out)
{
	double x[RD_ADJUST_MAX], y[RD_ADJUST_MAX], at = 0, tight = 0;
	struct rd_line line;
	int k = 0;

	for (int i = 0; i < n; i++) {
		if (i && step[i].tightened) {
			tight += step[i].value - step[i - 1].value;
			continue;
		}
		if (i && isnan(step[i].moved))
			k = 0;
		at = k ? at + step[i].moved : 0;
		x[k] = at;
		y[k++] = step[i].value - tight;
	}
	if (rd_line_fit(x, y, k, aim->u, &line)) {
		out->rate = line.slope;
		out->u_rate = line.u_slope;
	}
}

/* How many moves at the end changed nothing that shows, all together. */
static int idle_moves(const struct rd_aim *aim, const struct rd_adjusted *step, int n)
{
	int idle = 0;

	for (int i = n - 1; i > 0; i--) {
		if (step[i].tightened || step[i].moved == 0)
			continue;
		if (fabs(step[n - 1].value - step[i - 1].value) > SHOWS * M_SQRT2 * aim->u)
			break;
		idle++;
	}
	return idle;
}

/* By the rate where moves have a measure, else as a share of the last move. */
static void suggest(const struct rd_aim *aim, const struct rd_adjusted *last, struct rd_adjust *out)
{
	double wanted = target_of(aim) - out->shift * !last->tightened - last->value;
	double most = LEAP * fmax(aim->fine, fabs(last->moved));

	if (!isnan(out->rate) && fabs(out->rate) > SHOWS * out->u_rate)
		out->move = fmax(-most, fmin(most, wanted / out->rate));
	else if (fabs(out->last_effect) > SHOWS * M_SQRT2 * aim->u)
		out->of_last = fmax(-LEAP, fmin(LEAP, wanted / out->last_effect));
}

int rd_adjust(const struct rd_aim *aim, const struct rd_adjusted *step, int n, struct rd_adjust *out,
	      struct hs_err *err)
{
	const struct rd_adjusted *last;

	*out = (struct rd_adjust){ .last_effect = NAN, .rate = NAN, .u_rate = NAN, .move = NAN,
				   .of_last = NAN };
	if (n < 1 || n > RD_ADJUST_MAX)
		return err_set(err, HS_BAD_INPUT, "Between 1 and %d readings are needed.", RD_ADJUST_MAX);
	if (!(aim->low < aim->high) || (isinf(aim->low) && isinf(aim->high)))
		return err_set(err, HS_BAD_INPUT, "There is no band to aim at.");
	last = &step[n - 1];
	judge(aim, last->value, out);
	out->over = last->value - target_of(aim);
	out->shift = mean_shift(step, n);
	if (n > 1 && !last->tightened && last->moved != 0)
		out->last_effect = last->value - last[-1].value;
	find_rate(aim, step, n, out);
	if (out->verdict == RD_INSIDE)
		out->next = last->tightened ? RD_ADJUST_DONE : RD_ADJUST_TIGHTEN;
	else if (idle_moves(aim, step, n) >= STUCK_MOVES)
		out->next = RD_ADJUST_STUCK;
	else
		suggest(aim, last, out);
	return 0;
}

/* ---- typed --------------------------------------------------------------------------------------- */

/* Where a move begins: a blank, a sign and a digit or point; NULL. */
static const char *move_in(const char *typed)
{
	for (const char *s = typed; *s; s++)
		if ((*s == ' ' || *s == '\t') && (s[1] == '+' || s[1] == '-') &&
		    (isdigit((unsigned char)s[2]) || s[2] == '.' || s[2] == ','))
			return s;
	return NULL;
}

/* Is the last word one for tight? Its length with what stands before it, 0 when it is not. */
static size_t says_tight(const char *typed, size_t n)
{
	static const char *const words[] = { "tight", "tightened" };

	for (int i = 0; i < 2; i++) {
		size_t length = strlen(words[i]);

		if (n > length && strncasecmp(typed + n - length, words[i], length) == 0 &&
		    isspace((unsigned char)typed[n - length - 1]))
			return length + 1;
	}
	return 0;
}

/* "+1/4 turn" without its sign, by the grammar of readings; the measure may stand behind it. */
static int take_move(const char *move, double *out, struct hs_err *err)
{
	struct rd_setup s;
	struct rd_typed typed;

	rd_setup_init(&s);
	s.unit = strstr(move, "mm") ? RD_MM : RD_TURN;
	if (rd_parse(&s, move + 1, &typed, err) < 0)
		return -1;
	if (typed.n != 1 || typed.item[0].kind != RD_NUMBER)
		return err_set(err, HS_BAD_INPUT, "\"%s\" is no move: +1/4 or -.1, behind the reading.", move);
	*out = *move == '-' ? -typed.item[0].value : typed.item[0].value;
	return 0;
}

int rd_adjust_split(const char *typed, struct text *reading, struct rd_adjusted *step, struct hs_err *err)
{
	size_t n = strlen(typed), tight = says_tight(typed, n);
	const char *move = move_in(typed);

	*step = (struct rd_adjusted){ .moved = NAN, .tightened = tight > 0 };
	if (move && tight)
		return err_set(err, HS_BAD_INPUT, "Either moved or only made tight: one reading for each.");
	if (move && take_move(move + 1, &step->moved, err) < 0)
		return -1;
	if (tight)
		step->moved = 0;
	text_addn(reading, typed, move ? (size_t)(move - typed) : n - tight);
	return 0;
}

void rd_adjust_measure(struct rd_aim *aim)
{
	aim->move = aim->unit == RD_MM ? "mm" : "turn";
	aim->fine = aim->unit == RD_MM ? .1 : .25;
}

/* ---- in words ----------------------------------------------------------------------------------- */

static void say_place(struct text *t, const struct rd_aim *aim, const struct rd_adjusted *last,
		      const struct rd_adjust *a)
{
	rd_format(t, RD_NUMBER, last->value, aim->u, aim->unit);
	if (a->verdict == RD_INSIDE)
		text_add(t, " is inside.");
	else if (a->outside == 0)
		text_add(t, " is too near the limit to call it inside.");
	else {
		text_add(t, ": ");
		rd_format(t, RD_NUMBER, fabs(a->outside), aim->u, aim->unit);
		text_add(t, a->outside > 0 ? " too high." : " too low.");
	}
}

static void say_effect(struct text *t, const struct rd_aim *aim, const struct rd_adjust *a)
{
	if (isnan(a->last_effect))
		return;
	text_add(t, a->last_effect < 0 ? " The last move took off " : " The last move added ");
	rd_format(t, RD_NUMBER, fabs(a->last_effect), aim->u, aim->unit);
	if (!isnan(a->rate) && aim->move) {
		text_add(t, " (");
		rd_format(t, RD_NUMBER, a->rate * aim->fine, aim->u, aim->unit);
		text_addf(t, " for %g %s)", aim->fine, aim->move);
	}
	text_add(t, ".");
}

static void say_next(struct text *t, const struct rd_aim *aim, const struct rd_adjust *a)
{
	switch (a->next) {
	case RD_ADJUST_TIGHTEN:
		text_add(t, " Tighten it and read once more: tightening shifts it.");
		return;
	case RD_ADJUST_DONE:
		text_add(t, " Tight, and still inside: done.");
		return;
	case RD_ADJUST_STUCK:
		text_add(t, " Moving it changes nothing: look whether it is the right screw, whether it is "
			    "loose, and whether the reading is of this part.");
		return;
	default:
		break;
	}
	if (!isnan(a->move))
		text_addf(t, " Next: %.2g %s %s.", fabs(a->move), aim->move ? aim->move : "",
			  a->move < 0 ? "back" : "on");
	else if (!isnan(a->of_last))
		text_addf(t, " Next: about %.1f times the last move, %s way.", fabs(a->of_last),
			  a->of_last < 0 ? "the other" : "the same");
	else
		text_add(t, " Move it a little, and read again.");
}

void rd_adjust_say(struct text *t, const struct rd_aim *aim, const struct rd_adjusted *last,
		   const struct rd_adjust *a)
{
	say_place(t, aim, last, a);
	say_effect(t, aim, a);
	if (last->tightened && a->next == RD_ADJUST_MOVE && a->shift != 0) {
		text_add(t, " Tightening shifted it by ");
		rd_format(t, RD_NUMBER, a->shift, aim->u, aim->unit);
		text_add(t, ": aim as much the other way.");
	}
	say_next(t, aim, a);
}
