/* Numbers of a non-return valve that only a case states. */
#include "models/circle.h"
#include "models/non_return.h"
#include "models/non_return_hold.h"
#include "models/non_return_motion.h"
#include "models/non_return_state.h"
#include "tests/models/watched_root.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

static const struct water water = {.gravity = 9.81, .density = 1000.0};
static const double opening[] = {0.08, 0.4, 1.0};
static const double loss[] = {300.0, 18.0, 3.0};

static struct non_return flap(void)
{
    return (struct non_return){
        .type = "flap",
        .bore = 0.05,
        .port_area = 0.001,
        .full_open_loss = 3.0,
        .seat_area = 0.002,
        .is_swing = true,
        .inertia = 2e-3,
        .travel = 1.2,
        .arm = 0.03,
        .opening_floor = 0.01,
        .own = {.has_force = true, .preload = 0.01, .rate = 0.02, .weight = 0.2, .seat_angle = 0.1},
    };
}

/* The plain law K_open/s^2 is a straight line in the logarithms: two points of it give it back
 * (exact). */
Test(non_return_own, table_of_the_plain_law_is_the_plain_law)
{
    const double at[] = {0.2, 1.0};
    const double plain[] = {5.0 / 0.04, 5.0};
    const struct non_return_own own = {.loss_count = 2, .loss_opening = at, .loss = plain};
    for (double s = 0.01; s < 1.0; s += 0.03) {
        const struct root_value passing = non_return_own_passing(&own, s);
        cr_expect_float_eq(passing.value, s, 1e-12);
        cr_expect_float_eq(passing.slope, 1.0, 1e-9);
    }
}

Test(non_return_own, table_is_met_at_its_points_and_its_slope_is_its_derivative)
{
    const struct non_return_own own = {.loss_count = 3, .loss_opening = opening, .loss = loss};
    for (int i = 0; i < 3; i++) {
        const double passing = non_return_own_passing(&own, opening[i]).value;
        cr_expect_float_eq(3.0 / (passing * passing), loss[i], 1e-9);
    }
    for (double s = 0.015; s < 1.0; s += 0.03) {
        const double rise = non_return_own_passing(&own, s + 1e-7).value -
                            non_return_own_passing(&own, s - 1e-7).value;
        cr_expect_float_eq(non_return_own_passing(&own, s).slope, rise / 2e-7, 1e-5);
    }
}

/* At rest rho g A arm dH = preload + rate a + weight sin(a + seat angle) with dH = K(s) v^2/2g. */
static void check_balance(const struct non_return *valve)
{
    const double area = circle_area(valve->bore);
    const double full = non_return_full_open_flow(valve, &water);
    double before = 0.0;
    for (double share = 0.02; share < 1.0; share += 0.07) {
        const double v = share * full / area;
        const double head = non_return_drop(valve, &water, share * full).head;
        const double s = non_return_opening(valve, &water, share * full);
        const double passing = non_return_own_passing(&valve->own, s).value;
        const double a = s * valve->travel;
        const double moment = valve->own.preload + valve->own.rate * a +
                              valve->own.weight * sin(a + valve->own.seat_angle);
        cr_expect(s > 0.0 && s < 1.0 && head > before);
        cr_expect_float_eq(head, 3.0 / (passing * passing) * v * v / 19.62, 1e-9 * head);
        cr_expect_float_eq(9810.0 * 0.002 * 0.03 * head, moment, 1e-9);
        before = head;
    }
    cr_expect_float_eq(non_return_opening(valve, &water, 1.001 * full), 1.0, 1e-12);
    /* From there on K alone. */
    const double beyond = 1.01 * full / area;
    cr_expect_float_eq(non_return_drop(valve, &water, 1.01 * full).head,
                       3.0 * beyond * beyond / 19.62, 1e-12);
}

Test(non_return_own, swing_hangs_where_its_moments_balance)
{
    struct non_return valve = flap();
    check_balance(&valve);
    valve.own.loss_count = 3;
    valve.own.loss_opening = opening;
    valve.own.loss = loss;
    check_balance(&valve);
}

/* Newton's method from where an even force would have it: a few steps, be the flow a trace or all
 * but that which opens it fully, be the force weak or strong. */
Test(non_return_own, place_is_found_in_a_few_steps)
{
    struct non_return valve = flap();
    for (int i = 0; i < 4; i++) {
        valve.own.loss_count = i % 2 ? 3 : 0;
        valve.own.loss_opening = opening;
        valve.own.loss = loss;
        valve.own.preload = i / 2 ? 20.0 : 0.01;
        const double full = non_return_full_open_flow(&valve, &water);
        for (double share = 1e-30; share < 1.0; share *= 1.7) {
            (void)non_return_opening(&valve, &water, share * full);
        }
    }
    cr_expect_gt(root_watch.searches, 500);
    cr_expect_leq(root_watch.most, 8);
}

/* Slope of the steady law against differences of it. */
Test(non_return_own, slope_of_the_drop_is_its_derivative)
{
    const struct non_return valve = flap();
    for (double flow = 1e-5; flow < 6e-3; flow *= 1.7) {
        const double d = 1e-6 * flow;
        const double up = non_return_drop(&valve, &water, flow + d).head;
        const double down = non_return_drop(&valve, &water, flow - d).head;
        const double slope = non_return_drop(&valve, &water, flow).slope;
        cr_expect_float_eq((up - down) / (2.0 * d), slope, 1e-4 * slope + 1e-6);
    }
}

/* At no flow it hangs shut; the slope there is that of the first trace of flow. Just below the flow
 * that opens it fully it is not quite open. */
Test(non_return_own, ends_of_the_law_are_met)
{
    struct non_return valve = flap();
    valve.opening_head = (0.01 + 0.2 * sin(0.1)) / (9810.0 * 0.002 * 0.03);
    for (int i = 0; i < 2; i++) {
        const struct drop none = non_return_drop(&valve, &water, 0.0);
        const double d = 1e-9;
        const double first = non_return_drop(&valve, &water, d).head;
        cr_expect_float_eq(none.head, valve.opening_head, 1e-9);
        cr_expect_gt(none.slope, 1.0);
        cr_expect_float_eq((first - none.head) / d, none.slope, 1e-3 * none.slope, "%d", i);
        const double full = non_return_full_open_flow(&valve, &water);
        cr_expect_lt(non_return_opening(&valve, &water, 0.9999 * full), 1.0);
        cr_expect_eq(non_return_opening(&valve, &water, 1.0001 * full), 1.0);
        valve.own.loss_count = 3;
        valve.own.loss_opening = opening;
        valve.own.loss = loss;
    }
}

/* Nothing holds it shut: the first trace of flow meets its floor, a loss without slope at rest. */
Test(non_return_own, part_without_preload_has_no_slope_at_rest)
{
    struct non_return valve = flap();
    valve.own = (struct non_return_own){.has_force = true, .rate = 0.02};
    const struct drop none = non_return_drop(&valve, &water, 0.0);
    cr_expect(none.head == 0.0 && none.slope == 0.0);
    const double area = circle_area(0.05);
    const double trace = 1e-7 * area; /* K/floor^2 v^2/2g */
    cr_expect_float_eq(non_return_drop(&valve, &water, trace).head, 3e4 * 1e-14 / 19.62, 1e-20);
}

/* The moment of a weight is largest with its arm level: past that the steady law stays level. */
Test(non_return_own, steady_drop_never_falls_where_the_weight_passes_its_level_arm)
{
    struct non_return valve = flap();
    valve.own.rate = 0.0;
    valve.own.seat_angle = 1.3;
    cr_expect_float_eq(non_return_own_top(&valve.own, true), 1.5707963267948966 - 1.3, 1e-12);
    double before = 0.0;
    for (double flow = 1e-5; flow < 6e-3; flow *= 1.1) {
        const double head = non_return_drop(&valve, &water, flow).head;
        cr_expect_geq(head, before - 1e-12);
        before = head;
    }
}

Test(non_return_own, makers_curve_is_straight_between_points_from_nothing)
{
    const double deceleration[] = {2.0, 6.0};
    const double velocity[] = {0.1, 0.4};
    const struct non_return_own own = {
        .curve_count = 2, .curve_deceleration = deceleration, .curve_velocity = velocity};
    cr_expect_float_eq(non_return_own_curve(&own, 1.0), 0.05, 1e-12);
    cr_expect_float_eq(non_return_own_curve(&own, 4.0), 0.25, 1e-12);
    cr_expect_float_eq(non_return_own_curve(&own, 8.0), 0.55, 1e-12);
    cr_expect(isnan(non_return_own_curve(&own, NAN)));
    cr_expect(isnan(non_return_own_curve(&(struct non_return_own){0}, 1.0)));
}

Test(non_return_own, numbers_out_of_range_are_refused)
{
    struct failure failure;
    const struct place place = {0};
    struct non_return valve = flap();
    const double falling[] = {3.0, 18.0, 300.0};
    cr_expect(non_return_check(&valve, place, &failure), "%s", failure.message);
    valve.own.weight = -1.0;
    cr_expect(!non_return_check(&valve, place, &failure));
    valve = flap();
    valve.own.loss_count = 3;
    valve.own.loss_opening = opening;
    valve.own.loss = falling;
    cr_expect(!non_return_check(&valve, place, &failure));
    valve = flap();
    valve.own.curve_count = 2;
    valve.own.curve_deceleration = falling + 1;
    valve.own.curve_velocity = loss;
    cr_expect(!non_return_check(&valve, place, &failure));
}

/* --- parts that stick or are late --- */

static const struct instant tenth = {1.0, 0.1, 1.0, &water, NULL};

/* A held part keeps its place, and the loss of it, until forward flow would rather have it further
 * open (models/non_return_hold.c); its loss is never above that of its floor. */
Test(non_return_own, held_part_is_pushed_open_by_more_flow)
{
    struct non_return valve = flap();
    valve.extra_loss = 2.0;
    const double area = circle_area(0.05);
    const double full = non_return_full_open_flow(&valve, &water);
    const double place = non_return_opening(&valve, &water, 0.4 * full);
    const double old[NON_RETURN_STATE_COUNT] = {place};
    for (double share = 0.1; share < 1.0; share += 0.2) {
        const double flow = share * full;
        const double v = flow / area;
        double next[NON_RETURN_STATE_COUNT] = {place};
        const struct drop drop = non_return_hold_drop(&valve, &tenth, old, flow, next);
        const double k = 3.0 / (place * place) + 2.0;
        const struct drop free = non_return_drop(&valve, &water, flow);
        const bool is_pushed = share > 0.4;
        cr_expect_float_eq(drop.head, is_pushed ? free.head : k * v * v / 19.62, 1e-12, "%g",
                           share);
        cr_expect_float_eq(drop.slope, is_pushed ? free.slope : k * v / 9.81 / area, 1e-6);
        cr_expect_float_eq(next[NON_RETURN_STATE_OPENING],
                           is_pushed ? non_return_opening(&valve, &water, flow) : place, 1e-12);
    }
    const double shut[NON_RETURN_STATE_COUNT] = {1e-4};
    double next[NON_RETURN_STATE_COUNT] = {0};
    const double head = non_return_hold_drop(&valve, &tenth, shut, -1e-5, next).head;
    cr_expect_float_eq(head * 19.62 * area * area / 1e-10, -(3.0 / 1e-4 + 2.0), 1e-6);
}

/* Sticks until 0.5 m/s backward and shuts 0.1 s later. Steps of 0.1 s to 1 s; flow goes evenly
 * within them (by hand). */
Test(non_return_own, held_part_shuts_when_it_should)
{
    static const struct {
        double before, after; /* m/s */
        double turned;        /* s, as known before; -1: has not */
        double delay;
        double then;    /* turned after it, -1: not, or shut */
        double shut_at; /* s; 0: does not shut */
        double reverse; /* m/s */
    } rows[] = {
        {0.2, -0.4, -1, 0.1, -1, 0, 0},          {-0.3, -0.7, -1, 0.1, 0.95, 0, 0},
        {-0.3, -0.7, -1, 0.04, -1, 0.99, -0.66}, {-0.3, -0.7, -1, 0, -1, 0.95, -0.5},
        {-0.7, -0.9, 0.85, 0.1, -1, 0.95, -0.8}, {-0.7, -0.6, 0.85, 0.1, -1, 0.95, -0.65},
        {-0.7, -0.6, 0.95, 0.1, 0.95, 0, 0},     {-0.7, -0.4, 0.85, 0.1, -1, 0, 0},
        {-0.6, -0.8, 0.05, 0.9, -1, 0.95, -0.7}, {-0.6, -0.8, -1, 0.1, -1, 1.0, -0.8},
        {-0.6, -0.8, 0.5, 0.1, -1, 0.6, -0.6},   {-0.51, -0.55, 0.95, 0.05, -1, 1.0, -0.55},
    };
    const double area = circle_area(0.05);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct non_return valve = flap();
        double old[NON_RETURN_STATE_COUNT] = {0.5};
        double next[NON_RETURN_STATE_COUNT];
        valve.own.stick_velocity = 0.5;
        valve.own.shut_delay = rows[i].delay;
        old[NON_RETURN_STATE_FLOW] = rows[i].before * area;
        old[NON_RETURN_STATE_TURNED] = rows[i].turned;
        old[NON_RETURN_STATE_LIFTED] = 1.0;
        old[NON_RETURN_STATE_SPEED] = 0.3;
        old[NON_RETURN_STATE_SHUTS] = 2.0;
        old[NON_RETURN_STATE_REVERSE_FLOW] = -0.63 * area;
        memcpy(next, old, sizeof next);
        const bool shuts = non_return_hold_settle(&valve, &tenth, old, rows[i].after * area, next);
        cr_expect_eq(shuts, rows[i].shut_at > 0.0, "%zu", i);
        cr_expect_float_eq(next[NON_RETURN_STATE_TURNED], rows[i].then, 1e-12, "%zu", i);
        if (shuts) {
            cr_expect_float_eq(next[NON_RETURN_STATE_SHUT_TIME], rows[i].shut_at, 1e-12, "%zu", i);
            cr_expect_float_eq(next[NON_RETURN_STATE_LAST_REVERSE] / area, rows[i].reverse, 1e-12,
                               "%zu", i);
            cr_expect_float_eq(next[NON_RETURN_STATE_REVERSE_FLOW] / area,
                               fmin(rows[i].reverse, -0.63), 1e-12);
            cr_expect_eq(next[NON_RETURN_STATE_SHUTS], 3.0);
        }
        cr_expect_eq(next[NON_RETURN_STATE_OPENING], shuts ? 0.0 : 0.5);
        cr_expect_eq(next[NON_RETURN_STATE_SPEED], shuts ? 0.0 : 0.3);
        cr_expect_eq(next[NON_RETURN_STATE_LIFTED], shuts ? 0.0 : 1.0);
    }
}

/* The motion leaves a held part to that law as long as it is off its seat, however little; shut, it
 * is tight, or has its leak by the steady law. */
Test(non_return_own, held_part_moves_by_its_own_law_until_it_is_shut)
{
    static const double places[] = {0.9, 0.05, 0.0};
    for (int i = 0; i < 6; i++) {
        struct non_return valve = flap();
        const double place = places[i % 3];
        const double flow = (i % 3 == 2 && i < 3 ? 0.0 : -0.2) * circle_area(0.05);
        const double old[NON_RETURN_STATE_COUNT] = {place};
        double next[NON_RETURN_STATE_COUNT];
        double same[NON_RETURN_STATE_COUNT] = {place};
        valve.own.stick_velocity = 0.5;
        valve.leak_area = i / 3 * 1e-5;
        const struct span span = non_return_motion.span(&valve, &tenth, old);
        const bool is_tight = place <= 0.0 && i < 3;
        cr_expect_eq(span.lower, is_tight ? 0.0 : -(double)INFINITY, "%d", i);
        cr_expect_eq(span.upper, is_tight ? 0.0 : (double)INFINITY, "%d", i);
        const struct drop drop = non_return_motion.drop(&valve, &tenth, old, flow, next);
        const struct drop law = place > 0.0 ? non_return_hold_drop(&valve, &tenth, old, flow, same)
                                            : non_return_drop(&valve, &water, flow);
        cr_expect(is_tight || (drop.head == law.head && drop.slope == law.slope), "%d", i);
        cr_expect_eq(next[NON_RETURN_STATE_OPENING], place, "%d", i);
        cr_expect_not(non_return_motion.settle(&valve, &tenth, old, flow, drop.head, next));
    }
}
