/* Cavity: what opens at a point where water would fall below the head at which it boils.
 * A link from that head to the point which lets water appear, at most as much as the cavity then
 * grows, and disappear until the cavity is used up: flow from -volume/step upward without loss.
 * So a group solves it like any other graph, and the step in which it closes closes it exactly.
 * Backward weighting as inside pipes (solver/surge/kernel.h). */
#ifndef SOLVER_SURGE_CAVITY_H
#define SOLVER_SURGE_CAVITY_H

#include "models/element.h"

enum { CAVITY_STATE_VOLUME, CAVITY_STATE_COUNT }; /* m3 */

extern const struct element cavity_element; /* needs no data */

/* The same with a little gas that is always there: its volume times the head over boiling stays the
 * same, so its drop is minus that head, falling off as the volume grows. */
struct gas_pocket {
    double gas; /* m4, > 0 */
};

extern const struct element gas_cavity_element; /* its data: struct gas_pocket */

/* Whether a cavity has opened. Gas: its head over boiling is below boiling_margin. */
bool cavity_is_open(const struct element *element, const void *data, const double state[]);

/* m3, from which on a cavity is told of, where pipes of this impedance, s/m2, meet it and a step
 * takes `step` s: what a head 1e-5 m below boiling opens in a step. Heads are no better known, and
 * beside the water of a reach, of a^2 step/(g impedance), it is g 1e-5 m/a^2: 1e-10 where a is
 * 1000 m/s. 0: no impedance is known. */
double cavity_least(double step, double impedance);

#endif
