/* Kit law: an element stated by numbers, so that answers are exact on paper:
 *     drop = start + linear q + quadratic q|q| + power |q|^n sign(q),  flow within [lower, upper],
 * or straight lines through points. */
#ifndef TESTS_SOLVER_KIT_LAW_H
#define TESTS_SOLVER_KIT_LAW_H

#include "models/element.h"

#include <math.h>

enum { KIT_CURVE_MAX = 8 };

struct kit_law {
    double start;
    double linear;
    double quadratic;
    double power; /* factor of |q|^exponent */
    double exponent;
    double lower;
    double upper;
    int count; /* > 1: straight lines through (flow, head added) rule instead */
    double flow[KIT_CURVE_MAX];
    double head[KIT_CURVE_MAX];
};

static inline struct drop kit_curve(const struct kit_law *law, double flow)
{
    int i = 1;
    while (i < law->count - 1 && flow > law->flow[i]) {
        i++;
    }
    const double slope = (law->head[i] - law->head[i - 1]) / (law->flow[i] - law->flow[i - 1]);
    const double head = law->head[i - 1] + slope * (flow - law->flow[i - 1]);
    return (struct drop){.head = -head, .slope = -slope};
}

static inline struct drop kit_drop(const void *data, const struct water *water, double flow)
{
    (void)water;
    const struct kit_law *law = data;
    if (law->count > 1) {
        return kit_curve(law, flow);
    }
    const double size = fabs(flow);
    struct drop drop = {law->start + law->linear * flow + law->quadratic * flow * size,
                        law->linear + 2 * law->quadratic * size};
    if (law->power > 0) {
        drop.head += copysign(law->power * pow(size, law->exponent), flow);
        drop.slope += law->exponent * law->power * pow(size, law->exponent - 1);
    }
    return drop;
}

static inline struct span kit_span(const void *data, const struct water *water)
{
    (void)water;
    const struct kit_law *law = data;
    return (struct span){law->lower, law->upper};
}

static const struct element kit_element = {.kind = "law", .drop = kit_drop, .span = kit_span};

/* h = r Q|Q| both ways. */
static inline struct kit_law kit_resistance(double r)
{
    return (struct kit_law){.quadratic = r, .lower = -(double)INFINITY, .upper = INFINITY};
}

/* Head `a` less b Q|Q| added. */
static inline struct kit_law kit_pump(double a, double b)
{
    return (struct kit_law){
        .start = -a, .quadratic = b, .lower = -(double)INFINITY, .upper = INFINITY};
}

/* Nothing backward, `opening` m to open, then r Q|Q| on top. */
static inline struct kit_law kit_valve(double opening, double r)
{
    return (struct kit_law){.start = opening, .quadratic = r, .lower = 0, .upper = INFINITY};
}

#endif
