/* Law kit: what every law of an element must keep, checked over a dense grid. */
#ifndef TESTS_MODELS_LAW_KIT_H
#define TESTS_MODELS_LAW_KIT_H

#include "models/element.h"

#include <criterion/criterion.h>
#include <math.h>

static const struct water law_water = {.gravity = 9.81,
                                       .density = 1000,
                                       .viscosity = 1e-6,
                                       .temperature_c = 20,
                                       .air_pressure = 101325,
                                       .bulk_modulus = 2.19e9};
static const struct place law_nowhere = {0};

/* Head never falls with flow, slope is never negative, over [low, high]. */
static inline void law_is_monotone(const struct element *element, const void *data, double low,
                                   double high)
{
    double before = -HUGE_VAL;
    for (int i = 0; i <= 4000; i++) {
        const double flow = low + (high - low) * i / 4000;
        const struct drop drop = element->drop(data, &law_water, flow);
        cr_assert(drop.head >= before, "%s: head falls at flow %g", element->kind, flow);
        cr_assert(drop.slope >= 0, "%s: slope at flow %g", element->kind, flow);
        before = drop.head;
    }
}

/* Slope equals the central difference to 1e-4 of the largest slope on the grid of 997 flows. */
static inline void law_slope_fits(const struct element *element, const void *data, double low,
                                  double high)
{
    const double step = (high - low) * 1e-7;
    const double most = fmax(element->drop(data, &law_water, high).slope,
                             element->drop(data, &law_water, low).slope);
    for (int i = 1; i < 997; i++) {
        const double flow = low + (high - low) * i / 997;
        const double chord = (element->drop(data, &law_water, flow + step).head -
                              element->drop(data, &law_water, flow - step).head) /
                             (2 * step);
        const double slope = element->drop(data, &law_water, flow).slope;
        cr_assert(fabs(slope - chord) <= 1e-4 * most, "%s: slope %g, chord %g at flow %g",
                  element->kind, slope, chord, flow);
    }
}

/* Finite for every flow up to 1e100, in the span or not. */
static inline void law_is_total(const struct element *element, const void *data)
{
    static const double flows[] = {0,    -0.0, 1e-300, -1e-300, 1e-12, -1e-12, 1,
                                   -1.0, 1e10, -1e10,  1e60,    -1e60, 1e100,  -1e100};
    for (size_t i = 0; i < sizeof flows / sizeof flows[0]; i++) {
        const struct drop drop = element->drop(data, &law_water, flows[i]);
        cr_assert(isfinite(drop.head) && isfinite(drop.slope), "%s: flow %g", element->kind,
                  flows[i]);
    }
    const struct span span = element->span(data, &law_water);
    cr_assert(span.lower <= span.upper);
}

/* The number of `at` that index i stands for: flow, head_from, head_to, partners. */
static inline double *law_coupled_input(struct coupled_at *at, int i)
{
    double *inputs[] = {&at->flow, &at->head_from, &at->head_to, &at->partner_flow[0],
                        &at->partner_flow[1]};
    return inputs[i];
}

/* Where a coupled law is asked: at an instant from a state, or at rest (`now` NULL). */
struct law_asked {
    const struct element *element;
    const void *data;
    const struct instant *now;
    const double *old;
};

static inline struct coupled_law law_coupled_at(const struct law_asked *asked,
                                                const struct coupled_at *at)
{
    double next[ELEMENT_STATE_MAX];
    const struct coupling *coupling = asked->element->coupling;
    return asked->now ? coupling->law_of_step(asked->data, asked->now, asked->old, at, next)
                      : coupling->law(asked->data, &law_water, at);
}

/* All derivatives of a coupled law at `at` equal the left or the right difference quotient (at a
 * kink they are one of the two) to `tolerance` of the largest derivative, those by heads of the
 * largest by heads. `step` is for flows; heads take a step of 1e-6 m. */
static inline void law_asked_fits(const struct law_asked *asked, struct coupled_at at, double step,
                                  double tolerance)
{
    const struct element *element = asked->element;
    const struct coupled_law here = law_coupled_at(asked, &at);
    const double slopes[] = {here.by_flow, here.by_head_from, here.by_head_to, here.by_partner[0],
                             here.by_partner[1]};
    const int count = 3 + element->coupling->partner_count;
    double most = 1;
    cr_assert(isfinite(here.value));
    for (int i = 0; i < count; i++) {
        cr_assert(isfinite(slopes[i]));
        most = fmax(most, fabs(slopes[i]));
    }
    const double most_by_head = fmax(1, fmax(fabs(slopes[1]), fabs(slopes[2])));
    for (int i = 0; i < count; i++) {
        const double scale = i == 1 || i == 2 ? most_by_head : most;
        const double move = i == 1 || i == 2 ? 1e-6 : step;
        struct coupled_at next = at;
        *law_coupled_input(&next, i) += move;
        const double right = (law_coupled_at(asked, &next).value - here.value) / move;
        *law_coupled_input(&next, i) -= 2 * move;
        const double left = (here.value - law_coupled_at(asked, &next).value) / move;
        cr_assert(fmin(fabs(slopes[i] - right), fabs(slopes[i] - left)) <= tolerance * scale,
                  "%s: derivative %d is %g, quotients %g and %g", element->kind, i, slopes[i], left,
                  right);
    }
}

static inline void law_coupled_fits(const struct element *element, const void *data,
                                    struct coupled_at at, double step, double tolerance)
{
    const struct law_asked asked = {element, data, NULL, NULL};
    law_asked_fits(&asked, at, step, tolerance);
}

#endif
