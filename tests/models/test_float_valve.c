#include "models/float_valve.h"
#include "tests/models/law_kit.h"

static struct float_valve make(double level)
{
    const struct throttling_kind *globe = throttling_catalogue_find("globe", NULL);
    return (struct float_valve){
        .valve = {.curve = &globe->curve, .area = 5e-4, .open_loss = 10, .laminar = 1500},
        .open_level = 1.0,
        .shut_level = 1.2,
        .level = level};
}

Test(float_valve, opening_is_linear_between_its_levels)
{
    const struct float_valve valve = make(1);
    cr_assert_eq(float_valve_opening(&valve, -5), 1);
    cr_assert_eq(float_valve_opening(&valve, 1), 1);
    cr_assert_float_eq(float_valve_opening(&valve, 1.05), 0.75, 1e-12);
    cr_assert_eq(float_valve_opening(&valve, 1.2), 0);
    cr_assert_eq(float_valve_opening(&valve, 9), 0);
}

Test(float_valve, full_tank_shuts_it)
{
    const struct float_valve full = make(1.3);
    cr_assert_eq(float_valve_element.span(&full, &law_water).upper, 0);
    const struct float_valve low = make(0.5);
    cr_assert_eq(float_valve_element.span(&low, &law_water).lower, 0);
    cr_assert_eq(float_valve_element.span(&low, &law_water).upper, HUGE_VAL);
}

/* Linear trim half open has half the capacity: four times the loss (IEC 60534-2-4, from memory). */
Test(float_valve, half_way_up_it_loses_four_times)
{
    const struct float_valve low = make(1);
    const struct float_valve half = make(1.1);
    const double open_loss = throttling_loss(&low.valve, 1);
    cr_assert_float_eq(throttling_loss(&half.valve, float_valve_opening(&half, half.level)),
                       4 * open_loss, 1e-9);
}

Test(float_valve, setting_is_the_level_of_its_tank)
{
    const struct float_valve low = make(1);
    const struct float_valve half = make(1.1);
    const struct motion *motion = float_valve_element.motion;
    double state[ELEMENT_STATE_MAX] = {0};
    const struct instant now = {.time = 1, .step = 1, .setting = 1.1, .water = &law_water};
    cr_assert_eq(motion->setting(&low), 1);
    cr_assert_eq(motion->drop(&low, &now, state, 1e-3, state).head,
                 float_valve_element.drop(&half, &law_water, 1e-3).head);
    cr_assert_float_eq(state[FLOAT_VALVE_STATE_OPENING], 0.5, 1e-12);
}

Test(float_valve, law_is_monotone_total_and_has_its_slope)
{
    for (double level = 0.9; level < 1.3; level += 0.05) {
        const struct float_valve valve = make(level);
        law_is_monotone(&float_valve_element, &valve, -0.002, 0.002);
        law_slope_fits(&float_valve_element, &valve, -0.002, 0.002);
        law_is_total(&float_valve_element, &valve);
    }
}

Test(float_valve, levels_in_the_wrong_order_are_refused)
{
    struct failure failure;
    struct float_valve valve = make(1);
    cr_assert(float_valve_check(&valve, law_nowhere, &failure), "%s", failure.message);
    valve.shut_level = 1.0;
    cr_assert_not(float_valve_check(&valve, law_nowhere, &failure));
    valve.shut_level = NAN;
    cr_assert_not(float_valve_check(&valve, law_nowhere, &failure));
}
