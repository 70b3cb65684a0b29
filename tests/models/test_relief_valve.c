#include "models/relief_valve.h"
#include "tests/models/law_kit.h"

static const struct relief_valve valve = {
    .area = 1e-3, .coefficient = 0.7, .set_head = 40, .overpressure = 0.1};

static struct drop drop(double flow)
{
    return relief_valve_element.drop(&valve, &law_water, flow);
}

/* Orifice law, Wylie & Streeter 1993: q = Cd A sqrt(2 g d); full lift at 44 m. */
static double full_flow(double head)
{
    return 0.7 * 1e-3 * sqrt(2 * 9.81 * head);
}

Test(relief_valve, shut_up_to_its_set_head)
{
    cr_assert_float_eq(drop(0).head, 40, 1e-12);
    cr_assert_eq(relief_valve_element.span(&valve, &law_water).lower, 0);
    cr_assert_eq(relief_valve_element.opening(&valve, &law_water, 0), 0);
}

Test(relief_valve, fully_lifted_it_is_an_orifice)
{
    cr_assert_float_eq(drop(full_flow(44)).head, 44, 1e-10);
    cr_assert_float_eq(drop(full_flow(60)).head, 60, 1e-10);
    cr_assert_eq(relief_valve_element.opening(&valve, &law_water, full_flow(60)), 1);
}

/* Half of the overpressure: half of the lift, half of the orifice's flow at 42 m. */
Test(relief_valve, lift_follows_the_overpressure)
{
    const double flow = 0.5 * full_flow(42);
    cr_assert_float_eq(drop(flow).head, 42, 1e-10);
    cr_assert_float_eq(relief_valve_element.opening(&valve, &law_water, flow), 0.5, 1e-10);
}

Test(relief_valve, without_overpressure_it_holds_its_set_head)
{
    struct relief_valve sharp = valve;
    sharp.overpressure = 0;
    for (double share = 0; share < 1; share += 0.1) {
        cr_assert_float_eq(
            relief_valve_element.drop(&sharp, &law_water, share * full_flow(40)).head, 40, 1e-10);
    }
    sharp.set_head = 0;
    cr_assert_float_eq(relief_valve_element.drop(&sharp, &law_water, full_flow(10)).head, 10,
                       1e-10);
    law_is_total(&relief_valve_element, &sharp);
}

Test(relief_valve, law_is_monotone_total_and_has_its_slope)
{
    law_is_monotone(&relief_valve_element, &valve, 0, 0.03);
    law_slope_fits(&relief_valve_element, &valve, 0, 0.03);
    law_is_total(&relief_valve_element, &valve);
    const struct relief_valve soft = {
        .area = 1e-3, .coefficient = 1, .set_head = 1, .overpressure = 25};
    law_is_monotone(&relief_valve_element, &soft, 0, 0.05);
    law_slope_fits(&relief_valve_element, &soft, 0, 0.05);
}

/* Far from full lift: s sqrt(1 + o s) = w, checked by putting s back, to round-off; a small set
 * head is still one. */
Test(relief_valve, lift_solves_its_own_equation)
{
    struct relief_valve soft = {
        .area = 1e-3, .coefficient = 1, .set_head = 0.05, .overpressure = 25};
    const double per_root = 1e-3 * sqrt(19.62 * 0.05);
    for (double s = 0.01; s < 1; s += 0.01) {
        const double flow = per_root * s * sqrt(1 + 25 * s);
        cr_assert_float_eq(relief_valve_element.opening(&soft, &law_water, flow), s, 1e-13);
        cr_assert_float_eq(relief_valve_element.drop(&soft, &law_water, flow).head,
                           0.05 * (1 + 25 * s), 1e-12);
    }
    soft.set_head = 0;
    cr_assert_eq(relief_valve_element.opening(&soft, &law_water, 0), 0);
    cr_assert_eq(relief_valve_element.opening(&soft, &law_water, 1e-3), 1);
}

/* Nothing flows back; the law goes on level there (models/element.h: total). */
Test(relief_valve, law_is_level_backward)
{
    const struct drop back = drop(-0.01);
    cr_assert(back.head == 40 && back.slope == 0);
}

Test(relief_valve, bad_numbers_are_refused)
{
    struct failure failure;
    struct relief_valve bad = valve;
    cr_assert(relief_valve_check(&bad, law_nowhere, &failure));
    bad.coefficient = 0.02; /* a throttled discharge: small, and still more than nothing */
    cr_assert(relief_valve_check(&bad, law_nowhere, &failure));
    bad.coefficient = 0.0;
    cr_assert_not(relief_valve_check(&bad, law_nowhere, &failure));
    bad.coefficient = 1.2;
    cr_assert_not(relief_valve_check(&bad, law_nowhere, &failure));
    bad = valve;
    bad.set_head = -1;
    cr_assert_not(relief_valve_check(&bad, law_nowhere, &failure));
    bad = valve;
    bad.overpressure = NAN;
    cr_assert_not(relief_valve_check(&bad, law_nowhere, &failure));
}

/* --- while things move --- */

static struct drop moved(const struct relief_valve *slow, double step, double flow, double state[])
{
    const struct instant now = {1, step, 1, &law_water, NULL};
    return relief_valve_element.motion->drop(slow, &now, state, flow, state);
}

/* Without times of travel it keeps its law at rest. */
Test(relief_valve, quick_one_follows_its_law_at_rest)
{
    for (double flow = 0; flow < 0.03; flow += 1e-4) {
        double state[ELEMENT_STATE_MAX] = {0};
        const struct drop now = moved(&valve, 0.01, flow, state);
        cr_assert_float_eq(now.head, drop(flow).head, 1e-12);
    }
}

/* A step longer than its travel ends fully lifted, and no further; it was half open. */
Test(relief_valve, travel_ends_at_full_lift)
{
    struct relief_valve slow = valve;
    double state[ELEMENT_STATE_MAX] = {0.5};
    slow.opening_time = 0.3;
    cr_assert_float_eq(moved(&slow, 0.5, full_flow(70), state).head, 70, 1e-10);
    cr_assert_eq(state[RELIEF_VALVE_STATE_LIFT], 1);
    state[RELIEF_VALVE_STATE_LIFT] = 0.99;
    cr_assert_float_eq(moved(&slow, 0.1, full_flow(70), state).head, 70, 1e-10);
    cr_assert_eq(state[RELIEF_VALVE_STATE_LIFT], 1);
}

/* 2 s for its lift: after a step of 0.2 s it is a tenth open, an orifice of a tenth of its area. */
Test(relief_valve, slow_one_lifts_no_faster_than_its_time)
{
    struct relief_valve slow = valve;
    double state[ELEMENT_STATE_MAX] = {0};
    slow.opening_time = 2;
    struct drop now = moved(&slow, 0.2, 0.1 * full_flow(70), state);
    cr_assert_float_eq(now.head, 70, 1e-10);
    cr_assert_float_eq(state[RELIEF_VALVE_STATE_LIFT], 0.1, 1e-12);
    now = moved(&slow, 0.2, 0.2 * full_flow(60), state);
    cr_assert_float_eq(now.head, 60, 1e-10);
    cr_assert_float_eq(state[RELIEF_VALVE_STATE_LIFT], 0.2, 1e-12);
}

Test(relief_valve, slow_one_stays_open_while_it_shuts)
{
    struct relief_valve slow = valve;
    double state[ELEMENT_STATE_MAX] = {1};
    slow.closing_time = 4;
    const struct drop now = moved(&slow, 1, 0.75 * full_flow(10), state);
    cr_assert_float_eq(now.head, 10, 1e-10);
    cr_assert_float_eq(state[RELIEF_VALVE_STATE_LIFT], 0.75, 1e-12);
    for (int i = 0; i < 3; i++) {
        (void)moved(&slow, 1, 0, state);
    }
    cr_assert_eq(state[RELIEF_VALVE_STATE_LIFT], 0);
}

/* What round-off leaves of its lift at the end of its way down is none: it is on its seat then. */
Test(relief_valve, slow_one_comes_down_to_its_seat)
{
    struct relief_valve slow = valve;
    slow.closing_time = 1;
    for (int i = 0; i < 4; i++) {
        double state[] = {0.01 + (double[]){0, 1e-18, 1e-16, 1e-12}[i]};
        cr_assert_float_eq(moved(&slow, 0.01, 0, state).head, 40, 1e-12, "%d", i);
        cr_assert_eq(state[0], 0, "%d", i);
    }
}

Test(relief_valve, law_in_motion_rises_and_has_its_slope)
{
    struct relief_valve slow = valve;
    double before = -1;
    slow.opening_time = 2;
    slow.closing_time = 2;
    for (double flow = 1e-6; flow < 0.03; flow += 1e-5) {
        double state[3][ELEMENT_STATE_MAX] = {{0.5}, {0.5}, {0.5}};
        const struct drop now = moved(&slow, 0.1, flow, state[0]);
        const double ahead = moved(&slow, 0.1, flow + 1e-9, state[1]).head;
        const double behind = moved(&slow, 0.1, flow - 1e-9, state[2]).head;
        cr_assert(now.head >= before && now.slope >= 0);
        cr_assert_float_eq((ahead - behind) / 2e-9, now.slope, 1e-3 * now.slope + 1, "%g", flow);
        before = now.head;
    }
}
