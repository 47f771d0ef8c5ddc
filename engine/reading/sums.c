#include "reading/sums.h"

#include <math.h>

#include "reading/air.h"
#include "reading/battery.h"
#include "reading/circuit.h"
#include "reading/engine.h"
#include "reading/fuel.h"
#include "reading/normal.h"
#include "reading/reading.h"
#include "reading/sensor.h"
#include "reading/turns.h"

/* ---- resistances -------------------------------------------------------------------------------- */

static double leads(const double *x, int n) { return n == 2 ? x[0] - x[1] : NAN; }
static double leads_sense(const double *x, int n) { return n == 2 && x[0] >= x[1]; }

static double copper(const double *x, int n)
{
	double reference = n > 2 ? x[2] : 20;

	return x[0] * (234.5 + reference) / (234.5 + x[1]); /* IEC 60028 */
}
static double copper_sense(const double *x, int n) { return n >= 2 && x[1] > -60 && x[1] < 400; }

static double parallel(const double *x, int n)
{
	double conductance = 0;

	for (int i = 0; i < n; i++)
		conductance += 1 / x[i];
	return conductance > 0 ? 1 / conductance : INFINITY;
}

static double unmask(const double *x, int n)
{
	return n == 2 && x[0] < x[1] ? x[0] * x[1] / (x[1] - x[0]) : INFINITY;
}

static double series(const double *x, int n)
{
	double sum = 0;

	for (int i = 0; i < n; i++)
		sum += x[i];
	return sum;
}

static double secondary(const double *x, int n) { return n == 3 ? x[0] - x[1] - x[2] : NAN; }
static double resistance(const double *x, int n) { return n == 2 ? x[0] / x[1] : NAN; }
static double current(const double *x, int n) { return n == 3 ? x[2] * x[1] / x[0] : NAN; }
static double load_sense(const double *x, int n) { return n == 2 && x[1] >= RD_DROP_LEAST_A; }
static double first_positive(const double *x, int n) { return n > 0 && x[0] > 0; }

static void branches(struct text *t, const double *x, int n)
{
	int good = n == 2 ? rd_branches_good(x[0], x[1]) : 0;

	text_addf(t, "%d good", good);
	if (good > 0) {
		text_add(t, ": that many show ");
		rd_format(t, RD_NUMBER, rd_branches(x[0], good), .01, RD_OHM);
	}
}

static void star(struct text *t, const double *x, int n)
{
	struct rd_star s;
	struct hs_err err = { 0 };

	if (rd_star(x, n > 3 ? x[3] : 0, .01, 0, &s, &err) < 0) {
		text_add(t, err.text);
		return;
	}
	if (s.open == RD_STAR_SEVERAL)
		text_add(t, "two phases are open, or all three");
	for (int i = 0; i < 3 && s.open != RD_STAR_SEVERAL; i++) {
		text_addf(t, "%s%c ", i ? ", " : "", 'a' + i);
		if (i == s.open)
			text_add(t, "open");
		else if (isnan(s.phase[i]))
			text_add(t, "not to be told");
		else
			rd_format(t, RD_NUMBER, s.phase[i], .001, RD_OHM);
	}
}

static void drops(struct text *t, const double *x, int n)
{
	struct rd_drops d = rd_drops(x + 2, n - 2, x[0], x[1]);

	text_addf(t, "%.2f V in all, worst number %d", d.sum, d.worst + 1);
	if (d.complete)
		text_add(t, "; nothing missed");
	else
		text_addf(t, "; %.2f V missed: a stretch was left out", d.missed);
}

#define RD_TRACK_GONE_OHM 1e6 /* a track that shows megohms is worn through; common practice, no source */

/* ---- sensor --------------------------------------------------------------------------------------- */

static double ratio(const double *x, int n) { return n == 3 ? (x[0] - x[2]) / (x[1] - x[2]) : NAN; }
static double ratio_sense(const double *x, int n) { return n == 3 && x[1] > x[2]; }
static double volts(const double *x, int n) { return n == 3 ? x[2] + x[0] * (x[1] - x[2]) : NAN; }

static void sweep(struct text *t, const double *x, int n)
{
	struct rd_sweep s;
	struct hs_err err = { 0 };

	if (rd_sweep(x, NULL, n, &s, &err) < 0) {
		text_add(t, err.text);
		return;
	}
	text_addf(t, "worst %.1f %% off the line at point %d; ", s.worst_percent, s.worst + 1);
	if (s.reversals)
		text_addf(t, "goes backward %d times, first at point %d", s.reversals, s.first_reversal + 1);
	else
		text_add(t, "never backward");
}

/* A track by resistance: limits of the open end, then the points from closed to open. */
static void track(struct text *t, const double *x, int n)
{
	for (int i = 2; i < n; i++)
		if (x[i] >= RD_TRACK_GONE_OHM) {
			text_addf(t, "open at point %d: renew the sensor", i - 1);
			return;
		}
	rd_format(t, RD_NUMBER, x[2] / 1000, .01, RD_KILOHM);
	text_add(t, " to ");
	rd_format(t, RD_NUMBER, x[n - 1] / 1000, .01, RD_KILOHM);
	text_addf(t, ", %s; ", x[n - 1] >= x[0] && x[n - 1] <= x[1] ? "inside" : "outside");
	sweep(t, x + 2, n - 2);
}

/* ---- engine, air, fuel ---------------------------------------------------------------------------- */

static double sea_level(const double *x, int n)
{
	return n == 2 ? rd_air_compression_at_sea_level(x[0], x[1]) : NAN;
}
static double low_enough(const double *x, int n) { return x[n - 1] > -500 && x[n - 1] < 11000; }

static double balance(const double *x, int n) { return rd_balance_ratio(x, n); }
static double all_positive(const double *x, int n)
{
	for (int i = 0; i < n; i++)
		if (!(x[i] > 0))
			return 0;
	return 1;
}
static double wet_gain(const double *x, int n) { return n == 2 ? rd_wet_gain_percent(x[0], x[1]) : NAN; }
static double leak_down(const double *x, int n) { return n == 2 ? rd_leakdown_percent(x[0], x[1]) : NAN; }
static double leak_sense(const double *x, int n) { return n == 2 && x[0] > 0 && x[1] >= 0 && x[1] <= x[0]; }
static double spread(const double *x, int n) { return rd_spread(x, n); }
static double header(const double *x, int n) { return n == 3 ? rd_header_ratio(x[0], x[1], x[2]) : NAN; }
static double header_sense(const double *x, int n) { return n == 3 && x[1] > x[2] && x[1] >= x[0]; }
static double flow(const double *x, int n) { return n == 2 ? rd_flow_per_minute(x[0], x[1]) : NAN; }
static double flow_sense(const double *x, int n) { return n == 2 && x[1] > 0; }
static double level(const double *x, int n) { return n == 2 ? rd_float_height_change(x[0], x[1]) : NAN; }
static double jet(const double *x, int n) { return n == 2 ? rd_air_jet(x[0], x[1]) : NAN; }
static double richer(const double *x, int n) { return n == 1 ? rd_air_richer_percent(x[0]) : NAN; }
static double leaner(const double *x, int n) { return n == 1 ? rd_air_leaner_percent(x[0]) : NAN; }
static double air_ratio(const double *x, int n) { return rd_air_ratio(x[0], n > 1 ? x[1] : 0); }
static double ratio_of_air_sense(const double *x, int n)
{
	return x[0] > 0 && (n < 2 || (x[1] >= 0 && x[1] <= 100));
}
static double share_sense(const double *x, int n) { return n == 1 && x[0] >= 0 && x[0] <= 100; }
static double economy(const double *x, int n)
{
	return n == 2 ? rd_economy_change_percent(x[0], x[1]) : NAN;
}

static void lobes(struct text *t, const double *x, int n)
{
	struct rd_float f = rd_float(x[0], n > 1 ? x[1] : x[0], -INFINITY, INFINITY);

	text_addf(t, "height %.2f mm, twist %.2f mm%s", f.height, f.twist,
		  f.twist_good ? "" : ": more than 0.5 mm, straighten it");
}

/* No screw has more turns; and the sum of any line stays a whole number. */
#define RD_TURNS_MOST 1000
static double turns_sense(const double *x, int n)
{
	for (int i = 0; i < n; i++)
		if (!(fabs(x[i]) <= RD_TURNS_MOST))
			return 0;
	return 1;
}

static void mixture_screw(struct text *t, const double *x, int n)
{
	int sum = 0;

	for (int i = 0; i < n; i++)
		sum += rd_eighths(x[i]);
	rd_eighths_format(t, sum);
	text_add(t, " turns");
}

/* ---- battery -------------------------------------------------------------------------------------- */

static double sealed(const double *x, int n) { return n == 1 ? 100 * rd_battery_charge(x[0], RD_BATTERY_SEALED) : NAN; }
static double flooded(const double *x, int n)
{
	return n == 1 ? 100 * rd_battery_charge(x[0], RD_BATTERY_FLOODED) : NAN;
}
static double cranking(const double *x, int n) { return n >= 1 ? rd_cranking_limit(x[0]) : NAN; }
static void cranked(struct text *t, const double *x, int n)
{
	double least = cranking(x, n), p;
	enum rd_verdict v = rd_judge(least, INFINITY, RD_NUMBER, x[1], 0, &p);

	text_addf(t, "%s: at least %.2f V at %.4g degC", rd_verdict_words(v), least, x[0]);
}
static double parasitic(const double *x, int n) { return n == 2 ? rd_parasitic_days(x[0], x[1]) : NAN; }
static double alternator(const double *x, int n) { return n == 3 ? rd_alternator_at(x[0], x[1], x[2]) : NAN; }

/* ---- what a figure is worth ----------------------------------------------------------------------- */

static void cold(struct text *t, const double *x, int n)
{
	bool by_time = n > 2 && rd_cold_by_time(x[2]);

	if (n >= 2 && (rd_reads_cold(x[0], x[1]) || by_time))
		text_add(t, "cold: what it reads counts");
	else
		text_addf(t, "%.0f K warmer than the air: repeat cold", n >= 2 ? x[0] - x[1] : 0);
}

static void seat(struct text *t, const double *x, int n)
{
	text_add(t, n == 2 && rd_seat_counts_agree(rd_eighths(x[0]), rd_eighths(x[1]))
			    ? "agree" : "more than 1/8 apart: one was seated hard, count again");
}

static void pickup(struct text *t, const double *x, int n)
{
	const struct rd_instrument *plain = rd_instrument_by_id("good-meter");

	if (n == 1 && !rd_sees_pulses(plain))
		text_add(t, "invalid tool: a plain meter averages short pulses away, whatever it shows; take a "
			    "peak adaptor, and put its limit behind");
	else if (n == 2)
		text_addf(t, "%.3g V peak, %s", x[0], x[0] >= x[1] ? "enough" : "too little");
}

static void charging(struct text *t, const double *x, int n)
{
	double lost = 0;

	switch (rd_charging(x[0], x[1], n > 2 ? x[2] : 13.8, n > 3 ? x[3] : 14.8, &lost)) {
	case RD_CHARGING_GOOD: text_add(t, "good at the posts"); break;
	case RD_CHARGING_PATH: text_addf(t, "%.2g V lost on the way: the path, not the regulator", lost); break;
	case RD_CHARGING_SOURCE: text_add(t, "low at the regulator too: alternator or regulator"); break;
	case RD_CHARGING_HIGH: text_add(t, "too high: regulator or its earth"); break;
	}
}

static void sync(struct text *t, const double *x, int n)
{
	static const char *const next[] = { "the screw between 1 and 2", "the screw between 3 and 4",
					    "the middle screw, pair to pair", "nothing: it is balanced" };

	text_addf(t, "next: %s", n >= 4 ? next[rd_sync_next(x, n > 4 ? x[4] : 10)] : "");
}

static double burnt(const double *x, int n) { return n == 1 ? rd_flow_needed(x[0]) : NAN; }
static double dry(const double *x, int n) { return n == 3 ? rd_bowls_dry_s(x[0], x[1], x[2]) : NAN; }

/* A figure against its band, no uncertainty: what a limit says and no more. */
static void band(struct text *t, const double *x, int n)
{
	double p;

	if (n == 3)
		text_add(t, rd_verdict_words(rd_judge(x[0], x[1], isinf(x[2]) ? RD_OPEN : RD_NUMBER, x[2], 0, &p)));
}
static double band_sense(const double *x, int n) { return n >= 3 && x[0] <= x[1]; }

/* A position sensor on its stop: what is only off is moved, what is open is renewed. */
static void closed(struct text *t, const double *x, int n)
{
	if (n != 3)
		return;
	if (x[2] >= RD_TRACK_GONE_OHM)
		text_add(t, "open: renew the sensor");
	else if (x[2] >= x[0] && x[2] <= x[1])
		text_add(t, "inside");
	else
		text_addf(t, "%.4g ohm too %s: move it first", x[2] > x[1] ? x[2] - x[1] : x[0] - x[2],
			  x[2] > x[1] ? "high" : "low");
}

/* Readings of the same thing: mean, its standard uncertainty, and what holds it in 95 of 100 (JCGM 100
 * 4.2, G.3). */
static void repeats(struct text *t, const double *x, int n)
{
	double mean = 0, squares = 0, u, wide;

	for (int i = 0; i < n; i++)
		mean += x[i] / n;
	for (int i = 0; i < n; i++)
		squares += (x[i] - mean) * (x[i] - mean);
	u = n > 1 ? sqrt(squares / (n - 1) / n) : 0;
	wide = n > 1 ? u * student_quantile(.95, n - 1) : 0;
	text_addf(t, "mean %.6g, u %.2g; +/- %.2g in 95 of 100", mean, u, wide);
}

/* IEC 60063, E24: the values themselves, which are not 10^(i/24) rounded. */
static const int e24[] = { 10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75,
			   82, 91, 100 };

static double preferred(const double *x, int n)
{
	double decade, best = NAN;

	if (n != 1)
		return NAN;
	decade = pow(10, floor(log10(x[0]))) / 10;
	for (size_t i = 0; i < sizeof e24 / sizeof *e24; i++)
		if (isnan(best) || fabs(e24[i] * decade - x[0]) < fabs(best - x[0]))
			best = e24[i] * decade;
	return best;
}

/* ---- the list ------------------------------------------------------------------------------------- */

static const struct rd_sum sums[] = {
	{ "leads", "SHOWN PROBES", "what is left without the leads", 2, 2, { RD_OHM }, leads, RD_OHM, NULL,
	  leads_sense },
	{ "copper", "OHM DEGC [TO]", "a copper winding's ohm at 20 degC, or at TO", 2, 3,
	  { RD_OHM, RD_DEGC }, copper, RD_OHM, NULL, copper_sense },
	{ "series", "OHM...", "one after another", 1, RD_FIGURES_MAX, { RD_OHM }, series, RD_OHM, NULL, NULL },
	{ "parallel", "OHM...", "side by side; OL for an open one", 1, RD_FIGURES_MAX, { RD_OHM }, parallel,
	  RD_OHM, NULL, all_positive },
	{ "unmask", "PAIR OTHER", "one of two side by side, the other known", 2, 2, { RD_OHM }, unmask,
	  RD_OHM, NULL, all_positive },
	{ "branches", "EACH SHOWN", "how many of like branches carry", 2, 2, { RD_OHM }, NULL, RD_NO_UNIT,
	  branches, first_positive },
	{ "current", "EACH COUNT VOLT", "ampere of so many branches at these volts", 3, 3,
	  { RD_OHM, RD_NO_UNIT, RD_VOLT }, current, RD_AMPERE, NULL, first_positive },
	{ "secondary", "SHOWN CAP CAP", "a winding without its caps", 3, 3, { RD_KILOHM }, secondary,
	  RD_KILOHM, NULL, NULL },
	{ "star", "AB BC CA [PROBES]", "the three phases of a star", 3, 4, { RD_OHM }, NULL, RD_NO_UNIT, star,
	  NULL },
	{ "drop", "VOLT AMPERE", "ohm of a joint from its drop under load", 2, 2, { RD_VOLT, RD_AMPERE },
	  resistance, RD_OHM, NULL, load_sense },
	{ "drops", "BATTERY END DROP...", "do the drops add up?", 3, RD_FIGURES_MAX, { RD_VOLT }, NULL,
	  RD_NO_UNIT, drops, NULL },
	{ "ratio", "SIGNAL SUPPLY GROUND", "a sensor against its own supply and ground", 3, 3, { RD_VOLT },
	  ratio, RD_NO_UNIT, NULL, ratio_sense },
	{ "volts", "RATIO SUPPLY GROUND", "where a sensor with this ratio sits", 3, 3,
	  { RD_NO_UNIT, RD_VOLT }, volts, RD_VOLT, NULL, NULL },
	{ "sweep", "POINT...", "even steps against a straight line", 3, RD_FIGURES_MAX, { RD_VOLT }, NULL,
	  RD_NO_UNIT, sweep, NULL },
	{ "track", "LOW HIGH OHM...", "a throttle sensor by resistance: open end's limits, even steps", 5,
	  RD_FIGURES_MAX, { RD_OHM }, NULL, RD_NO_UNIT, track, band_sense },
	{ "float", "LEFT RIGHT", "height and twist of a float's lobes", 2, 2, { RD_MM }, NULL, RD_NO_UNIT,
	  lobes, NULL },
	{ "level", "BELOW WANTED", "what to add to the float height", 2, 2, { RD_MM }, level, RD_MM, NULL,
	  NULL },
	{ "sea-level", "KPA METRE", "compression as it would be at sea level", 2, 2, { RD_KPA, RD_METRE },
	  sea_level, RD_KPA, NULL, low_enough },
	{ "balance", "KPA...", "least over most", 2, RD_FIGURES_MAX, { RD_KPA }, balance, RD_NO_UNIT, NULL,
	  all_positive },
	{ "wet-gain", "DRY WET", "percent gained with oil", 2, 2, { RD_KPA }, wet_gain, RD_PERCENT, NULL,
	  all_positive },
	{ "leak-down", "IN HELD", "percent lost of what went in", 2, 2, { RD_KPA }, leak_down, RD_PERCENT,
	  NULL, leak_sense },
	{ "spread", "MMHG...", "most less least", 2, RD_FIGURES_MAX, { RD_MMHG }, spread, RD_MMHG, NULL, NULL },
	{ "header", "PIPE HOTTEST AIR", "a header against the hottest, above the air", 3, 3, { RD_DEGC },
	  header, RD_NO_UNIT, NULL, header_sense },
	{ "turns", "FOUND [TRIM...]", "a screw in eighths of a turn", 1, RD_FIGURES_MAX, { RD_TURN }, NULL,
	  RD_NO_UNIT, mixture_screw, turns_sense },
	{ "flow", "ML SECOND", "flow by the minute", 2, 2, { RD_ML, RD_SECOND }, flow, RD_ML_PER_MIN, NULL,
	  flow_sense },
	{ "jet", "NUMBER METRE", "the jet that is right so high up", 2, 2, { RD_NO_UNIT, RD_METRE }, jet,
	  RD_NO_UNIT, NULL, low_enough },
	{ "mixture", "METRE", "percent richer than at sea level", 1, 1, { RD_METRE }, richer, RD_PERCENT, NULL,
	  low_enough },
	{ "air-ratio", "AIRTOFUEL [ETHANOL]", "lambda of a mixture: above 1 lean; ethanol in percent", 1, 2,
	  { RD_NO_UNIT }, air_ratio, RD_NO_UNIT, NULL, ratio_of_air_sense },
	{ "ethanol", "PERCENT", "percent leaner on the same jet", 1, 1, { RD_NO_UNIT }, leaner, RD_PERCENT,
	  NULL, share_sense },
	{ "economy", "BEFORE NOW", "km/L: percent more litres than before", 2, 2, { RD_NO_UNIT }, economy,
	  RD_PERCENT, NULL, all_positive },
	{ "sealed", "VOLT", "percent charge of a sealed battery at rest", 1, 1, { RD_VOLT }, sealed,
	  RD_PERCENT, NULL, NULL },
	{ "flooded", "VOLT", "percent charge of a flooded battery at rest", 1, 1, { RD_VOLT }, flooded,
	  RD_PERCENT, NULL, NULL },
	{ "cranking", "DEGC [VOLT]", "least volts while cranking, and whether these are enough", 1, 2,
	  { RD_DEGC, RD_VOLT }, cranking, RD_VOLT, cranked, NULL },
	{ "parasitic", "AMPEREHOURS MILLIAMPERE", "days to half charge", 2, 2,
	  { RD_NO_UNIT, RD_MILLIAMPERE }, parasitic, RD_DAY, NULL, all_positive },
	{ "cold", "PART AIR [MINUTES]", "is a part cold enough to be measured?", 2, 3,
	  { RD_DEGC, RD_DEGC, RD_MINUTE }, NULL, RD_NO_UNIT, cold, NULL },
	{ "seat", "COUNT AGAIN", "two counts to lightly seated", 2, 2, { RD_TURN }, NULL, RD_NO_UNIT, seat,
	  turns_sense },
	{ "pickup", "VOLT [LEAST]", "pulses while cranking; a peak adaptor's limit behind", 1, 2, { RD_VOLT },
	  NULL, RD_NO_UNIT, pickup, NULL },
	{ "charging", "POSTS REGULATOR [LOW HIGH]", "charging volts: source or path", 2, 4, { RD_VOLT }, NULL,
	  RD_NO_UNIT, charging, all_positive },
	{ "sync", "MMHG MMHG MMHG MMHG [WITHIN]", "four in line: which screw is next", 4, 5, { RD_MMHG }, NULL,
	  RD_NO_UNIT, sync, all_positive },
	{ "burnt", "KILOWATT", "petrol burnt at this power", 1, 1, { RD_NO_UNIT }, burnt, RD_ML_PER_MIN, NULL,
	  all_positive },
	{ "dry", "ML BURNT INFLOW", "seconds of full load until the bowls are dry", 3, 3,
	  { RD_ML, RD_ML_PER_MIN, RD_ML_PER_MIN }, dry, RD_SECOND, NULL, NULL },
	{ "band", "LOW HIGH FIGURE", "a figure against its limits", 3, 3, { RD_OHM }, NULL, RD_NO_UNIT, band,
	  band_sense },
	{ "closed", "LOW HIGH OHM", "a throttle sensor on its stop: move or renew it", 3, 3, { RD_OHM }, NULL,
	  RD_NO_UNIT, closed, band_sense },
	{ "repeats", "FIGURE...", "the mean of readings of one thing, and how sure", 2, RD_FIGURES_MAX,
	  { RD_NO_UNIT }, NULL, RD_NO_UNIT, repeats, NULL },
	{ "preferred", "OHM", "the nearest resistor that is sold (E24)", 1, 1, { RD_OHM }, preferred, RD_OHM, NULL,
	  all_positive },
	{ "alternator", "VOLT RPM TO", "unloaded volts carried to another speed", 3, 3, { RD_VOLT, RD_RPM },
	  alternator, RD_VOLT, NULL, all_positive },
};

int rd_sum_count(void) { return (int)(sizeof sums / sizeof *sums); }

const struct rd_sum *rd_sum_at(int i) { return i >= 0 && i < rd_sum_count() ? &sums[i] : NULL; }

const struct rd_sum *rd_sum_by_name(const char *name)
{
	for (int i = 0; i < rd_sum_count(); i++)
		if (text_same_word(sums[i].name, name))
			return &sums[i];
	return NULL;
}
