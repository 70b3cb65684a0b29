#include "models/throttling.h"
#include "tests/models/law_kit.h"

static struct throttling make(const char *kind, double opening)
{
    const struct throttling_kind *found = throttling_catalogue_find(kind, NULL);
    cr_assert(found);
    return (struct throttling){.curve = &found->curve,
                               .area = 2e-3,
                               .open_loss = found->open_loss,
                               .laminar = found->laminar,
                               .opening = opening};
}

static double loss_at(const char *kind, double opening)
{
    const struct throttling valve = make(kind, opening);
    return throttling_loss(&valve, opening);
}

/* Munson, Young & Okiishi, Table 8.2 (from memory): gate open 0.15; 1/4, 1/2, 3/4 closed 0.26,
 * 2.1, 17. Two digits are printed. */
Test(throttling, gate_is_the_handbooks)
{
    cr_assert_float_eq(loss_at("gate", 1), 0.15, 1e-12);
    cr_assert_float_eq(loss_at("gate", 0.75), 0.26, 0.005);
    cr_assert_float_eq(loss_at("gate", 0.5), 2.1, 0.05);
    cr_assert_float_eq(loss_at("gate", 0.25), 17, 0.5);
}

/* Munson, Young & Okiishi, Table 8.2 (from memory): ball open 0.05; 1/3 and 2/3 closed 5.5 and
 * 210. */
Test(throttling, ball_is_the_handbooks)
{
    cr_assert_float_eq(loss_at("ball", 1), 0.05, 1e-12);
    cr_assert_float_eq(loss_at("ball", 2.0 / 3), 5.5, 0.05);
    cr_assert_float_eq(loss_at("ball", 1.0 / 3), 210, 5);
}

/* Crane TP-410: butterfly, centric, 2 in: N f_T = 45 x 0.019 = 0.855 (N read, f_T from memory);
 * Weisbach 1855 (from memory): disc turned 40 deg 10.8, to which the body adds 0.655. */
Test(throttling, butterfly_joins_its_two_sources)
{
    cr_assert_float_eq(loss_at("butterfly", 1), 45 * 0.019, 1e-12);
    cr_assert_float_eq(loss_at("butterfly", 50.0 / 90), 10.8 + 0.855 - 0.20, 1e-9);
}

/* IEC 60534-2-4 (from memory): linear: capacity share = opening; equal percentage, turn-down 50:
 * 50^(opening - 1). Capacity is 1/sqrt(K). */
Test(throttling, inherent_characteristics_are_the_standards)
{
    const double open = loss_at("globe", 1);
    cr_assert_float_eq(open, 10, 1e-12);
    for (double s = 0.125; s < 1; s += 0.0625) {
        cr_assert_float_eq(sqrt(open / loss_at("globe", s)), s, 1e-12);
        cr_assert_float_eq(sqrt(10 / loss_at("equal percentage", s)), pow(50, s - 1), 1e-12);
    }
}

Test(throttling, loss_never_rises_with_opening_in_any_curve)
{
    for (int i = 0; i < throttling_catalogue_count(); i++) {
        const struct throttling_kind *kind = throttling_catalogue_at(i);
        struct failure failure;
        const struct throttling valve = make(kind->curve.name, 0.5);
        cr_assert(throttling_check(&valve, law_nowhere, &failure), "%s", failure.message);
        double before = HUGE_VAL;
        for (double s = 0; s <= 1; s += 1.0 / 4096) {
            const double loss = throttling_loss(&valve, s);
            cr_assert(loss > 0 && loss <= before && isfinite(loss), "%s %g", kind->curve.name, s);
            before = loss;
        }
        cr_assert_float_eq(before, kind->open_loss, 1e-12);
    }
}

Test(throttling, law_is_monotone_total_and_has_its_slope)
{
    for (double s = 0; s <= 1; s += 0.25) {
        const struct throttling valve = make("ball", s);
        law_is_monotone(&throttling_element, &valve, -0.01, 0.01);
        law_slope_fits(&throttling_element, &valve, -0.01, 0.01);
        law_is_total(&throttling_element, &valve);
    }
}

Test(throttling, shut_valve_lets_nothing_pass)
{
    const struct throttling valve = make("gate", 0);
    const struct span span = throttling_element.span(&valve, &law_water);
    cr_assert(span.lower == 0 && span.upper == 0);
    cr_assert_eq(throttling_element.opening(&valve, &law_water, 0), 0);
    /* Below a millionth, as throttling.h promises. */
    cr_assert_eq(throttling_span(0.999e-6).upper, 0);
    cr_assert(isinf(throttling_span(1.001e-6).upper));
}

/* The plan of events closes it: the setting rules, not the opening it began with. */
Test(throttling, setting_moves_it)
{
    const struct throttling valve = make("globe", 1);
    const struct throttling half = make("globe", 0.5);
    const struct motion *motion = throttling_element.motion;
    double state[ELEMENT_STATE_MAX] = {0};
    struct instant now = {.time = 1, .step = 0.1, .setting = 0.5, .water = &law_water};
    cr_assert_eq(motion->setting(&valve), 1);
    motion->start(&valve, &law_water, 0.004, 1, state);
    cr_assert_eq(state[THROTTLING_STATE_OPENING], 1);
    const struct drop drop = motion->drop(&valve, &now, state, 0.004, state);
    cr_assert_eq(drop.head, throttling_element.drop(&half, &law_water, 0.004).head);
    cr_assert_eq(state[THROTTLING_STATE_OPENING], 0.5);
    now.setting = 0;
    cr_assert_eq(motion->span(&valve, &now, state).upper, 0);
}

Test(throttling, bad_points_are_refused)
{
    struct throttling_curve curve = {
        .name = "own", .count = 2, .opening = {0.5, 1}, .loss = {4, 1}, .source = "test"};
    struct failure failure;
    cr_assert(throttling_curve_check(&curve, law_nowhere, &failure));
    curve.loss[1] = 5;
    cr_assert_not(throttling_curve_check(&curve, law_nowhere, &failure));
    curve.loss[1] = NAN;
    cr_assert_not(throttling_curve_check(&curve, law_nowhere, &failure));
    curve.loss[1] = 1;
    curve.opening[1] = 0.9;
    cr_assert_not(throttling_curve_check(&curve, law_nowhere, &failure));
    curve.opening[1] = 0.5;
    cr_assert_not(throttling_curve_check(&curve, law_nowhere, &failure));
}

/* A bore has a size: more than nothing, and less than infinite. */
Test(throttling, no_valve_without_a_bore)
{
    struct failure failure;
    struct throttling valve = make("gate", 0.5);
    cr_assert(throttling_check(&valve, law_nowhere, &failure));
    const double areas[] = {0.0, -1e-3, INFINITY, NAN};
    for (int i = 0; i < 4; i++) {
        valve.area = areas[i];
        cr_assert_not(throttling_check(&valve, law_nowhere, &failure), "%g m2", areas[i]);
    }
}

Test(throttling, unknown_kind_gets_the_nearest_name)
{
    const char *nearest = NULL;
    cr_assert_null(throttling_catalogue_find("gat", &nearest));
    cr_assert_str_eq(nearest, "gate");
}

/* Own curves point by point: geometric between points (by hand), by the square below the first one;
 * one point alone is a loss fully open; beyond fully open nothing changes. The full-open K of the
 * valve replaces the curve's: added to a curve of K, as a factor on one of shares. */
Test(throttling, own_curve_by_hand)
{
    const struct throttling_curve three = {.name = "own",
                                           .count = 3,
                                           .opening = {0.2, 0.6, 1},
                                           .loss = {400, 25, 4},
                                           .source = "test"};
    struct throttling_curve one = {.name = "own", .count = 1, .opening = {1}, .loss = {4}};
    struct throttling valve = {.curve = &three, .area = 1e-3, .open_loss = 6};
    cr_assert_float_eq(throttling_loss(&valve, 0.1), 1600 + 2, 1e-9);
    cr_assert_float_eq(throttling_loss(&valve, 0.2), 400 + 2, 1e-9);
    cr_assert_float_eq(throttling_loss(&valve, 0.4), 100 + 2, 1e-9);
    cr_assert_float_eq(throttling_loss(&valve, 0.6), 25 + 2, 1e-9);
    cr_assert_float_eq(throttling_loss(&valve, 0.8), 10 + 2, 1e-9);
    cr_assert_float_eq(throttling_loss(&valve, 1.05), 6, 1e-12);
    valve.curve = &one;
    cr_assert_float_eq(throttling_loss(&valve, 0.5), 16 + 2, 1e-9);
    cr_assert_float_eq(throttling_loss(&valve, 1.02), 6, 1e-12);
    one.is_relative = true;
    cr_assert_float_eq(throttling_loss(&valve, 0.5), 4 * 6, 1e-9);
    cr_assert_float_eq(throttling_loss(&valve, 1), 6, 1e-12);
}

/* Openings above 0, rising to 1; losses above 0, not rising (models/throttling.h). */
Test(throttling, points_keep_their_limits)
{
    static const struct {
        double opening[2];
        double loss[2];
        bool is_good;
    } rows[] = {
        {{0.5, 1}, {4, 1}, true},   {{0.01, 1}, {4, 4}, true},   {{0, 1}, {4, 1}, false},
        {{-0.5, 1}, {4, 1}, false}, {{1, 1}, {4, 1}, false},     {{0.5, 1.0000001}, {4, 1}, false},
        {{0.5, 1}, {4, 0}, false},  {{0.5, 1}, {4, 1e-9}, true}, {{0.5, 1}, {HUGE_VAL, 1}, false},
        {{0.5, 1}, {4, -1}, false}, {{0.5, 1}, {NAN, 1}, false}, {{NAN, 1}, {4, 1}, false}};
    struct failure failure;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const struct throttling_curve curve = {.name = "own",
                                               .count = 2,
                                               .opening = {rows[i].opening[0], rows[i].opening[1]},
                                               .loss = {rows[i].loss[0], rows[i].loss[1]}};
        cr_expect_eq(throttling_curve_check(&curve, law_nowhere, &failure), rows[i].is_good, "%zu",
                     i);
    }
}
