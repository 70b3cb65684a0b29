#include "models/circle.h"
#include "models/standpipe.h"
#include "tests/models/law_kit.h"
#include "tests/models/limit_kit.h"

#include <string.h>

static const double gravity = 9.81;

/* A main as one rigid column from a reservoir at 0 m, v0 m/s, whose far end is shut at once. */
struct column {
    double length;
    double area;
    double velocity;
    double friction; /* h = friction v|v| */
};

/* Highest level, m, in the standpipe: each step's flow by bisection of the rigid column's equation
 * (trapezoidal rule) with the element's law. */
static double highest_level(const struct column *column, const struct standpipe *standpipe,
                            double duration, double step)
{
    const struct motion *motion = standpipe_element.motion;
    double old[ELEMENT_STATE_MAX] = {0};
    double next[ELEMENT_STATE_MAX] = {0};
    double v = column->velocity;
    double head = -column->friction * v * v;
    double highest = head;
    motion->start(standpipe, &law_water, 0, head - standpipe->top, old);
    old[STANDPIPE_STATE_FLOW] = v * column->area;
    for (double time = 0; time < duration; time += step) {
        const struct instant now = {.time = time, .step = step, .setting = 1, .water = &law_water};
        const double before = -head - column->friction * v * fabs(v);
        double low = v - 1;
        double high = v + 1;
        for (int i = 0; i < 60; i++) {
            const double w = 0.5 * (low + high);
            const double there =
                motion->drop(standpipe, &now, old, w * column->area, next).head + standpipe->top;
            const double after = -there - column->friction * w * fabs(w);
            const double rest = w - v - gravity * step / column->length * 0.5 * (before + after);
            head = there;
            low = rest < 0 ? w : low;
            high = rest < 0 ? high : w;
        }
        v = 0.5 * (low + high);
        memcpy(old, next, sizeof old);
        highest = fmax(highest, old[STANDPIPE_STATE_LEVEL]);
    }
    return highest;
}

static struct standpipe make(double area)
{
    return (struct standpipe){
        .area = area, .joint_area = area, .loss = 1e-9, .top = 100, .bottom = -100};
}

/* Rigid surge tank, frictionless, full stop: z = V0 sqrt(L A/(g As)) = 6.38551 m (exact). */
Test(standpipe, full_stop_without_friction_swings_as_the_textbooks)
{
    const struct column column = {1000, 1, 2, 0};
    const struct standpipe standpipe = make(10);
    cr_assert_float_eq(highest_level(&column, &standpipe, 60, 0.05), 6.38551, 1e-3);
}

/* The same with pipe friction: 1 - k z = exp(-k (z + h)), k = 2 g As c/(L A): 4.56248 m and
 * 0.57320 m (exact, computed). */
Test(standpipe, friction_damps_the_swing_as_its_exact_solution)
{
    const struct column wide = {1000, 1, 2, 3.0 / 4};
    const struct standpipe ten = make(10);
    cr_assert_float_eq(highest_level(&wide, &ten, 80, 0.05), 4.56248, 1e-3);
    const struct column narrow = {500, circle_area(0.15), 1.2, 4 / 1.44};
    const struct standpipe small = make(circle_area(0.6));
    cr_assert_float_eq(highest_level(&narrow, &small, 130, 0.05), 0.57320, 1e-3);
}

Test(standpipe, lip_cuts_the_swing_and_counts_what_it_spills)
{
    const struct column column = {1000, 1, 2, 0};
    struct standpipe standpipe = make(10);
    standpipe.top = 3;
    cr_assert_float_eq(highest_level(&column, &standpipe, 60, 0.05), 3, 1e-9);
}

Test(standpipe, at_rest_it_is_a_dead_leg_that_spills_over_its_top)
{
    const struct standpipe standpipe = make(0.01);
    const struct span span = standpipe_element.span(&standpipe, &law_water);
    cr_assert(span.lower == 0 && span.upper == HUGE_VAL);
    cr_assert_eq(standpipe_element.drop(&standpipe, &law_water, 0).head, 0);
}

Test(standpipe, holds_still_at_rest)
{
    const struct standpipe standpipe = make(0.01);
    double state[ELEMENT_STATE_MAX] = {0};
    const struct instant now = {1, 0.01, 1, &law_water, NULL};
    standpipe_element.motion->start(&standpipe, &law_water, 0, -87.5, state);
    cr_assert_float_eq(state[STANDPIPE_STATE_LEVEL], 12.5, 1e-12);
    cr_assert_float_eq(standpipe_element.motion->drop(&standpipe, &now, state, 0, state).head,
                       -87.5, 1e-12);
}

/* Water running over its top as a surge begins: the level stands at the top, the joint's loss over
 * the main's head. Running level: the loss K v|v|/2g below the main's head (definition). */
Test(standpipe, begins_with_the_level_under_its_loss)
{
    struct standpipe standpipe = make(0.01);
    double state[ELEMENT_STATE_MAX] = {1, 1, 1};
    standpipe.loss = 2;
    standpipe_element.motion->start(&standpipe, &law_water, 0.02, -50, state);
    cr_assert_float_eq(state[STANDPIPE_STATE_LEVEL], 50 - 2 * 2 * 2 / 19.62, 1e-12);
    cr_assert_eq(state[STANDPIPE_STATE_FLOW], 0.02);
    cr_assert_eq(state[STANDPIPE_STATE_SPILT], 0);
}

/* 1 L in it, 0.1 s: no more than what is in it comes out, with what already flows (trapezoidal
 * rule). */
Test(standpipe, gives_no_more_than_it_holds)
{
    struct standpipe standpipe = make(0.01);
    standpipe.bottom = 5;
    const struct instant now = {1, 0.1, 1, &law_water, NULL};
    for (double before = -0.015; before < 0.02; before += 0.01) {
        double state[ELEMENT_STATE_MAX] = {5.1, before, 0};
        const struct span span = standpipe_element.motion->span(&standpipe, &now, state);
        cr_assert_float_eq(span.lower, -0.02 - before, 1e-12);
        (void)standpipe_element.motion->drop(&standpipe, &now, state, span.lower, state);
        cr_assert_float_eq(state[STANDPIPE_STATE_LEVEL], 5, 1e-12);
    }
    const double empty[ELEMENT_STATE_MAX] = {5, -0.01, 0};
    cr_assert_eq(standpipe_element.motion->span(&standpipe, &now, empty).lower, 0);
}

/* What is over the top has gone: volume in = rise to the top + spilt (mass, by hand); the head of
 * the main stays at the top and hangs on nothing but the loss. */
Test(standpipe, spills_what_goes_over_its_top)
{
    struct standpipe standpipe = make(0.05);
    standpipe.loss = 1;
    standpipe.top = 3;
    const struct instant now = {1, 0.1, 1, &law_water, NULL};
    const double old[ELEMENT_STATE_MAX] = {2.7, 0.1, 0.25};
    const double flows[] = {0.01, 0.099, 0.3};
    for (int i = 0; i < 3; i++) {
        double next[ELEMENT_STATE_MAX] = {0};
        const double in = 0.05 * (0.1 + flows[i]);
        const double over = fmax(in - 0.3 * 0.05, 0);
        const struct motion *motion = standpipe_element.motion;
        const struct drop drop = motion->drop(&standpipe, &now, old, flows[i], next);
        const double ahead = motion->drop(&standpipe, &now, old, flows[i] + 1e-7, next).head;
        const double behind = motion->drop(&standpipe, &now, old, flows[i] - 1e-7, next).head;
        (void)motion->drop(&standpipe, &now, old, flows[i], next);
        cr_expect_float_eq(next[STANDPIPE_STATE_SPILT], 0.25 + over, 1e-14);
        cr_expect_float_eq(next[STANDPIPE_STATE_LEVEL], fmin(2.7 + in / 0.05, 3), 1e-14);
        cr_expect_float_eq(drop.slope, (ahead - behind) / 2e-7, 1e-6);
    }
}

Test(standpipe, law_is_monotone_total_and_has_its_slope)
{
    struct standpipe standpipe = make(0.01);
    standpipe.loss = 1;
    law_is_monotone(&standpipe_element, &standpipe, 0, 0.01);
    law_slope_fits(&standpipe_element, &standpipe, 0, 0.01);
    law_is_total(&standpipe_element, &standpipe);
}

static bool accepts(const void *data)
{
    struct failure failure;
    return standpipe_check(data, law_nowhere, &failure);
}

Test(standpipe, bad_numbers_are_refused)
{
    static const struct limit limits[] = {
        {offsetof(struct standpipe, area), 0, HUGE_VAL, LIMIT_OPEN},
        {offsetof(struct standpipe, joint_area), 0, HUGE_VAL, LIMIT_OPEN},
        {offsetof(struct standpipe, loss), 0, HUGE_VAL, LIMIT_OPEN},
        {offsetof(struct standpipe, laminar), 0, HUGE_VAL, LIMIT_LEAST_IN},
        {offsetof(struct standpipe, top), -100, HUGE_VAL, LIMIT_OPEN},
        {offsetof(struct standpipe, bottom), -HUGE_VAL, 100, LIMIT_OPEN},
    };
    const struct standpipe standpipe = make(0.01);
    limits_hold(accepts, &standpipe, sizeof standpipe, limits, sizeof limits / sizeof limits[0]);
}
