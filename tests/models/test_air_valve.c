#include "models/air_valve.h"
#include "models/circle.h"
#include "tests/models/law_kit.h"
#include "tests/models/watched_root.h"

#include <string.h>

static struct air_valve make(double bore)
{
    const double area = circle_area(bore);
    return (struct air_valve){
        .area_in = area, .area_out = area, .coefficient_in = 0.6, .coefficient_out = 0.6};
}

static double air_head(void)
{
    return law_water.air_pressure / (law_water.density * law_water.gravity);
}

/* Isentropic orifice, gamma = 1.4, R = 287, 288.15 K, 50 mm, C = 0.6 (computed from the formulas of
 * the header); 0.1 %. */
Test(air_valve, mass_flow_is_that_of_an_isentropic_orifice)
{
    static const double rows[][2] = {{0.9, 0.17532},  {0.7, 0.26482},  {0.53, 0.28408},
                                     {0.4, 0.28422},  {1.1, -0.18487}, {1.5, -0.40763},
                                     {2.0, -0.56843}, {3.0, -0.85265}, {1.0, 0.0}};
    const struct air_valve valve = make(0.05);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const double flow = air_valve_mass_flow(&valve, rows[i][0] * 101325, 101325, 288.15);
        cr_expect_float_eq(flow, rows[i][1], 1e-3 * fabs(rows[i][1]), "%g", rows[i][0]);
    }
}

/* What is choked joins what is not without a jump (exact critical values), in and out. */
Test(air_valve, mass_flow_has_no_jump)
{
    static const double critical[] = {0.528282, 1 / 0.528282};
    const struct air_valve valve = make(0.05);
    for (int i = 0; i < 2; i++) {
        double before = HUGE_VAL;
        for (double ratio = critical[i] - 0.01; ratio < critical[i] + 0.01; ratio += 1e-4) {
            const double flow = air_valve_mass_flow(&valve, ratio * 101325, 101325, 288.15);
            cr_assert(flow <= before + 1e-9);
            cr_assert(before == HUGE_VAL || before - flow < 1e-4, "%g", ratio);
            before = flow;
        }
    }
}

/* Draws q m3/s of water away for so long; the state is left at the end. */
static double pull(const struct air_valve *valve, double flow, double duration, double step,
                   double state[])
{
    double next[ELEMENT_STATE_MAX] = {0};
    double head = 0;
    for (int i = 0; i < (int)lround(duration / step); i++) {
        const struct instant now = {0, step, 1, &law_water, NULL};
        head = air_valve_element.motion->drop(valve, &now, state, flow, next).head;
        memcpy(state, next, sizeof next);
    }
    return head;
}

/* Water drawn off evenly: in the end as much air, by volume at the pressure inside, comes in as
 * water goes, q p = m'(p) R T. */
Test(air_valve, settles_where_air_follows_the_water)
{
    const struct air_valve valve = make(0.01);
    double state[ELEMENT_STATE_MAX] = {0, 0, law_water.air_pressure};
    const double head = pull(&valve, -0.005, 5, 0.001, state);
    const double pressure = (head + air_head()) * law_water.density * law_water.gravity;
    const double flow = air_valve_mass_flow(&valve, pressure, 101325, 293.15);
    cr_assert(head < -0.2);
    cr_assert_float_eq(flow * 287 * 293.15 / pressure / 0.005, 1, 1e-4);
    cr_assert_float_eq(state[AIR_VALVE_STATE_VOLUME], 0.025, 1e-9);
    cr_assert_float_eq(state[AIR_VALVE_STATE_MASS] * 287 * 293.15, pressure * 0.025, 1e-6);
}

/* Then the water comes back: the valve is shut to it exactly when its volume is filled. */
Test(air_valve, shuts_when_the_air_is_out)
{
    const struct air_valve valve = make(0.05);
    double state[ELEMENT_STATE_MAX] = {0, 0, law_water.air_pressure};
    (void)pull(&valve, -0.005, 1, 0.001, state);
    (void)pull(&valve, 0.005, 0.999, 0.001, state);
    cr_assert(state[AIR_VALVE_STATE_MASS] > 0);
    const struct instant now = {0, 0.01, 1, &law_water, NULL};
    const struct span span = air_valve_element.motion->span(&valve, &now, state);
    cr_assert_float_eq(span.upper, 0.0005, 1e-9);
    (void)air_valve_element.motion->drop(&valve, &now, state, span.upper, state);
    cr_assert_eq(state[AIR_VALVE_STATE_MASS], 0);
    cr_assert_eq(air_valve_element.motion->span(&valve, &now, state).upper, 0);
    cr_assert_eq(air_valve_element.motion->drop(&valve, &now, state, 0, state).head, 0);
}

/* A narrow way out holds the air back: it is pressed together instead (isothermal). */
Test(air_valve, narrow_way_out_makes_a_cushion)
{
    struct air_valve valve = make(0.05);
    double state[ELEMENT_STATE_MAX] = {0, 0, law_water.air_pressure};
    valve.area_out = circle_area(1e-5);
    (void)pull(&valve, -0.005, 1, 0.001, state);
    const double held = state[AIR_VALVE_STATE_MASS];
    const double head = pull(&valve, 0.005, 0.5, 0.001, state);
    cr_assert_float_eq(state[AIR_VALVE_STATE_MASS] / held, 1, 1e-3);
    cr_assert_float_eq((head + air_head()) * 9810 * 0.0025, held * 287 * 293.15, 1);
}

Test(air_valve, law_in_motion_rises_has_its_slope_and_is_finite)
{
    const struct air_valve valve = make(0.01);
    const struct motion *motion = air_valve_element.motion;
    const struct instant now = {1, 0.01, 1, &law_water, NULL};
    double state[ELEMENT_STATE_MAX] = {0, 0, law_water.air_pressure};
    double next[ELEMENT_STATE_MAX] = {0};
    (void)pull(&valve, -0.005, 0.1, 0.001, state);
    double before = -HUGE_VAL;
    for (double flow = -0.5; flow < 0.049; flow += 1e-4) {
        const struct drop drop = motion->drop(&valve, &now, state, flow, next);
        const double ahead = motion->drop(&valve, &now, state, flow + 1e-8, next).head;
        const double behind = motion->drop(&valve, &now, state, flow - 1e-8, next).head;
        cr_assert(drop.head >= before && drop.slope >= 0);
        cr_assert_float_eq((ahead - behind) / 2e-8, drop.slope, 1e-3 * drop.slope + 0.1, "%g",
                           flow);
        before = drop.head;
    }
    for (double flow = 1e-6; flow < 1e61; flow *= 10) {
        cr_assert(isfinite(motion->drop(&valve, &now, state, flow, next).head));
        cr_assert(isfinite(motion->drop(&valve, &now, state, -flow, next).head), "%g", flow);
    }
    /* More water than there is room for: the same air has to leave in the step, however much more
     * (slope 0, exact); and without any air no head at all. */
    const struct drop pushed = motion->drop(&valve, &now, state, 1.0, next);
    cr_assert_float_eq(motion->drop(&valve, &now, state, 2.0, next).head, pushed.head, 1e-9);
    cr_assert_eq(pushed.slope, 0.0);
    const double empty[ELEMENT_STATE_MAX] = {0, 0, law_water.air_pressure};
    const struct drop shut = motion->drop(&valve, &now, empty, 1.0, next);
    cr_assert_eq(shut.head, 0.0);
    cr_assert_eq(shut.slope, 0.0);
    law_is_total(&air_valve_element, &valve);
}

Test(air_valve, bad_numbers_are_refused)
{
    struct failure failure;
    struct air_valve valve = make(0.05);
    cr_assert(air_valve_check(&valve, law_nowhere, &failure));
    valve.area_out = 0;
    cr_assert_not(air_valve_check(&valve, law_nowhere, &failure));
    valve = make(0.05);
    valve.coefficient_in = 1.05;
    cr_assert_not(air_valve_check(&valve, law_nowhere, &failure));
    valve = make(0.05);
    valve.coefficient_out = 1e-3; /* of a valve that keeps its air */
    cr_assert(air_valve_check(&valve, law_nowhere, &failure));
}

/* At rest it is shut, without any head (definition); moving it begins shut, without air, under that
 * of the air around. */
Test(air_valve, at_rest_it_is_shut)
{
    const struct air_valve valve = make(0.05);
    const struct span span = air_valve_element.span(&valve, &law_water);
    const struct drop drop = air_valve_element.drop(&valve, &law_water, 0.01);
    double state[ELEMENT_STATE_MAX] = {1, 1, 1};
    cr_assert(span.lower == 0 && span.upper == 0 && drop.head == 0 && drop.slope == 0);
    air_valve_element.motion->start(&valve, &law_water, 0, 20, state);
    cr_assert_eq(state[AIR_VALVE_STATE_MASS], 0);
    cr_assert_eq(state[AIR_VALVE_STATE_VOLUME], 0);
    cr_assert_eq(state[AIR_VALVE_STATE_PRESSURE], law_water.air_pressure);
    const struct instant now = {0, 0.01, 1, &law_water, NULL};
    cr_assert_eq(air_valve_element.motion->span(&valve, &now, state).lower, -HUGE_VAL);
}

/* What comes in within the first step of a step's flow, by hand: p (q dt) = m'(p) dt R T. */
Test(air_valve, first_step_already_breathes)
{
    const struct air_valve valve = make(0.01);
    const struct instant now = {0, 1e-3, 1, &law_water, NULL};
    for (double flow = 1e-4; flow < 0.02; flow *= 3) {
        double state[ELEMENT_STATE_MAX] = {0, 0, law_water.air_pressure};
        const double head = air_valve_element.motion->drop(&valve, &now, state, -flow, state).head;
        const double pressure = (head + air_head()) * 9810;
        const double in = air_valve_mass_flow(&valve, pressure, 101325, 293.15);
        cr_expect_float_eq(in * 287 * 293.15 / (pressure * flow), 1, 1e-6, "%g", flow);
        cr_expect_float_eq(state[AIR_VALVE_STATE_MASS] / (in * 1e-3), 1, 1e-6);
        cr_expect_float_eq(state[AIR_VALVE_STATE_VOLUME], flow * 1e-3, 1e-18);
    }
}

/* Water that comes up to the valve within a step leaves no room: all the air goes out through the
 * orifice in that step, under the pressure that this takes (conservation of its mass). */
Test(air_valve, last_step_presses_all_air_out)
{
    const struct air_valve valve = make(0.01);
    const double step = 1e-3;
    const struct instant now = {0, step, 1, &law_water, NULL};
    for (double volume = 1e-6; volume < 2e-4; volume *= 3) {
        const double mass = 101325 * volume / (287 * 293.15);
        double state[ELEMENT_STATE_MAX] = {0};
        state[AIR_VALVE_STATE_MASS] = mass;
        state[AIR_VALVE_STATE_VOLUME] = volume;
        state[AIR_VALVE_STATE_PRESSURE] = 101325;
        const double most = air_valve_element.motion->span(&valve, &now, state).upper;
        const double head = air_valve_element.motion->drop(&valve, &now, state, most, state).head;
        const double pressure = (head + air_head()) * 9810;
        const double out = -air_valve_mass_flow(&valve, pressure, 101325, 293.15);
        cr_expect_float_eq(out * step / mass, 1, 1e-6, "%g", volume);
        cr_expect_eq(state[AIR_VALVE_STATE_MASS], 0);
    }
}
