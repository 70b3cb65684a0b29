#include "models/regulator.h"
#include "tests/models/law_kit.h"

/* K 9.81 x 2 on 1e-3 m2: fully open it loses exactly v^2 m at v m/s. */
static const struct regulator behind = {
    .area = 1e-3, .open_loss = 19.62, .most_behind = 20, .least_before = -HUGE_VAL};
static const struct regulator before = {
    .area = 1e-3, .open_loss = 19.62, .most_behind = HUGE_VAL, .least_before = 30};

static double value(const struct regulator *regulator, double velocity, double from, double to)
{
    const struct coupled_at at = {
        .flow = velocity * regulator->area, .head_from = from, .head_to = to};
    return regulator_element.coupling->law(regulator, &law_water, &at).value;
}

static enum regulator_duty duty(const struct regulator *regulator, double velocity, double from,
                                double to)
{
    return regulator_duty(regulator, &law_water, velocity * regulator->area, from, to);
}

/* Answers by hand: 2 m/s cost 4 m fully open. */
Test(regulator, holds_the_head_behind_it_when_there_is_more)
{
    cr_assert_float_eq(value(&behind, 2, 50, 20), 0, 1e-12);
    cr_assert_eq(duty(&behind, 2, 50, 20), REGULATOR_HOLDS_BEHIND);
    cr_assert_float_eq(value(&behind, 2, 50, 21), 1, 1e-12);
    cr_assert_lt(value(&behind, 2, 50, 19), 0);
}

Test(regulator, stands_open_when_there_is_less)
{
    cr_assert_float_eq(value(&behind, 2, 20, 16), 0, 1e-12);
    cr_assert_eq(duty(&behind, 2, 20, 16), REGULATOR_OPEN);
    cr_assert_float_eq(value(&behind, 2, 20, 17), 1, 1e-12);
}

Test(regulator, lets_nothing_back_and_shuts_against_more_behind)
{
    cr_assert_eq(value(&behind, 0, 10, 15), 0);
    cr_assert_eq(value(&behind, 0, 50, 25), 0);
    cr_assert_eq(duty(&behind, 0, 50, 25), REGULATOR_SHUT);
    cr_assert_lt(value(&behind, -1, 10, 11), 0);
    cr_assert_eq(regulator_element.span(&behind, &law_water).lower, 0);
}

Test(regulator, sustains_the_head_before_it)
{
    cr_assert_float_eq(value(&before, 2, 30, 5), 0, 1e-12);
    cr_assert_eq(duty(&before, 2, 30, 5), REGULATOR_HOLDS_BEFORE);
    cr_assert_float_eq(value(&before, 2, 40, 36), 0, 1e-12);
    cr_assert_eq(duty(&before, 2, 40, 36), REGULATOR_OPEN);
    cr_assert_eq(value(&before, 0, 28, 5), 0);
    cr_assert_float_eq(value(&before, 2, 29, 5), 1, 1e-12);
}

Test(regulator, derivatives_are_those_of_its_law)
{
    for (int i = 0; i < 3000; i++) {
        const struct coupled_at at = {.flow = -2e-3 + 1e-4 * (i % 61),
                                      .head_from = 0.37 + 3 * (i % 17),
                                      .head_to = 0.11 + 2.9 * (i % 13)};
        law_coupled_fits(&regulator_element, &behind, at, 1e-9, 2e-3);
        law_coupled_fits(&regulator_element, &before, at, 1e-9, 2e-3);
    }
}

Test(regulator, nearest_law_is_monotone_total_and_has_its_slope)
{
    law_is_monotone(&regulator_element, &behind, 0, 0.005);
    law_slope_fits(&regulator_element, &behind, 0, 0.005);
    law_is_total(&regulator_element, &behind);
}

/* Holding 20 m with 50 m before it, 2 m/s: during a surge run the same opening costs 30 m there
 * and a quarter at half of the flow. */
Test(regulator, keeps_its_opening_while_waves_pass)
{
    const struct motion *motion = regulator_element.motion;
    double state[ELEMENT_STATE_MAX] = {0};
    double next[ELEMENT_STATE_MAX] = {0};
    const struct instant now = {.time = 1, .step = 1e-3, .setting = 1, .water = &law_water};
    motion->start(&behind, &law_water, 2e-3, 30, state);
    cr_assert_float_eq(motion->drop(&behind, &now, state, 2e-3, next).head, 30, 1e-12);
    cr_assert_float_eq(motion->drop(&behind, &now, state, 1e-3, next).head, 7.5, 1e-12);
    cr_assert_eq(motion->span(&behind, &now, next).upper, HUGE_VAL);
    motion->start(&behind, &law_water, 0, -5, state);
    cr_assert_eq(motion->span(&behind, &now, state).upper, 0);
}

Test(regulator, one_without_a_head_to_hold_is_refused)
{
    struct failure failure;
    struct regulator regulator = behind;
    cr_assert(regulator_check(&regulator, law_nowhere, &failure));
    regulator.most_behind = HUGE_VAL;
    cr_assert_not(regulator_check(&regulator, law_nowhere, &failure));
    regulator.most_behind = NAN;
    cr_assert_not(regulator_check(&regulator, law_nowhere, &failure));
    regulator = before;
    cr_assert(regulator_check(&regulator, law_nowhere, &failure));
    regulator.open_loss = 0;
    cr_assert_not(regulator_check(&regulator, law_nowhere, &failure));
}
