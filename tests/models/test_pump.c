#include "models/pump.h"
#include "tests/models/demonstration_pumps.h"
#include "tests/models/limit_kit.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

/* Affinity laws (any textbook on centrifugal pumps): Q ~ n, H ~ n^2, P ~ n^3. */
Test(pump, head_and_power_follow_the_affinity_laws)
{
    const struct pump pump = demonstration_pump(3, true);
    const double ratio = 1750.0 / 1450.0;
    for (int i = 0; i < 16; i++) {
        const double flow = pump.flow[i];
        const double head = pump_head(&pump, flow, 1.0).head;
        cr_assert_float_eq(pump_head(&pump, flow * ratio, ratio).head / head,
                           pump_head(&pump, flow, 1.0).head / head * 1.456599287, 1e-8);
        cr_assert_float_eq(pump_power(&pump, flow * ratio, ratio) / pump_power(&pump, flow, 1.0),
                           1.757964656, 1e-8);
    }
}

Test(pump, curve_goes_through_every_point)
{
    for (int k = 0; k < DEMONSTRATION_COUNT; k++) {
        const struct pump pump = demonstration_pump(k, true);
        for (int i = 0; i < pump.count; i++) {
            cr_assert_float_eq(pump_head(&pump, pump.flow[i], 1.0).head, pump.head[i], 1e-12);
            cr_assert_float_eq(pump_power(&pump, pump.flow[i], 1.0), pump.power[i], 1e-9);
            cr_assert_float_eq(pump_npsh(&pump, pump.flow[i], 1.0), pump.npsh[i], 1e-12);
        }
    }
}

/* The points lie on a parabola: between them the curve may differ by a thousandth of shut-off. */
Test(pump, curve_stays_near_the_parabola_its_points_lie_on)
{
    for (int k = 0; k < DEMONSTRATION_COUNT; k++) {
        const struct demonstration *from = &demonstrations[k];
        const struct pump pump = demonstration_pump(k, false);
        for (double q = 0.0; q <= demonstration_range(from); q += 0.01) {
            const double exact = from->shut_off - (from->shut_off - from->best_head) * q * q;
            const double flow = q * from->best_flow / 3600.0;
            cr_assert_float_eq(pump_head(&pump, flow, 1.0).head, exact, 1e-3 * from->shut_off);
        }
    }
}

/* Constructed curves: efficiency is best at Q_b by their own formula. */
Test(pump, best_point_power_and_specific_speed_of_the_demonstration_curves)
{
    for (int k = 0; k < DEMONSTRATION_COUNT; k++) {
        const struct demonstration *from = &demonstrations[k];
        const struct pump pump = demonstration_pump(k, true);
        cr_assert_float_eq(pump.best_flow * 3600.0, from->best_flow, 0.01 * from->best_flow);
        cr_assert_float_eq(pump.best_head, from->best_head, 0.01 * from->best_head);
        cr_assert_float_eq(pump_specific_speed(&pump), from->speed_number,
                           0.01 * from->speed_number);
        const double power = pump_power(&pump, pump.best_flow, 1.0);
        cr_assert_float_eq(1e-3 * power, from->power, 0.01 * from->power);
        cr_assert_float_eq(1e-3 * pump_power(&pump, 0.0, 1.0), from->shut_power, 6e-4);
        const double turns = 2.0 * 3.14159265358979 * pump.speed;
        cr_assert_float_eq(pump_torque(&pump, pump.best_flow, 1.0) * turns, power, 1e-6 * power);
    }
}

Test(pump, guessed_best_point_is_within_a_quarter)
{
    for (int k = 0; k < DEMONSTRATION_COUNT; k++) {
        const struct pump pump = demonstration_pump(k, false);
        cr_assert_float_eq(pump.best_flow * 3600.0 / demonstrations[k].best_flow, 1.0, 0.25);
        cr_assert(isnan(pump_power(&pump, pump.best_flow, 1.0)));
        cr_assert(pump_torque(&pump, pump.best_flow, 1.0) > 0.0);
    }
}

static void check_monotone(const struct pump *pump, double speed)
{
    double before = INFINITY;
    for (int i = -4000; i <= 4000; i++) {
        /* Dense near zero, and out to fifty best flows. */
        const double share = i / 1000.0;
        const double flow = pump->best_flow * share * (1.0 + 0.72 * share * share);
        const struct drop head = pump_head(pump, flow, speed);
        cr_assert(isfinite(head.head) && isfinite(head.slope));
        cr_assert(head.slope <= 0.0, "slope %g at flow %g, speed %g", head.slope, flow, speed);
        cr_assert(head.head <= before);
        before = head.head;
    }
}

Test(pump, head_never_rises_with_flow_at_any_forward_speed)
{
    const double speeds[] = {0.0, 1e-6, 0.01, 0.3, 0.5, 0.8, 1.0, 1.2};
    for (int k = 0; k < DEMONSTRATION_COUNT; k++) {
        for (int has_power = 0; has_power < 2; has_power++) {
            const struct pump pump = demonstration_pump(k, has_power != 0);
            for (int i = 0; i < 8; i++) {
                check_monotone(&pump, speeds[i]);
            }
        }
    }
}

/* A flat curve with a sudden fall, and two points only: the joins have to bend most there. */
Test(pump, head_never_rises_for_awkward_curves)
{
    struct pump flat = {.name = "flat", .speed = 48.0, .count = 4};
    memcpy(flat.flow, (double[]){0.0, 1e-3, 2e-3, 2.1e-3}, 4 * sizeof(double));
    memcpy(flat.head, (double[]){12.0, 12.0, 12.0, 1.0}, 4 * sizeof(double));
    struct pump line = {.name = "line", .speed = 24.0, .count = 2};
    memcpy(line.flow, (double[]){0.0, 0.05}, 2 * sizeof(double));
    memcpy(line.head, (double[]){4.0, 0.0}, 2 * sizeof(double));
    struct failure failure;
    cr_assert(pump_init(&flat, &demonstration_water, &failure), "%s", failure.message);
    cr_assert(pump_init(&line, &demonstration_water, &failure), "%s", failure.message);
    for (double speed = 0.0; speed <= 1.2; speed += 0.1) {
        check_monotone(&flat, speed);
        check_monotone(&line, speed);
    }
}

Test(pump, head_and_torque_are_continuous_in_flow_and_speed)
{
    const double d = 1e-9;
    for (int k = 0; k < DEMONSTRATION_COUNT; k++) {
        const struct pump pump = demonstration_pump(k, true);
        for (double turn = 0.0; turn < 6.2832; turn += 0.01) {
            const double speed = cos(turn);
            const double flow = 1.3 * pump.best_flow * sin(turn);
            const double step = d * pump.best_flow;
            const double head = pump_head(&pump, flow, speed).head;
            const double torque = pump_torque(&pump, flow, speed);
            cr_assert_float_eq(pump_head(&pump, flow + step, speed + d).head, head,
                               100.0 * d * pump.best_head);
            cr_assert_float_eq(pump_torque(&pump, flow + step, speed + d), torque,
                               100.0 * d * pump.best_torque);
        }
    }
}

Test(pump, no_jump_where_the_tables_meet_the_curve)
{
    for (int k = 0; k < DEMONSTRATION_COUNT; k++) {
        const struct pump pump = demonstration_pump(k, true);
        const double last = pump.flow[pump.count - 1];
        const double places[][2] = {{0.0, 1.0},        {0.0, 0.4},  {last, 1.0},
                                    {0.4 * last, 0.4}, {1e-3, 0.0}, {-1e-3, 0.0}};
        for (int i = 0; i < 6; i++) {
            const double flow = places[i][0];
            const double speed = places[i][1];
            for (int side = 0; side < 4; side++) {
                const double q = flow + (side & 1 ? 1e-12 : -1e-12);
                const double n = speed + (side & 2 ? 1e-9 : -1e-9);
                cr_assert_float_eq(pump_head(&pump, q, n).head, pump_head(&pump, flow, speed).head,
                                   1e-6 * pump.best_head);
                cr_assert_float_eq(pump_torque(&pump, q, n), pump_torque(&pump, flow, speed),
                                   1e-6 * pump.best_torque);
            }
        }
    }
}

Test(pump, surface_derivatives_agree_with_differences)
{
    const struct pump pump = demonstration_pump(4, true);
    for (int i = 0; i < 50; i++) {
        const double turn = 0.1234 + 0.1257 * i;
        const double speed = cos(turn);
        const double flow = 1.7 * pump.best_flow * sin(turn);
        const double dq = 1e-7 * pump.best_flow;
        const double dn = 1e-7;
        const struct quadrant_value h = pump_head_surface(&pump, flow, speed);
        const struct quadrant_value t = pump_torque_surface(&pump, flow, speed);
        const double h_flow =
            pump_head(&pump, flow + dq, speed).head - pump_head(&pump, flow - dq, speed).head;
        const double h_speed =
            pump_head(&pump, flow, speed + dn).head - pump_head(&pump, flow, speed - dn).head;
        const double t_speed =
            pump_torque(&pump, flow, speed + dn) - pump_torque(&pump, flow, speed - dn);
        cr_assert_float_eq(h.by_flow * 2.0 * dq, h_flow, 1e-11 * pump.best_head);
        cr_assert_float_eq(h.by_speed * 2.0 * dn, h_speed, 1e-11 * pump.best_head);
        cr_assert_float_eq(t.by_speed * 2.0 * dn, t_speed, 1e-11 * pump.best_torque);
    }
}

/* Thorley, Fluid Transients in Pipeline Systems, 1991 (first formula read in an article, motor from
 * memory); totals computed. */
Test(pump, inertia_estimate_of_pump_and_motor)
{
    cr_assert_float_eq(pump_inertia_estimate(1500.0, 2900.0 / 60.0), 0.00424, 1e-5);
    cr_assert_float_eq(pump_inertia_estimate(7500.0, 2900.0 / 60.0), 0.0297, 1e-4);
    cr_assert_float_eq(pump_inertia_estimate(30e3, 1480.0 / 60.0), 0.684, 2e-3);
    /* 0.5 %: the rule written in rpm or in thousands of rpm differs by that. */
    cr_assert_float_eq(pump_inertia_estimate(110e3, 1480.0 / 60.0), 3.611, 2e-2);
    const struct pump pump = demonstration_pump(3, true);
    cr_assert(pump.inertia_is_estimated);
    cr_assert(pump.inertia > 0.0);
}

Test(pump, faulty_points_are_refused_with_the_reason)
{
    const struct pump good = demonstration_pump(3, true);
    struct failure failure = {0};
    struct pump bad = good;
    bad.flow[3] = bad.flow[2];
    cr_assert_not(pump_init(&bad, &demonstration_water, &failure));
    cr_assert(strstr(failure.message, "flow points must rise") != NULL);
    bad = good;
    bad.head[5] = bad.head[4] + 0.1;
    cr_assert_not(pump_init(&bad, &demonstration_water, &failure));
    cr_assert(strstr(failure.message, "may not rise") != NULL);
    bad = good;
    bad.flow[0] = 1e-4;
    cr_assert_not(pump_init(&bad, &demonstration_water, &failure));
    bad = good;
    bad.speed = 0.0;
    cr_assert_not(pump_init(&bad, &demonstration_water, &failure));
    bad = good;
    bad.power[2] = (double)NAN;
    cr_assert_not(pump_init(&bad, &demonstration_water, &failure));
}

/* A rated point and a table (from memory: Wylie & Streeter 1993): in every quadrant within 1 % of
 * rated head and torque of the table itself; entries are met exactly in normal running. */
Test(pump, rated_point_and_table_give_the_table)
{
    for (int k = 0; k < four_quadrant_count(); k++) {
        const struct four_quadrant *table = four_quadrant_at(k);
        struct pump pump = {.name = "rated", .speed = 25.0};
        struct failure failure;
        pump_rated(&pump, table, 0.1, 40.0, 50e3);
        cr_assert(pump_init(&pump, &demonstration_water, &failure), "%s", failure.message);
        cr_assert_float_eq(pump.quadrants.specific_speed, table->specific_speed, 0.0);
        cr_assert_float_eq(pump_head(&pump, 0.1, 1.0).head, 40.0, 1e-9);
        for (double turn = 0.0; turn < 6.28; turn += 0.01) {
            const double a = cos(turn);
            const double v = sin(turn);
            cr_assert_float_eq(pump_head(&pump, 0.1 * v, a).head / 40.0,
                               four_quadrant_head(table, a, v, NULL), 0.01);
            cr_assert_float_eq(pump_torque(&pump, 0.1 * v, a) / pump.best_torque,
                               four_quadrant_torque(table, a, v, NULL), 0.01);
        }
        check_monotone(&pump, 1.0);
        check_monotone(&pump, 0.3);
    }
}

/* H0 - a Q^2 to 1.3 times the flow with most flow x head, which is sqrt(H0/(3 a)). */
static struct pump unpowered(double best_flow)
{
    struct pump pump = {.name = "no power", .speed = 48.0, .count = 27};
    for (int i = 0; i < pump.count; i++) {
        pump.flow[i] = 0.05 * i * best_flow;
        pump.head[i] = 30.0 * (1.0 - pow(0.05 * i, 2) / 3.0);
    }
    struct failure failure;
    cr_assert(pump_init(&pump, &demonstration_water, &failure), "%s", failure.message);
    return pump;
}

/* EU 547/2012, formula for close-coupled end-suction pumps (constants from memory), as a line
 * through 51 % at 6, 55 % at 10 and 65 % at 40 m3/h; kept within 20 and 80 %. */
Test(pump, torque_without_a_power_row_is_that_of_the_guessed_efficiency)
{
    static const double rows[][2] = {{6, 0.51},       {10, 0.51 + 0.17 * 0.2218487},
                                     {40, 0.6500575}, {0.1, 0.2077},
                                     {0.01, 0.2},     {400, 0.8},
                                     {200, 0.7689}};
    for (int i = 0; i < 7; i++) {
        const struct pump pump = unpowered(rows[i][0] / 3600.0);
        const double hydraulic = 998.2 * 9.80665 * pump.best_flow * pump.best_head;
        const double shaft = pump.best_torque * 2.0 * 3.14159265358979 * pump.speed;
        cr_expect_float_eq(pump.best_flow * 3600.0 / rows[i][0], 1, 1e-3);
        cr_expect_float_eq(hydraulic / shaft, rows[i][1], 2e-4, "%g: %g", rows[i][0],
                           hydraulic / shaft);
        cr_expect(pump.inertia_is_estimated);
        cr_expect_float_eq(pump.inertia, pump_inertia_estimate(shaft, 48.0), 1e-12 * pump.inertia);
    }
}

static double merit_of(const struct pump *pump, double flow)
{
    const double gain = flow * pump_head(pump, flow, 1.0).head;
    return pump->power_count > 0 ? gain / pump_power(pump, flow, 1.0) : gain;
}

/* Nothing on the curve is better than the best point (definition), not even a hair beside it; a
 * curve that ends before its best flow is best at its end. */
Test(pump, best_point_is_the_best)
{
    for (int k = 0; k < 2 * DEMONSTRATION_COUNT; k++) {
        const struct pump pump = demonstration_pump(k / 2, k % 2 == 1);
        const double best = merit_of(&pump, pump.best_flow) * (1.0 + 1e-14);
        for (double q = 0.01; q < demonstration_range(&demonstrations[k / 2]); q += 0.01) {
            const double flow = q * demonstrations[k / 2].best_flow / 3600.0;
            cr_expect(merit_of(&pump, flow) <= best, "%d: %g", k, q);
        }
        cr_expect(merit_of(&pump, pump.best_flow * (1.0 + 3e-7)) <= best);
        cr_expect(merit_of(&pump, pump.best_flow * (1.0 - 3e-7)) <= best);
    }
    struct pump steep = unpowered(1e-2);
    struct failure failure;
    steep.count = 15; /* to 0.7 of its best flow */
    cr_assert(pump_init(&steep, &demonstration_water, &failure));
    cr_expect_float_eq(steep.best_flow / 7e-3, 1.0, 1e-9);
}

/* Between its points too: 2 (0.6 + 0.4 q^2), and with the square of speed at one ratio to it. */
Test(pump, suction_need_follows_its_row_and_affinity)
{
    const struct pump pump = demonstration_pump(3, true);
    for (double q = 0.02; q < 1.4; q += 0.03) {
        const double flow = q * demonstrations[3].best_flow / 3600.0;
        const double one = pump_npsh(&pump, flow, 1.0);
        cr_expect_float_eq(one, 2.0 * (0.6 + 0.4 * q * q), 2e-3, "%g", q);
        cr_expect_float_eq(pump_npsh(&pump, 0.7 * flow, 0.7), 0.49 * one, 1e-9);
    }
}

static bool accepts(const void *data)
{
    struct failure failure;
    struct pump pump = *(const struct pump *)data;
    return pump_init(&pump, &demonstration_water, &failure);
}

/* Each number at and beside its limits (models/pump.h). */
Test(pump, numbers_keep_their_limits)
{
    static const struct limit limits[] = {
        {offsetof(struct pump, speed), 0, HUGE_VAL, LIMIT_OPEN},
        {offsetof(struct pump, inertia), 0, HUGE_VAL, LIMIT_LEAST_IN},
        {offsetof(struct pump, motor_efficiency), 0, 1, LIMIT_BOTH_IN},
        {offsetof(struct pump, head) + 2 * sizeof(double), 2, 4, LIMIT_BOTH_IN},
        {offsetof(struct pump, flow) + 2 * sizeof(double), 0.2, 0.4, LIMIT_OPEN},
        {offsetof(struct pump, power) + sizeof(double), 0, HUGE_VAL, LIMIT_OPEN},
        {offsetof(struct pump, npsh) + sizeof(double), 0, HUGE_VAL, LIMIT_LEAST_IN},
    };
    struct pump pump = {.name = "small",
                        .speed = 48.0,
                        .count = 4,
                        .flow = {0, 0.2, 0.3, 0.4},
                        .head = {5, 4, 3, 2},
                        .power_count = 4,
                        .power = {10, 11, 12, 13},
                        .npsh_count = 4,
                        .npsh = {1, 1, 1, 1},
                        .motor_efficiency = 0.9,
                        .inertia = 0.05};
    limits_hold(accepts, &pump, sizeof pump, limits, sizeof limits / sizeof limits[0]);
    struct failure failure;
    cr_assert(pump_init(&pump, &demonstration_water, &failure));
    cr_expect(!pump.inertia_is_estimated && fabs(pump.inertia - 0.05) <= 0.0);
    pump.flow[0] = -0.01;
    cr_expect_not(accepts(&pump));
    pump.flow[0] = 0;
    for (int i = 0; i < 4; i++) {
        pump.head[i] = 0.02 * (4 - i);
    }
    cr_expect(accepts(&pump)); /* a head of centimetres is one */
    pump.head[0] = HUGE_VAL;
    cr_expect_not(accepts(&pump));
}

/* As it is measured: absolute static pressure at the inlet's flange, its velocity head and its
 * height over the axis, less the vapour head. 20 L/s through 0.1 m come from a level at 2 m, of
 * whose head the entry takes half a velocity head; the flange is 0.4 m over the axis at 3 m. */
Test(pump, npsh_available_holds_the_velocity_head_once)
{
    const double g = 9.80665;
    const struct water water = {
        .gravity = g, .density = 998.2, .vapour_pressure = 2339, .air_pressure = 101325};
    const double v = 0.02 / (0.25 * 3.14159265358979 * 0.01);
    const double kinetic = v * v / (2 * g);
    const double network_head = 2.0 - 0.5 * kinetic;
    const double flange = 998.2 * g * (2.0 - 3.4 - (0.5 + 1.0) * kinetic);
    const double wanted = (101325 + flange - 2339) / (998.2 * g) + kinetic + 0.4;
    cr_expect_float_eq(pump_npsh_available(&water, network_head, 3.0), wanted, 1e-9);
    cr_expect_float_eq(wanted, 8.9467, 1e-4);
}
