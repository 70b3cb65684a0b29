#include "models/pump_curve.h"
#include "tests/models/law_kit.h"

static const double litre = 1e-3;

static struct pump blank(void)
{
    return (struct pump){.name = "lift", .speed = 2900.0 / 60};
}

/* Textbook parabola: H0 24 m, 16 m at 3 L/s: H = 24 - 8 (Q/3)^2: 22 m at 1.5, 6 m at 4.5 L/s. */
Test(pump_curve, one_duty_point_makes_a_parabola)
{
    struct pump pump = blank();
    struct failure failure;
    const double flow[] = {3 * litre};
    const double head[] = {16};
    cr_assert(pump_curve_estimate(&pump, 24, 1, flow, head, &failure));
    cr_assert(pump_init(&pump, &law_water, &failure), "%s", failure.message);
    cr_assert_float_eq(pump_head(&pump, 0, 1).head, 24, 1e-12);
    cr_assert_float_eq(pump_head(&pump, 1.5 * litre, 1).head, 22, 1e-9);
    cr_assert_float_eq(pump_head(&pump, 3 * litre, 1).head, 16, 1e-9);
    cr_assert_float_eq(pump_head(&pump, 4.5 * litre, 1).head, 6, 1e-9);
    cr_assert_float_eq(pump_head(&pump, 2.1 * litre, 1).head, 24 - 8 * 0.49, 0.03);
}

/* Two points of H = 24 - 2 Q^1.5 (Q in L/s). */
Test(pump_curve, two_duty_points_give_the_power)
{
    struct pump pump = blank();
    struct failure failure;
    const double flow[] = {1 * litre, 4 * litre};
    const double head[] = {22, 8};
    cr_assert(pump_curve_estimate(&pump, 24, 2, flow, head, &failure));
    cr_assert(pump_init(&pump, &law_water, &failure), "%s", failure.message);
    cr_assert_float_eq(pump_head(&pump, 4 * litre, 1).head, 8, 1e-9);
    for (double q = 0.2; q < 5; q += 0.1) {
        cr_assert_float_eq(pump_head(&pump, q * litre, 1).head, 24 - 2 * pow(q, 1.5), 0.05);
    }
}

Test(pump_curve, numbers_that_are_no_curve_are_refused)
{
    struct pump pump = blank();
    struct failure failure;
    const double flow[] = {1 * litre, 4 * litre};
    const double rising[] = {25, 8};
    const double bent[] = {10, 9};
    cr_assert_not(pump_curve_estimate(&pump, 24, 2, flow, rising, &failure));
    cr_assert_not(pump_curve_estimate(&pump, 24, 2, flow, bent, &failure));
    cr_assert_not(pump_curve_estimate(&pump, NAN, 1, flow, bent, &failure));
}

static struct pump rising(struct pump_curve *curve)
{
    static const double head[] = {20, 21.5, 22, 20, 15, 8};
    struct pump pump = blank();
    struct failure failure;
    pump.count = 6;
    for (int i = 0; i < 6; i++) {
        pump.flow[i] = i * litre;
        pump.head[i] = head[i];
    }
    cr_assert(pump_curve_rises(&pump));
    cr_assert(pump_curve_split(&pump, curve, &failure), "%s", failure.message);
    cr_assert(pump_init(&pump, &law_water, &failure), "%s", failure.message);
    return pump;
}

Test(pump_curve, rising_curve_keeps_the_makers_points)
{
    struct pump_curve curve;
    const struct pump pump = rising(&curve);
    static const double head[] = {20, 21.5, 22, 20, 15, 8};
    for (int i = 0; i < 6; i++) {
        cr_assert_float_eq(pump_curve_head(&pump, i * litre, 1).head, head[i], 1e-9);
        cr_assert_float_eq(pump_curve_head(&pump, 0.8 * i * litre, 0.8).head, 0.64 * head[i], 1e-9);
    }
    cr_assert_not(pump_curve_rises(&pump));
}

/* The nearest falling law touches the curve from its top on and lies above it before. */
Test(pump_curve, falling_law_is_the_least_above_the_curve)
{
    struct pump_curve curve;
    const struct pump pump = rising(&curve);
    for (double q = 0; q < 5 * litre; q += 0.01 * litre) {
        const double own = pump_curve_head(&pump, q, 1).head;
        const double least = q < 2 * litre ? 22 : own;
        cr_assert_float_eq(pump_head(&pump, q, 1).head, least, 1e-9);
        if (q > 2 * litre) { /* one law from there on */
            cr_assert_eq(pump_curve_head(&pump, q, 1).slope, pump_head(&pump, q, 1).slope);
        }
        cr_assert(own <= least + 1e-9);
    }
    const struct pump_unit unit = {.pump = &pump, .speed = 1, .is_running = true};
    law_is_monotone(&rising_pump_element, &unit, -2 * litre, 7 * litre);
    law_is_total(&rising_pump_element, &unit);
}

Test(pump_curve, coupled_law_has_both_duty_points)
{
    struct pump_curve curve;
    const struct pump pump = rising(&curve);
    const struct pump_unit unit = {.pump = &pump, .speed = 1, .is_running = true};
    for (int i = 1; i <= 3; i += 2) { /* a tank 21.5 m up is met at 1 L/s, one 20 m at 3 L/s */
        const struct coupled_at at = {.flow = i * litre, .head_to = i == 1 ? 21.5 : 20};
        cr_assert_float_eq(rising_pump_element.coupling->law(&unit, &law_water, &at).value, 0,
                           1e-9);
    }
    for (int i = -40; i < 120; i++) {
        const struct coupled_at at = {.flow = (i + 0.5) * 0.05 * litre, .head_to = 12};
        law_coupled_fits(&rising_pump_element, &unit, at, 1e-9, 1e-3);
    }
    const struct pump_unit still = {.pump = &pump, .speed = 1, .is_running = false};
    const struct coupled_at at = {.flow = 0, .head_from = 3, .head_to = 1};
    cr_assert_float_eq(rising_pump_element.coupling->law(&still, &law_water, &at).value, 2, 1e-9);
}

static const struct instant powered = {.time = 1, .step = 0.01, .setting = 1, .water = &law_water};
static const struct instant failed = {.time = 1, .step = 0.01, .setting = 0, .water = &law_water};

/* A surge run begins with the steady answer on the maker's curve; without power the head goes with
 * the square of the speed at one ratio of flow to speed (affinity laws). */
Test(pump_curve, step_has_the_makers_curve_at_the_speed_it_has_then)
{
    struct pump_curve curve;
    const struct pump pump = rising(&curve);
    const struct pump_unit unit = {.pump = &pump, .speed = 1, .is_running = true};
    const struct coupled_at at = {.flow = litre, .head_to = 21.5};
    double state[ELEMENT_STATE_MAX] = {0};
    double next[ELEMENT_STATE_MAX] = {0};
    rising_pump_element.motion->start(&unit, &law_water, litre, -21.5, state);
    const struct law_asked running = {&rising_pump_element, &unit, &powered, state};
    cr_assert_float_eq(law_coupled_at(&running, &at).value, 0, 1e-9);
    (void)rising_pump_element.coupling->law_of_step(&unit, &failed, state, &at, next);
    const double speed = next[PUMP_STATE_SPEED];
    cr_assert(speed > 0.5 && speed < 0.999);
    const struct law_asked down = {&rising_pump_element, &unit, &failed, state};
    cr_assert_float_eq(law_coupled_at(&down, &at).value + 21.5,
                       pump_curve_head(&pump, litre, speed).head, 1e-9);
}

Test(pump_curve, derivatives_of_a_step_are_those_of_its_law)
{
    struct pump_curve curve;
    const struct pump pump = rising(&curve);
    const struct pump_unit unit = {.pump = &pump, .speed = 1, .is_running = true};
    double state[ELEMENT_STATE_MAX] = {0};
    for (int k = 1; k <= 5; k++) {
        state[PUMP_STATE_SPEED] = 0.2 * k;
        state[PUMP_STATE_TORQUE] = 2.0 * 0.04 * k * k;
        const struct law_asked asked = {&rising_pump_element, &unit, &failed, state};
        for (int i = -40; i < 120; i++) {
            const struct coupled_at at = {.flow = (i + 0.517) * 0.05 * litre, .head_to = 12};
            law_asked_fits(&asked, at, 1e-9, 2e-3);
        }
    }
}

Test(pump_curve, second_hump_is_refused)
{
    struct pump pump = blank();
    struct pump_curve curve;
    struct failure failure;
    pump.count = 4;
    for (int i = 0; i < 4; i++) {
        pump.flow[i] = i * litre;
        pump.head[i] = i % 2 ? 20 : 18;
    }
    cr_assert_not(pump_curve_split(&pump, &curve, &failure));
    pump.head[2] = 21;
    pump.head[3] = 22;
    cr_assert_not(pump_curve_split(&pump, &curve, &failure));
}

/* Limits of the three numbers (models/pump_curve.h): flows above 0 and rising, heads falling and
 * above 0, the power 1 to 8. */
Test(pump_curve, few_numbers_keep_their_limits)
{
    static const struct {
        double shut_off;
        double flow[2];
        double head[2];
        bool is_good;
    } rows[] = {
        {24, {1e-3, 4e-3}, {22, 8}, true},
        {0.05, {1e-3, 4e-3}, {0.04, 0.005}, true},
        {0, {1e-3, 4e-3}, {-1, -2}, false},
        {HUGE_VAL, {1e-3, 4e-3}, {22, 8}, false},
        {24, {0, 4e-3}, {22, 8}, false},
        {24, {1e-3, 1e-3}, {22, 8}, false},
        {24, {1e-3, HUGE_VAL}, {22, 8}, false},
        {24, {1e-3, 4e-3}, {24, 8}, false},
        {24, {1e-3, 4e-3}, {22, 22}, false},
        {24, {1e-3, 4e-3}, {22, 0}, false},
        {24, {1e-3, 2e-3}, {22, 24 - 2 * 2.1}, true},
        {24, {1e-3, 2e-3}, {22, 24 - 2 * 1.9}, false},
        {1000, {1e-3, 2e-3}, {998, 1000 - 2 * 250.0}, true},
        {1000, {1e-3, 2e-3}, {998, 1000 - 2 * 270.0}, false},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct pump pump = blank();
        struct failure failure;
        cr_expect_eq(
            pump_curve_estimate(&pump, rows[i].shut_off, 2, rows[i].flow, rows[i].head, &failure),
            rows[i].is_good, "%zu", i);
    }
}

/* The made curve ends dry or half as far again as its last duty point, whichever is nearer:
 * 24 - 8 (Q/3)^2 is dry at 3 sqrt(3) L/s; with 22 m there it goes to 4.5 L/s. The points given are
 * among its own. */
Test(pump_curve, made_curve_ends_where_it_should)
{
    struct pump pump = blank();
    struct failure failure;
    const double flow[] = {3 * litre, 4 * litre};
    const double head[] = {16, 24 - 8 * 16.0 / 9};
    cr_assert(pump_curve_estimate(&pump, 24, 1, flow, head, &failure));
    cr_assert_float_eq(pump.flow[pump.count - 1], 4.5 * litre, 1e-15);
    cr_assert_float_eq(pump.head[pump.count - 1], 6, 1e-12);
    cr_assert_float_eq(pump.flow[8], 3 * litre, 1e-15);
    cr_assert_eq(pump.head[8], 16);
    cr_assert(pump_curve_estimate(&pump, 24, 2, flow, head, &failure));
    cr_assert_float_eq(pump.flow[pump.count - 1], 3 * sqrt(3.0) * litre, 1e-12);
    cr_assert_float_eq(pump.head[pump.count - 1], 0, 1e-12);
    cr_assert_float_eq(pump.flow[16], 4 * litre, 1e-15);
    cr_assert_eq(pump.head[16], head[1]);
}

/* Affinity at any speed, and a slope of the whole law that is its own; backward the gap at no flow
 * goes on. */
Test(pump_curve, rising_part_keeps_to_affinity_with_its_slope)
{
    struct pump_curve curve;
    const struct pump pump = rising(&curve);
    for (double speed = 0.05; speed < 1.2; speed += 0.05) {
        for (double q = -1; q < 5; q += 0.13) {
            const double flow = q * litre * speed;
            const double step = 1e-9;
            const double chord = (pump_curve_head(&pump, flow + step, speed).head -
                                  pump_curve_head(&pump, flow - step, speed).head) /
                                 (2 * step);
            const struct drop one = pump_curve_head(&pump, q * litre, 1);
            const struct drop head = pump_curve_head(&pump, flow, speed);
            cr_expect_float_eq(head.slope, chord, 1e-3 * fabs(chord) + 0.1, "%g %g", q, speed);
            cr_expect_float_eq(head.head, speed * speed * one.head, 1e-9, "%g %g", q, speed);
            cr_expect_float_eq(head.slope, speed * one.slope, 1e-6 * fabs(one.slope) + 1e-9);
        }
    }
}

/* A step in which it still turns slowly has the maker's curve at that speed. */
Test(pump_curve, step_of_a_slow_pump_is_still_under_its_curve)
{
    struct pump_curve curve;
    const struct pump pump = rising(&curve);
    const struct pump_unit unit = {.pump = &pump, .speed = 1, .is_running = true};
    const double old[ELEMENT_STATE_MAX] = {0.06, 0.01};
    const struct coupled_at at = {.flow = 0.06 * litre};
    double next[ELEMENT_STATE_MAX];
    const double value =
        rising_pump_element.coupling->law_of_step(&unit, &failed, old, &at, next).value;
    cr_assert(next[PUMP_STATE_SPEED] > 0.01 && next[PUMP_STATE_SPEED] < 0.1);
    cr_assert_float_eq(value, pump_curve_head(&pump, at.flow, next[PUMP_STATE_SPEED]).head, 1e-9);
}
