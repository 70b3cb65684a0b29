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

/* --- while waves pass --- */

static struct regulator with_stroke(double stroke)
{
    struct regulator regulator = behind;
    regulator.stroke = stroke;
    return regulator;
}

/* Its law in a step of 0.1 s from `share` open. */
static double step_value(double stroke, double share, double velocity, double from, double to,
                         double *share_then)
{
    const struct regulator regulator = with_stroke(stroke);
    const struct instant now = {.time = 1, .step = 0.1, .setting = 1, .water = &law_water};
    const struct coupled_at at = {
        .flow = velocity * regulator.area, .head_from = from, .head_to = to};
    const double old[ELEMENT_STATE_MAX] = {share};
    double next[ELEMENT_STATE_MAX] = {0};
    const double found =
        regulator_element.coupling->law_of_step(&regulator, &now, old, &at, next).value;
    *share_then = next[REGULATOR_STATE_OPENING];
    return found;
}

/* 2 m/s under 36 m is a share of sqrt(4/36) = 1/3. */
Test(regulator, starts_where_it_stands)
{
    const struct regulator regulator = with_stroke(5);
    double state[ELEMENT_STATE_MAX];
    regulator_element.coupling->start(&regulator, &law_water, 2e-3, 56, 20, state);
    cr_assert_float_eq(state[0], 1.0 / 3.0, 1e-12);
    regulator_element.coupling->start(&regulator, &law_water, 2e-3, 20, 16, state);
    cr_assert_float_eq(state[0], 1, 1e-12);
    regulator_element.coupling->start(&regulator, &law_water, 0, 50, 25, state);
    cr_assert_eq(state[0], 0.0);
    regulator_element.coupling->start(&regulator, &law_water, 0, 10, 15, state);
    cr_assert_eq(state[0], 1.0);
}

Test(regulator, without_a_stroke_it_does_at_once_what_it_does_at_rest)
{
    double share;
    for (int i = 0; i < 3000; i++) {
        const double velocity = -2 + 0.1 * (i % 61);
        const double from = 0.37 + 3 * (i % 17);
        const double to = 0.11 + 2.9 * (i % 13);
        cr_assert_float_eq(step_value(0, 0.3, velocity, from, to, &share),
                           value(&behind, velocity, from, to), 1e-12);
    }
}

/* Half open with a stroke of 1 s it reaches 0.4 to 0.6 in 0.1 s: v^2 costs 4 m at 2 m/s fully open,
 * 25 m and 11.11 m there. */
Test(regulator, keeps_within_its_reach)
{
    double share;
    cr_assert_float_eq(step_value(1, 0.5, 2, 36, 20, &share), 0, 1e-12); /* 16 m: within */
    cr_assert_float_eq(share, 0.5, 1e-12);
    cr_assert_float_eq(step_value(1, 0.5, 2, 60, 35, &share), 0, 1e-12); /* too much behind */
    cr_assert_float_eq(share, 0.4, 1e-12);
    cr_assert_float_eq(step_value(1, 0.5, 2, 21, 21 - 4 / 0.36, &share), 0, 1e-12); /* too little */
    cr_assert_float_eq(share, 0.6, 1e-12);
    cr_assert_float_eq(step_value(INFINITY, 0.5, 2, 60, 44, &share), 0,
                       1e-12); /* keeps its place */
    cr_assert_float_eq(share, 0.5, 1e-12);
    cr_assert_eq(step_value(INFINITY, 0, 0, 60, 10, &share), 0); /* shut stays shut */
    cr_assert_lt(step_value(1, 0.5, -1, 10, 30, &share), 0);     /* nothing back */
}

Test(regulator, derivatives_of_a_step_are_those_of_its_law)
{
    struct regulator regulator = with_stroke(1);
    const struct instant now = {.time = 1, .step = 0.1, .setting = 1, .water = &law_water};
    for (int i = 0; i < 6000; i++) {
        if (i == 3000) { /* now one that keeps a head before it */
            regulator.most_behind = INFINITY;
            regulator.least_before = 25;
        }
        const double old[ELEMENT_STATE_MAX] = {0.05 * (i % 21)};
        const struct law_asked asked = {&regulator_element, &regulator, &now, old};
        const struct coupled_at at = {.flow = -2.03e-3 + 1e-4 * (i % 61),
                                      .head_from = 0.37 + 3 * (i % 17),
                                      .head_to = 0.11 + 2.9 * (i % 13)};
        law_asked_fits(&asked, at, 1e-9, 2e-3);
    }
}

/* Beside pipes its losses are divided by something above 0, and flow counts by their impedance:
 * what was too much, too little or just right is still so; no derivative by flow is then far above
 * that impedance. */
Test(regulator, weighed_beside_pipes_it_has_the_same_answers)
{
    static const double impedances[] = {300, 3e4, 3e6};
    struct regulator regulator = with_stroke(1);
    const struct instant now = {.time = 1, .step = 0.1, .setting = 1, .water = &law_water};
    for (int i = 0; i < 9000; i++) {
        regulator.laminar = i % 2 ? 1e3 : 0;
        const double old[ELEMENT_STATE_MAX] = {0.1002 + 0.05 * (i % 19) * (i % 7 / 6.0)};
        const struct law_asked asked = {&regulator_element, &regulator, &now, old};
        struct coupled_at at = {.flow = -2.03e-3 + 1e-4 * (i % 61),
                                .head_from = 0.37 + 3 * (i % 17),
                                .head_to = 0.11 + 2.9 * (i % 13)};
        at.flow = i % 61 == 20 ? 0 : at.flow;
        const bool is_near = i % 5 == 0; /* nearly no head across it, where its curve bends most */
        at.head_to = is_near ? at.head_from - 0.01 * (i % 7) : at.head_to;
        const double plain = law_coupled_at(&asked, &at).value;
        at.impedance = impedances[i % 3];
        const struct coupled_law law = law_coupled_at(&asked, &at);
        cr_assert_eq(signbit(law.value), signbit(plain), "%d: %g, %g", i, law.value, plain);
        cr_assert(law.by_flow >= 0 && law.by_head_from <= 0 && law.by_head_to >= 0);
        cr_assert_lt(law.by_flow, 2.1 * at.impedance);
        if (!is_near) {
            law_asked_fits(&asked, at, 1e-9, 2e-3);
        }
    }
    const double ajar[ELEMENT_STATE_MAX] = {0.5};
    const struct coupled_at answer = {
        .flow = 2e-3, .head_from = 60, .head_to = 35, .impedance = 1e3};
    const struct law_asked asked = {&regulator_element, &regulator, &now, ajar};
    regulator.laminar = 0;
    cr_assert_float_eq(law_coupled_at(&asked, &answer).value, 0, 1e-12); /* as above: 0.4 open */
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
    regulator = with_stroke(-1);
    cr_assert_not(regulator_check(&regulator, law_nowhere, &failure));
}

/* A laminar part is there at any opening: at 2 m/s and Re = v D/nu the loss fully open is
 * 4 + K1/Re 4/19.62 m; of 16 m + that the rest goes with the opening squared (by hand). */
Test(regulator, laminar_part_does_not_hang_on_the_opening)
{
    struct regulator regulator = with_stroke(5);
    double state[ELEMENT_STATE_MAX];
    regulator.laminar = 1e5;
    const double reynolds = 2 * sqrt(4e-3 / 3.14159265358979323846) / 1e-6;
    const double laminar = 1e5 / reynolds * 4 / 19.62;
    regulator_element.coupling->start(&regulator, &law_water, 2e-3, 36 + laminar, 20, state);
    cr_assert_float_eq(state[REGULATOR_STATE_OPENING], 0.5, 1e-12);
    const struct instant now = {.time = 1, .step = 0.1, .setting = 1, .water = &law_water};
    const struct coupled_at at = {.flow = 2e-3, .head_from = 60 + laminar, .head_to = 44};
    regulator.stroke = HUGE_VAL;
    double next[ELEMENT_STATE_MAX];
    cr_assert_float_eq(
        regulator_element.coupling->law_of_step(&regulator, &now, state, &at, next).value, 0,
        1e-12);
}

/* No stroke is so long or so short that the law loses its numbers: what opens by 1e-161 in a step
 * stays as it is, as one that never moves, and what needs 1e-300 s is there at once. */
Test(regulator, strokes_without_end_are_none)
{
    static const double longs[] = {1e40, 1e160, 1e300, 1.7e308};
    static const double shorts[] = {1e-40, 1e-160, 1e-300, 4.9e-324};
    static const double shares[] = {0, 1e-200, 0.3, 1};
    for (int i = 0; i < 4 * 4 * 60; i++) {
        const double share = shares[i % 4];
        const double from = 0.37 + 3 * (i % 17);
        const double to = 0.11 + 2.9 * (i % 13);
        const double velocity = -1 + 0.1 * (i % 31);
        double then;
        double kept;
        const double found = step_value(longs[i / 4 % 4], share, velocity, from, to, &then);
        const double never = step_value(HUGE_VAL, share, velocity, from, to, &kept);
        cr_assert_float_eq(found, never, 1e-9, "%d: %g, not %g", i, found, never);
        cr_assert_float_eq(then, kept, 1e-30);
        const double quick = step_value(shorts[i / 4 % 4], share, velocity, from, to, &then);
        const double at_once = step_value(0, share, velocity, from, to, &kept);
        cr_assert_float_eq(quick, at_once, 1e-9, "%d: %g, not %g", i, quick, at_once);
        cr_assert_float_eq(then, kept, 1e-30);
    }
}

/* With nothing flowing it shuts as far as it can while a head claims it, else opens; a short stroke
 * is one, too; no stroke is at once. A head to be kept before it claims as one behind it does. */
Test(regulator, still_water_moves_it_by_its_claim)
{
    double share;
    (void)step_value(1, 0.5, 0, 20.05, 20.05, &share);
    cr_assert_float_eq(share, 0.4, 1e-12);
    (void)step_value(1, 0.5, 0, 19.95, 19.95, &share);
    cr_assert_float_eq(share, 0.6, 1e-12);
    (void)step_value(1, 0.05, 0, 50, 30, &share);
    cr_assert_eq(share, 0);
    (void)step_value(0.08, 0.2, 0, 10, 10, &share);
    cr_assert_eq(share, 1);
    (void)step_value(0, 0.7, 0, 10, 15, &share);
    cr_assert_eq(share, 1);
    (void)step_value(0, 0.7, 0, 50, 25, &share);
    cr_assert_eq(share, 0);
    struct regulator keeps = before;
    keeps.stroke = 1;
    const struct instant now = {.time = 1, .step = 0.1, .setting = 1, .water = &law_water};
    const double old[ELEMENT_STATE_MAX] = {0.5};
    double next[ELEMENT_STATE_MAX];
    struct coupled_at at = {.flow = 0, .head_from = 28, .head_to = 5};
    (void)regulator_element.coupling->law_of_step(&keeps, &now, old, &at, next);
    cr_assert_float_eq(next[REGULATOR_STATE_OPENING], 0.4, 1e-12);
    at.head_from = 32;
    at.head_to = 31;
    (void)regulator_element.coupling->law_of_step(&keeps, &now, old, &at, next);
    cr_assert_float_eq(next[REGULATOR_STATE_OPENING], 0.6, 1e-12);
}

/* All but shut: at 0.05 to 0.06 open the law is that loss. 2 m/s: 4/0.0025 and 4/0.0036 m. */
Test(regulator, nearly_shut_it_has_the_loss_of_its_reach)
{
    double share;
    cr_assert_float_eq(step_value(10, 0.05, 2, 4 / 0.0036, 0, &share), 0, 1e-9);
    cr_assert_float_eq(share, 0.06, 1e-12);
    cr_assert_float_eq(step_value(10, 0.06, 2, 1650, 50, &share), 0, 1e-9); /* 1600 m */
    cr_assert_float_eq(share, 0.05, 1e-12);
}
