/* Numbers of a non-return valve that only a case states. */
#include "models/circle.h"
#include "models/non_return.h"

#include <criterion/criterion.h>
#include <math.h>

static const struct water water = {.gravity = 9.81, .density = 1000.0};
static const double opening[] = {0.1, 0.4, 1.0};
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
