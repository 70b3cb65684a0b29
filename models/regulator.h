/* Pressure regulator: a valve that throttles by itself to hold a head behind it at most, or before
 * it at least, or both.
 *
 * With d = head before - head behind, L(q) the loss fully open, B the head allowed behind and S the
 * head to be sustained before it, its law is the complementarity
 *     q >= 0,   max(L(q) - d, head_to - B, S - head_from) >= 0,   their product 0,
 * read as  min(q/area, max(...)) = 0: shut, or fully open, or holding exactly one of its heads. The
 * nearest monotone law is the valve fully open that lets nothing back.
 *
 * Heads are elevation of the gauge + wanted gauge head.
 *
 * While things move its share open s (loss L/s^2, laminar part aside) changes by no more than
 * dt/stroke in a step, a pilot or diaphragm needing time. With W the loss at the widest and N the
 * loss at the narrowest that it can reach in the step the law is
 *     min(q/area, max(W(q) - d, min(claim, N(q) - d))) = 0,
 * claim = max(head_to - B, S - head_from): within its reach it does what the steady law says (all
 * of it for a stroke of 0), else it stands at the end of its reach. Within the reach it has neither
 * delay nor overshoot. Ours: a valve's own dynamics are not modelled. Flow never runs back. Beside
 * pipes of impedance Z it is asked for as  min(Z q, max(w W', min(claim, w' N'))) = 0  with W', N'
 * for the differences and weights w, w' > 0 that make them as steep as pipes: the same answers. */
#ifndef MODELS_REGULATOR_H
#define MODELS_REGULATOR_H

#include "models/element.h"

struct regulator {
    double area;         /* m2, bore area its K refers to */
    double open_loss;    /* K fully open, > 0 */
    double laminar;      /* K1 of K1/Re; 0: none */
    double most_behind;  /* m of head allowed behind it; infinite: not asked */
    double least_before; /* m of head sustained before it; minus infinite: not asked */
    double stroke;       /* s from shut to fully open; 0: at once; infinite: keeps its opening */
};

enum { REGULATOR_STATE_OPENING, REGULATOR_STATE_COUNT }; /* share open, see above */

/* s, the stroke of one that nothing is said of: pilot valves of small mains need a few seconds
 * (common practice, from memory). */
extern const double regulator_usual_stroke;

extern const struct element regulator_element; /* kind "pressure regulator" */

/* What it does at an answer. */
enum regulator_duty {
    REGULATOR_SHUT,
    REGULATOR_OPEN,
    REGULATOR_HOLDS_BEHIND,
    REGULATOR_HOLDS_BEFORE
};
enum regulator_duty regulator_duty(const struct regulator *regulator, const struct water *water,
                                   double flow, double head_from, double head_to);

/* Every number in its range and a head asked for; the first fault is told. */
MUST_CHECK bool regulator_check(const struct regulator *regulator, struct place place,
                                struct failure *failure);

#endif
