#include "models/air_vessel.h"
#include "models/circle.h"
#include "tests/models/limit_kit.h"
#include "tests/models/rigid_column.h"
#include "tests/models/watched_root.h"

/* Head of the law's air, m: heads below are absolute, as in the exact solution. */
static double air_head(void)
{
    return law_water.air_pressure / (law_water.density * law_water.gravity);
}

static struct air_vessel make(double gas, double exponent)
{
    return (struct air_vessel){.volume = 10 * gas,
                               .gas = gas,
                               .exponent = exponent,
                               .joint_area = 1,
                               .loss_in = 1e-9,
                               .loss_out = 1e-9};
}

/* Frictionless swing of a rigid column into a vessel: both roots C of the energy rule
 * L A V0^2/(2g) = (H0 C0^n (C^(1-n) - C0^(1-n))/(n-1)) - H0 (C0 - C)
 * (n = 1: H0 C0 ln(C0/C) - H0 (C0 - C)), exact; the numbers here are computed from it. */
Test(air_vessel, extremes_are_those_of_the_energy_rule)
{
    static const struct {
        double length, bore, velocity, head, gas, exponent;
        double least_gas, most_head, most_gas, least_head;
    } rows[] = {
        {1000, 0.2, 1.0, 60, 0.5, 1.2, 0.366596, 87.0744, 0.665986, 42.5361},
        {1000, 0.2, 1.0, 60, 0.5, 1.0, 0.353924, 84.7640, 0.681617, 44.0130},
        {1000, 0.2, 1.0, 60, 0.5, 1.4, 0.376540, 89.2430, 0.653932, 41.2063},
        {300, 0.1, 1.5, 35, 0.05, 1.2, 0.029060, 67.1239, 0.080346, 19.8096},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const struct air_vessel vessel = make(rows[i].gas, rows[i].exponent);
        const struct column column = {rows[i].length, circle_area(rows[i].bore),
                                      rows[i].head - air_head(), rows[i].velocity};
        const struct swing swing =
            column_run(&column, &air_vessel_element, &vessel, 0, AIR_VESSEL_STATE_FLOW,
                       AIR_VESSEL_STATE_GAS, 34, 0.02);
        cr_expect_float_eq(swing.lowest / rows[i].least_gas, 1, 1e-4, "%zu", i);
        cr_expect_float_eq(swing.highest / rows[i].most_gas, 1, 1e-4, "%zu", i);
        cr_expect_float_eq((swing.head_highest + air_head()) / rows[i].most_head, 1, 1e-4);
        cr_expect_float_eq((swing.head_lowest + air_head()) / rows[i].least_head, 1, 1e-4);
    }
}

/* Boyle: filled to 2 bar absolute, the main at 5 bar absolute: two fifths of it is gas. */
Test(air_vessel, gas_at_rest_follows_from_the_precharge)
{
    const double bar = 1e5 / (law_water.density * law_water.gravity);
    struct air_vessel vessel = make(0.01, 1.2);
    vessel.gas = 0;
    vessel.precharge = 2 * bar - air_head();
    cr_assert_float_eq(air_vessel_gas_at_rest(&vessel, &law_water, 5 * bar - air_head()), 0.04,
                       1e-12);
    /* Upright with a water surface: Boyle must hold with the level counted. */
    vessel.area = 0.05;
    const double gas = air_vessel_gas_at_rest(&vessel, &law_water, 5 * bar - air_head());
    cr_assert_float_eq((5 * bar - (0.1 - gas) / 0.05) * gas, 2 * bar * 0.1, 1e-9);
}

/* A bag filled above the pressure of the main fills the vessel: it gives nothing, and takes nothing
 * before the main's pressure has reached its own. */
Test(air_vessel, bag_above_the_main_shuts_the_joint)
{
    struct air_vessel vessel = make(0.01, 1.2);
    double state[ELEMENT_STATE_MAX] = {0};
    double next[ELEMENT_STATE_MAX] = {0};
    const struct instant now = {1, 0.01, 1, &law_water, NULL};
    vessel.gas = 0;
    vessel.precharge = 30;
    air_vessel_element.motion->start(&vessel, &law_water, 0, 20, state);
    cr_assert_eq(state[AIR_VESSEL_STATE_GAS], vessel.volume);
    cr_assert_eq(air_vessel_element.motion->span(&vessel, &now, state).lower, 0);
    cr_assert_float_eq(air_vessel_element.motion->drop(&vessel, &now, state, 0, next).head, 30,
                       1e-9);
}

Test(air_vessel, holds_still_at_rest)
{
    struct air_vessel vessel = make(0.01, 1.2);
    double state[ELEMENT_STATE_MAX] = {0};
    const struct instant now = {1, 0.01, 1, &law_water, NULL};
    vessel.area = 0.05;
    air_vessel_element.motion->start(&vessel, &law_water, 0, 20, state);
    cr_assert_float_eq(air_vessel_element.motion->drop(&vessel, &now, state, 0, state).head, 20,
                       1e-12);
    cr_assert_float_eq(state[AIR_VESSEL_STATE_GAS], 0.01, 1e-15);
}

Test(air_vessel, throttle_differs_between_in_and_out)
{
    struct air_vessel vessel = make(0.01, 1.2);
    vessel.loss_in = 8;
    vessel.loss_out = 2;
    for (double flow = 0.05; flow < 2; flow *= 4) {
        const double in = air_vessel_element.drop(&vessel, &law_water, flow).head;
        const double out = air_vessel_element.drop(&vessel, &law_water, -flow).head;
        cr_assert_float_eq(in, 8 * flow * flow / 19.62, 1e-12);
        cr_assert_float_eq(out, -2 * flow * flow / 19.62, 1e-12);
    }
}

/* At rest a dead leg: nothing can flow (definition). */
Test(air_vessel, nothing_flows_at_rest)
{
    const struct air_vessel vessel = make(0.01, 1.2);
    const struct span span = air_vessel_element.span(&vessel, &law_water);
    cr_assert(span.lower == 0 && span.upper == 0);
}

/* Boyle at its ends: a bag all but as strong as the main; a main so strong that the model's last
 * billionth of gas is left. */
Test(air_vessel, gas_at_rest_from_all_but_whole_to_all_but_none)
{
    struct air_vessel vessel = make(0.01, 1.2);
    vessel.gas = 0;
    vessel.precharge = 30;
    const double bag = air_head() + 30;
    const double gas = air_vessel_gas_at_rest(&vessel, &law_water, 30 + 5e-5);
    cr_assert_float_eq(gas, 0.1 * bag / (bag + 5e-5), 1e-11);
    cr_assert_float_eq(air_vessel_gas_at_rest(&vessel, &law_water, 1e13) / 1e-10, 1, 1e-9);
}

/* What the gas is under at rest: the main's head less the water over the bottom, never less than a
 * millionth of the air's pressure; a vessel kept full of gas is no bag. */
Test(air_vessel, pressure_at_rest_is_that_of_the_main)
{
    struct air_vessel vessel = make(0.01, 1.2);
    double state[ELEMENT_STATE_MAX] = {0};
    const double per_head = law_water.density * law_water.gravity;
    vessel.area = 0.05;
    air_vessel_element.motion->start(&vessel, &law_water, 0, 20, state);
    cr_assert_float_eq(state[AIR_VESSEL_STATE_PRESSURE],
                       law_water.air_pressure + (20 - 0.09 / 0.05) * per_head, 1e-9);
    vessel.gas = vessel.volume = 0.05;
    vessel.precharge = 7;
    air_vessel_element.motion->start(&vessel, &law_water, 0, 20, state);
    cr_assert_float_eq(state[AIR_VESSEL_STATE_PRESSURE], law_water.air_pressure + 20 * per_head,
                       1e-9);
    air_vessel_element.motion->start(&vessel, &law_water, 0, -20, state);
    cr_assert_float_eq(state[AIR_VESSEL_STATE_PRESSURE] / law_water.air_pressure, 1e-6, 1e-15);
    /* A bag that the main presses together holds the main's pressure, not its own. */
    vessel.gas = 0;
    air_vessel_element.motion->start(&vessel, &law_water, 0, 20, state);
    cr_assert_float_eq(state[AIR_VESSEL_STATE_PRESSURE] /
                           (law_water.air_pressure +
                            per_head * (20 - (vessel.volume - state[AIR_VESSEL_STATE_GAS]) / 0.05)),
                       1, 1e-12);
}

/* Whatever it gave at the step's beginning: the mean of both flows over the step is all it held
 * (trapezoidal rule). One that would have to take water back is only kept from giving. */
Test(air_vessel, gives_no_more_than_it_holds)
{
    const struct air_vessel vessel = make(0.01, 1.2);
    const struct instant now = {1, 0.1, 1, &law_water, NULL};
    for (double before = -1.2; before < 1.3; before += 0.4) {
        double state[ELEMENT_STATE_MAX] = {0};
        air_vessel_element.motion->start(&vessel, &law_water, 0, 20, state);
        state[AIR_VESSEL_STATE_FLOW] = before;
        const double least = air_vessel_element.motion->span(&vessel, &now, state).lower;
        cr_assert_float_eq(0.5 * (before + least) * now.step, -0.09, 1e-15);
        (void)air_vessel_element.motion->drop(&vessel, &now, state, least, state);
        cr_assert_float_eq(state[AIR_VESSEL_STATE_GAS], vessel.volume, 1e-12);
        state[AIR_VESSEL_STATE_FLOW] = -0.05; /* nothing left to give */
        cr_assert_eq(air_vessel_element.motion->span(&vessel, &now, state).lower, 0);
    }
}

/* Below a thousandth of the gas before the step the law is its own tangent there. */
Test(air_vessel, gas_pressed_to_nothing_goes_on_along_the_tangent)
{
    const struct air_vessel vessel = make(0.01, 1.2);
    const struct instant now = {1, 0.1, 1, &law_water, NULL};
    const struct motion *motion = air_vessel_element.motion;
    double state[ELEMENT_STATE_MAX] = {0};
    double next[ELEMENT_STATE_MAX] = {0};
    motion->start(&vessel, &law_water, 0, 20, state);
    const double touch = 2 * 0.01 * (1 - 1e-3) / now.step;
    const struct drop at = motion->drop(&vessel, &now, state, touch, next);
    const double pressed = (20 + air_head()) * pow(1e3, 1.2) - air_head();
    cr_assert_float_eq(at.head / pressed, 1, 1e-9);
    const struct drop beyond = motion->drop(&vessel, &now, state, touch + 1, next);
    cr_assert_float_eq(beyond.slope / at.slope, 1, 1e-9);
    cr_assert_float_eq((beyond.head - at.head) / at.slope, 1, 1e-9);
    cr_assert_float_eq(next[AIR_VESSEL_STATE_GAS] / 1e-5, 1, 1e-12);
}

/* Over flows that squeeze the gas to nothing and beyond. */
Test(air_vessel, law_in_motion_rises_has_its_slope_and_is_finite)
{
    static const double areas[] = {0, 0.05};
    struct air_vessel vessel = make(0.01, 1.2);
    double state[ELEMENT_STATE_MAX] = {0};
    double next[ELEMENT_STATE_MAX] = {0};
    const struct instant now = {1, 0.1, 1, &law_water, NULL};
    const struct motion *motion = air_vessel_element.motion;
    for (int i = 0; i < 2; i++) {
        vessel.area = areas[i];
        motion->start(&vessel, &law_water, 0, 20, state);
        double before = -HUGE_VAL;
        for (double flow = -3.005; flow < 0.3; flow += 0.01) {
            const struct drop drop = motion->drop(&vessel, &now, state, flow, next);
            const double ahead = motion->drop(&vessel, &now, state, flow + 1e-7, next).head;
            const double behind = motion->drop(&vessel, &now, state, flow - 1e-7, next).head;
            cr_assert(drop.head >= before && drop.slope >= 0);
            cr_assert_float_eq((ahead - behind) / 2e-7, drop.slope, 1e-4 * drop.slope + 1e-2, "%g",
                               flow);
            before = drop.head;
        }
        cr_assert(isfinite(motion->drop(&vessel, &now, state, 1e60, next).head));
        cr_assert(isfinite(motion->drop(&vessel, &now, state, -1e60, next).head));
    }
    law_is_total(&air_vessel_element, &vessel);
}

static bool accepts(const void *data)
{
    struct failure failure;
    return air_vessel_check(data, law_nowhere, &failure);
}

/* As models/air_vessel.h says. */
Test(air_vessel, bad_numbers_are_refused)
{
    static const struct limit limits[] = {
        {offsetof(struct air_vessel, volume), 0.01, HUGE_VAL, LIMIT_LEAST_IN},
        {offsetof(struct air_vessel, gas), 0, 0.1, LIMIT_BOTH_IN},
        {offsetof(struct air_vessel, precharge), 0, HUGE_VAL, LIMIT_LEAST_IN},
        {offsetof(struct air_vessel, exponent), 1, 5.0 / 3, LIMIT_BOTH_IN},
        {offsetof(struct air_vessel, area), 0, HUGE_VAL, LIMIT_LEAST_IN},
        {offsetof(struct air_vessel, joint_area), 0, HUGE_VAL, LIMIT_OPEN},
        {offsetof(struct air_vessel, loss_in), 0, HUGE_VAL, LIMIT_OPEN},
        {offsetof(struct air_vessel, loss_out), 0, HUGE_VAL, LIMIT_OPEN},
        {offsetof(struct air_vessel, bottom), -HUGE_VAL, HUGE_VAL, LIMIT_OPEN},
    };
    struct air_vessel vessel = make(0.01, 1.2);
    vessel.volume = 0.1;
    limits_hold(accepts, &vessel, sizeof vessel, limits, sizeof limits / sizeof limits[0]);
}
