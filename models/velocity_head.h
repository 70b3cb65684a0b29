/* Velocity head: the loss (K + K1/Re) v|v|/2g that many elements share. */
#ifndef MODELS_VELOCITY_HEAD_H
#define MODELS_VELOCITY_HEAD_H

#include "models/circle.h"
#include "models/element.h"

#include <math.h>

/* Head lost, m, and slope, s/m2, at `flow` m3/s; odd in flow. `loss` is K >= 0 said of the velocity
 * in `area` m2 > 0; `laminar` is K1 of K1/Re (form of Hooper 1981), 0: purely quadratic. */
static inline struct drop velocity_head_drop(double loss, double laminar, double area,
                                             const struct water *water, double flow)
{
    const double size = fabs(flow);
    const double per_area = 1.0 / (2.0 * water->gravity * area);
    const double quadratic = loss * per_area / area;
    const double linear = laminar * water->viscosity * per_area / sqrt(4.0 * area / circle_pi);
    return (struct drop){.head = copysign(size * (linear + quadratic * size), flow),
                         .slope = linear + 2.0 * quadratic * size};
}

#endif
