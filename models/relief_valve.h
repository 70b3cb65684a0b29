/* Relief valve: shut up to a set head, then lifts and lets water out to the air or a drain.
 *
 * With s the share of its lift, it passes q = s Cd A sqrt(2 g d) at a head difference d (Wylie &
 * Streeter, Fluid Transients in Systems, 1993: orifice law of a relief valve) and the lift follows
 * d = set (1 + overpressure s) up to full lift; beyond that it is an orifice. At no overpressure it
 * holds its set head exactly until full lift. The set head counts over what stands behind it: the
 * elevation of an outlet to the air, the level of a drain tank. Lets nothing back.
 *
 * While things move its lift follows that law as fast as its pilot and spring let it: full travel
 * takes at least `opening_time` up and `closing_time` down (a slow way down keeps it from
 * slamming).
 */
#ifndef MODELS_RELIEF_VALVE_H
#define MODELS_RELIEF_VALVE_H

#include "models/element.h"

struct relief_valve {
    double area;         /* m2, seat area */
    double coefficient;  /* Cd, 0 to 1 */
    double set_head;     /* m of head difference at which it begins to lift, >= 0 */
    double overpressure; /* share of the set head above it at which it is fully lifted, >= 0;
                            usually 0.1 */
    double opening_time; /* s for the whole lift, >= 0; 0: at once */
    double closing_time;
};

enum { RELIEF_VALVE_STATE_LIFT, RELIEF_VALVE_STATE_COUNT }; /* share */

extern const struct element relief_valve_element; /* kind "relief valve" */

/* Every number finite and in its range; the first fault is told. */
MUST_CHECK bool relief_valve_check(const struct relief_valve *valve, struct place place,
                                   struct failure *failure);

#endif
