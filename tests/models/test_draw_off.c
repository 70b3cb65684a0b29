#include "models/draw_off.h"
#include "models/mouth.h"
#include "tests/models/law_kit.h"

/* Flow at a gauge head, by bisection of the law. */
static double flow_at(const struct draw_off *draw, double head)
{
    double low = 0;
    double high = 1;
    for (int i = 0; i < 200; i++) {
        const double middle = 0.5 * (low + high);
        if (draw_off_element.drop(draw, &law_water, middle).head > head) {
            high = middle;
        } else {
            low = middle;
        }
    }
    return fmin(low, draw->most);
}

/* Torricelli with Cd 0.62: a 5 mm hole under 3 m gives 336 L/h (computed). */
Test(draw_off, hole_runs_as_torricelli_says)
{
    const struct draw_off hole = draw_off_orifice(5e-3, 0.62, &law_water);
    cr_assert_float_eq(flow_at(&hole, 3) * 3.6e6, 336, 0.5);
}

/* Factor 80 at 0.5 bar: 80 sqrt(0.5) = 56.6 L/min (EN 12845's definition, from memory). NFPA 13
 * (from memory) pairs it with 5.6 gal/min at 1 psi, within 1.5 %. */
Test(draw_off, sprinkler_follows_its_factor)
{
    const struct draw_off sprinkler = draw_off_sprinkler(80, &law_water);
    const double metre = 1000 * 9.81;
    cr_assert_float_eq(flow_at(&sprinkler, 0.5e5 / metre) * 6e4, 80 * sqrt(0.5), 1e-9);
    cr_assert_float_eq(flow_at(&sprinkler, 6894.757 / metre) * 6e4 / 3.785412, 5.6, 0.015 * 5.6);
}

/* The irrigator's rule: 20 % of pressure is 10 % of flow (read in a text on sprinklers). */
Test(draw_off, flow_goes_with_the_root_of_pressure)
{
    const struct draw_off tap = {.flow = 4e-4, .head = 3, .exponent = 0.5, .most = HUGE_VAL};
    cr_assert_float_eq(flow_at(&tap, 3), 4e-4, 1e-15);
    cr_assert_float_eq(flow_at(&tap, 0.8 * 3) / 4e-4, 0.9, 0.01);
    cr_assert_float_eq(flow_at(&tap, 1.2 * 3) / 4e-4, 1.1, 0.01);
}

Test(draw_off, one_that_wants_no_more_takes_no_more)
{
    const struct draw_off tap = {.flow = 4e-4, .head = 3, .exponent = 0.5, .most = 4e-4};
    cr_assert_eq(draw_off_element.span(&tap, &law_water).upper, 4e-4);
    cr_assert_eq(draw_off_element.span(&tap, &law_water).lower, 0);
    cr_assert_float_eq(flow_at(&tap, 12), 4e-4, 1e-15);
    cr_assert_float_eq(flow_at(&tap, 0.75), 2e-4, 1e-15);
}

Test(draw_off, law_is_monotone_total_and_has_its_slope)
{
    static const double exponents[] = {0.1, 0.25, 0.5, 0.7, 1};
    for (int i = 0; i < 5; i++) {
        const struct draw_off draw = {
            .flow = 1e-3, .head = 10, .exponent = exponents[i], .most = HUGE_VAL};
        law_is_monotone(&nozzle_element, &draw, -0.002, 0.002);
        law_slope_fits(&nozzle_element, &draw, -0.002, 0.002);
        law_is_total(&nozzle_element, &draw);
    }
}

Test(draw_off, bad_numbers_are_refused)
{
    struct failure failure;
    struct draw_off draw = draw_off_sprinkler(80, &law_water);
    cr_assert(draw_off_check(&draw, law_nowhere, &failure));
    draw.exponent = 0;
    cr_assert_not(draw_off_check(&draw, law_nowhere, &failure));
    draw.exponent = NAN;
    cr_assert_not(draw_off_check(&draw, law_nowhere, &failure));
    draw = draw_off_sprinkler(0, &law_water);
    cr_assert_not(draw_off_check(&draw, law_nowhere, &failure));
}

/* Beyond any flow a site has the law goes on along its tangent: straight, without a jump. */
Test(draw_off, law_goes_on_straight_in_the_end)
{
    const struct draw_off tap = {.flow = 1e-3, .head = 3, .exponent = 0.5, .most = HUGE_VAL};
    const struct drop end = draw_off_element.drop(&tap, &law_water, 1e12);
    const struct drop twice = draw_off_element.drop(&tap, &law_water, 2e12);
    cr_assert_float_eq(end.head / 3e30, 1, 1e-12);
    cr_assert_float_eq(twice.slope / end.slope, 1, 1e-12);
    cr_assert_float_eq((twice.head - end.head) / (end.slope * 1e12), 1, 1e-12);
}

/* 2 L/s back for a hundredth of a second leave 20 mL of air at the head of the mouth; half of it is
 * out after 1 L/s forward; of 3 L/s then 2 pour (by hand). A draw of a tap stays shut backward. */
Test(draw_off, air_follows_the_water_back_through_a_nozzle_and_leaves_first)
{
    const struct draw_off gun = {.flow = 4e-3, .head = 30.6, .exponent = 0.5, .most = HUGE_VAL};
    const struct instant now = {.step = 0.01, .setting = 1.0, .water = &law_water};
    const struct motion *motion = nozzle_element.motion;
    double state[MOUTH_STATE_COUNT] = {1.0};
    double next[MOUTH_STATE_COUNT] = {1.0};
    motion->start(&gun, &law_water, 4e-3, 30.6, state);
    cr_assert_eq(state[MOUTH_STATE_AIR], 0.0);
    cr_assert_lt(motion->span(&gun, &now, state).lower, -1e6);
    cr_assert_float_eq(motion->drop(&gun, &now, state, 4e-3, next).head, 30.6, 1e-12);
    cr_assert_eq(next[MOUTH_STATE_AIR], 0.0);
    cr_assert_eq(motion->drop(&gun, &now, state, -2e-3, next).head, 0.0);
    cr_assert_float_eq(next[MOUTH_STATE_AIR], 2e-5, 1e-18);
    state[MOUTH_STATE_AIR] = next[MOUTH_STATE_AIR];
    cr_assert_eq(motion->drop(&gun, &now, state, 1e-3, next).head, 0.0);
    cr_assert_float_eq(next[MOUTH_STATE_AIR], 1e-5, 1e-18);
    state[MOUTH_STATE_AIR] = next[MOUTH_STATE_AIR];
    cr_assert_float_eq(motion->drop(&gun, &now, state, 3e-3, next).head, 30.6 / 4.0, 1e-12);
    cr_assert_eq(next[MOUTH_STATE_AIR], 0.0);
    cr_assert_null(draw_off_element.motion);
}
