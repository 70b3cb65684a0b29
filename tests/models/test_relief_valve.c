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

Test(relief_valve, bad_numbers_are_refused)
{
    struct failure failure;
    struct relief_valve bad = valve;
    cr_assert(relief_valve_check(&bad, law_nowhere, &failure));
    bad.coefficient = 1.2;
    cr_assert_not(relief_valve_check(&bad, law_nowhere, &failure));
    bad = valve;
    bad.set_head = -1;
    cr_assert_not(relief_valve_check(&bad, law_nowhere, &failure));
    bad = valve;
    bad.overpressure = NAN;
    cr_assert_not(relief_valve_check(&bad, law_nowhere, &failure));
}
