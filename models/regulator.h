/* Pressure regulator: a valve that throttles by itself to hold a head behind it at most, or before
 * it at least, or both.
 *
 * With d = head before - head behind, L(q) the loss fully open, B the head allowed behind and S the
 * head to be sustained before it, its law is the complementarity
 *     q >= 0,   max(L(q) - d, head_to - B, S - head_from) >= 0,   their product 0,
 * read as  min(q/area, max(...)) = 0: shut, or fully open, or holding exactly one of its heads. The
 * nearest monotone law is the valve fully open that lets nothing back.
 *
 * Heads are piezometric: elevation of the gauge + wanted gauge head. A pilot or diaphragm needs
 * seconds; during a surge run it therefore keeps the opening of the steady start, and a shut one
 * stays shut. */
#ifndef MODELS_REGULATOR_H
#define MODELS_REGULATOR_H

#include "models/element.h"

struct regulator {
    double area;         /* m2, bore area its K refers to */
    double open_loss;    /* K fully open, > 0 */
    double laminar;      /* K1 of K1/Re; 0: none */
    double most_behind;  /* m of head allowed behind it; infinite: not asked */
    double least_before; /* m of head sustained before it; minus infinite: not asked */
};

enum {
    REGULATOR_STATE_RESISTANCE, /* s2/m5 that it keeps; negative: shut */
    REGULATOR_STATE_COUNT
};

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
