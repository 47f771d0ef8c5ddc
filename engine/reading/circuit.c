#include "reading/circuit.h"

#include <math.h>
#include <stddef.h>

/* 1/R = sum 1/Ri; dR/dRi = (R/Ri)^2. */
struct rd_amount rd_parallel(const struct rd_amount *branch, int n)
{
	double conductance = 0, square = 0, r;

	for (int i = 0; i < n; i++)
		conductance += 1 / branch[i].value;
	if (!(conductance > 0))
		return (struct rd_amount){ INFINITY, 0 };
	r = 1 / conductance;
	for (int i = 0; i < n; i++)
		if (isfinite(branch[i].value)) {
			double share = branch[i].value > 0 ? r / branch[i].value : 1;

			square += share * share * branch[i].u * share * share * branch[i].u;
		}
	return (struct rd_amount){ r, sqrt(square) };
}

struct rd_amount rd_unmask(struct rd_amount pair, struct rd_amount other)
{
	double apart = other.value - pair.value, of_pair, of_other;

	if (!(apart > 0))
		return (struct rd_amount){ INFINITY, 0 };
	of_pair = other.value / apart;
	of_other = pair.value / apart;
	return (struct rd_amount){ pair.value * other.value / apart,
				   hypot(of_pair * of_pair * pair.u, of_other * of_other * other.u) };
}

int rd_branches_good(double each, double shown)
{
	if (!isfinite(shown) || !(each > 0))
		return 0;
	return shown > 0 ? (int)lround(fmin(each / shown, 1000)) : 1000;
}

double rd_branches(double each, int n) { return n > 0 ? each / n : INFINITY; }

double rd_branches_current(double each, int n, double volts) { return volts * n / each; }

struct rd_amount rd_without_caps(struct rd_amount shown, struct rd_amount cap1, struct rd_amount cap2)
{
	return (struct rd_amount){ shown.value - cap1.value - cap2.value,
				   hypot(shown.u, hypot(cap1.u, cap2.u)) };
}

/* ---- star ------------------------------------------------------------------------------------ */

/* Pair i joins phase i to phase i + 1.  An open phase opens the two pairs it is in. */
static int open_phase(const double pair[3], struct hs_err *err)
{
	int opens = 0, closed = 0;

	for (int i = 0; i < 3; i++) {
		opens += isinf(pair[i]) != 0;
		if (!isinf(pair[i]))
			closed = i;
	}
	if (opens == 1) {
		err_set(err, HS_BAD_INPUT, "One pair of three open: a star cannot do that, an open phase shows "
			"in two. Measure the open pair again.");
		return -2;
	}
	return opens == 0 ? RD_STAR_WHOLE : opens == 3 ? RD_STAR_SEVERAL : (closed + 2) % 3;
}

/* a = (Rab + Rca - Rbc) / 2: three independent readings, and the leads once (+ + - = +1). */
int rd_star(const double shown[3], double leads, double u, double u_leads, struct rd_star *out,
	    struct hs_err *err)
{
	for (int i = 0; i < 3; i++) {
		out->pair[i] = shown[i] - leads;
		out->phase[i] = NAN;
	}
	out->open = open_phase(out->pair, err);
	out->u_phase = hypot(sqrt(3) * u, u_leads) / 2;
	if (out->open < RD_STAR_WHOLE)
		return -1;
	if (out->open != RD_STAR_WHOLE)
		return 0;
	for (int i = 0; i < 3; i++) {
		out->phase[i] = (out->pair[i] + out->pair[(i + 2) % 3] - out->pair[(i + 1) % 3]) / 2;
		if (out->phase[i] < -3 * out->u_phase)
			return err_set(err, HS_BAD_INPUT, "These three do not fit together: one phase would be "
				       "less than nothing. Measure all three again.");
	}
	return 0;
}

/* ---- drops ----------------------------------------------------------------------------------- */

struct rd_drops rd_drops(const double *segment, int n, double battery, double end)
{
	struct rd_drops d = { 0, 0, false, -1 };

	for (int i = 0; i < n; i++) {
		d.sum += segment[i];
		if (d.worst < 0 || segment[i] > segment[d.worst])
			d.worst = i;
	}
	d.missed = battery - end - d.sum;
	d.complete = fabs(d.missed) <= RD_DROP_CLOSES_V + 1e-9;
	return d;
}

int rd_drop_ohm(double volts, double amperes, double *ohm, struct hs_err *err)
{
	if (!(fabs(amperes) >= RD_DROP_LEAST_A))
		return err_set(err, HS_BAD_INPUT, "Only %.2f A flows: a bad joint shows no drop then. Switch the "
			       "load on and measure again.", amperes);
	*ohm = fabs(volts / amperes);
	return 0;
}
