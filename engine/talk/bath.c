/* The cleaning bath: amounts for the tank there is, and the order of the work around it.
 *
 * Figures: water-based cleaner, neutral to mildly alkaline, 2 to 5 % of the water, 50 to 60 degC, 10 to
 * 20 minutes a cycle, 2 to 4 cycles, dry air of 200 to 400 kPa. Common practice, no source. */
#include <math.h>
#include <stdlib.h>

#include "talk/inner.h"

#define SHARE_LEAST .02
#define SHARE_USUAL .03
#define SHARE_MOST .05
#define LITRES_MOST 200.

static void help_bath(struct talk *t, const void *about)
{
	(void)about;
	out_say(&t->out, 2, 2, "How many litres of water go into the ultrasonic tank, with the parts in it "
		"covered: 3, 0.8, 2500 mL. `none` when there is no tank: the same with brush and spray.");
}

/* Litres, 0 for none, or -1. */
static double litres_of(const char *typed)
{
	struct rd_setup setup;
	struct rd_result r;

	if (text_same_word(typed, "none") || text_same_word(typed, "no"))
		return 0;
	rd_setup_init(&setup);
	setup.unit = RD_LITRE;
	if (rd_read(&setup, typed, &r, NULL) != RD_OK || r.kind != RD_NUMBER || !(r.raw > 0) ||
	    r.raw > LITRES_MOST)
		return -1;
	return r.raw;
}

static void say_strip(struct talk *t)
{
	explain_cautions(t, (const struct kn_caution[]){
		{KN_WARNING, "fire", "Never put petrol or another flammable solvent into a heated or "
		 "ultrasonic bath."},
		{KN_WARNING, "eyes", "Gloves, eye protection, fresh air."},
		{KN_NOTICE, "damage", "Floats, diaphragms, O-rings, rubber, plastic, heaters, sensor and "
		 "solenoid stay out of the bath. Strong alkali eats zinc and aluminium."}}, 3);
	out_say(&t->out, 2, 5, "1. Strip to bare metal; jets in a small sieve, one tray for each carburettor.");
	out_say(&t->out, 2, 5, "2. Brush off loose dirt first, soften varnish in the bowls.");
}

static void say_tank(struct talk *t, double litres)
{
	double usual = 1000 * SHARE_USUAL * litres;

	out_say(&t->out, 2, 5, "3. Bath: %.4g L of water and %.0f mL of concentrate (3 %%; from %.0f mL at 2 %% to "
		"%.0f mL at 5 %%; what the bottle says goes first), neutral or mildly alkaline, safe for zinc "
		"and aluminium. 50 to 60 degC.", litres, usual, 1000 * SHARE_LEAST * litres,
		1000 * SHARE_MOST * litres);
	out_say(&t->out, 2, 5, "4. Parts in a basket, no metal on metal, nothing on the floor of the tank. Two cycles "
		"of 20 minutes near 60 degC do for most; take them out and look between the two. Ports up, then "
		"ports down so that air leaves. Delicate parts 10 minutes; 4 cycles at most, not overnight: the "
		"surface etches. `timer 20 bath` shows when.");
}

static void say_brush(struct talk *t)
{
	out_say(&t->out, 2, 5, "3. No tank: spray cleaner through each drilling, brush, let it work ten minutes, "
		"again. `timer 10 soak` shows when.");
	out_say(&t->out, 2, 5, "4. Look into each passage against the light between the rounds.");
}

static void say_rinse(struct talk *t)
{
	out_say(&t->out, 2, 5, "5. Rinse with clean warm water, then distilled; salts left behind clog the pilots.");
	out_say(&t->out, 2, 5, "6. Blow out each passage from the jet's end with dry air, 200 to 400 kPa, every port "
		"watched; floats and diaphragms off.");
	out_say(&t->out, 2, 5, "7. Prove it: spray into each drilling comes out of every port, alike from all bodies; "
		"light through the jets. Never drill a jet, no hard wire.");
	out_say(&t->out, 2, 5, "8. Dry with warm air, 60 degC at most, 30 minutes; put it together the same day, "
		"seals new. `timer 30 dry` shows when.");
}

static void say_guide(struct talk *t, double litres)
{
	out_blank(&t->out);
	out_say(&t->out, 0, 2, "The cleaning:");
	say_strip(t);
	if (litres > 0)
		say_tank(t, litres);
	else
		say_brush(t);
	say_rinse(t);
}

enum talk_reply bath_guide(struct talk *t)
{
	struct talk_prompt p = {.question = "Ultrasonic tank: litres of water in it",
				.allowed = "litres, or none", .help = help_bath};
	const char *known = record_value(t->job, "bath");
	struct text line = {0};
	double litres = known ? strtod(known, NULL) : -1;
	enum talk_reply reply = TALK_TEXT;

	while (litres < 0 && reply == TALK_TEXT) {
		reply = talk_ask(t, &p, &line);
		if (reply == TALK_DONT_KNOW || reply == TALK_CANNOT) {
			text_clear(&line);
			text_add(&line, "none");
			reply = TALK_TEXT;
		}
		if (reply != TALK_TEXT)
			break;
		litres = litres_of(text_str(&line));
		if (litres < 0 && !talk_refuse(t, &line, "Litres, like 3 or 0.8, up to %.0f; or none.", LITRES_MOST))
			reply = TALK_OVER;
		if (litres >= 0) {
			text_clear(&line);
			text_json_number(&line, litres);
			if (talk_record(t, JOB_TOLD, "bath", text_str(&line), NULL, NULL) < 0)
				reply = TALK_OVER;
		}
	}
	text_free(&line);
	if (reply == TALK_TEXT)
		say_guide(t, litres);
	return reply;
}
