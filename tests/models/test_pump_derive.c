/* What pump_init derives from a maker's points: the best point, and how the tables of
 * four_quadrant.h join the curve at both ends. */
#include "models/pump.h"
#include "tests/models/demonstration_pumps.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

/* The steepest rise of a table's head with flow at rated speed, between two angles: 400 places a
 * piece of atan(v), each beside its difference quotient. */
static double steepest(const struct four_quadrant *table, double from, double to)
{
    double most = -HUGE_VAL;
    for (int i = 1; i < 8800; i++) {
        const double angle = from + (to - from) * i / 8800.0;
        const double step = 1e-7 * (to - from);
        const double rise = four_quadrant_head(table, 1.0, tan(angle + step), NULL) -
                            four_quadrant_head(table, 1.0, tan(angle - step), NULL);
        most = fmax(most, rise / (tan(angle + step) - tan(angle - step)));
    }
    return most;
}

/* Falls to a second shelf, on which it ends. */
static struct pump shelves(double last)
{
    struct pump pump = {.name = "shelves", .speed = 48.0, .count = 4};
    memcpy(pump.flow, (double[]){0.0, 1.0, 1.2, last}, 4 * sizeof(double));
    memcpy(pump.head, (double[]){10.0, 10.0, 4.0, 4.0}, 4 * sizeof(double));
    return pump;
}

/* Curves that end here and there, steep or level, and the tables as they are. */
static struct pump derived(int k, bool *is_own)
{
    enum { CUTS = 6, SHELVES = 8 };
    struct pump pump = {.name = "rated", .speed = 25.0};
    struct failure failure;
    *is_own = k >= four_quadrant_count();
    if (!*is_own) {
        pump_rated(&pump, four_quadrant_at(k), 0.1, 40.0, 50e3);
    } else if (k < four_quadrant_count() + SHELVES) {
        pump = shelves(1.4 + 0.13 * k);
    } else {
        pump = demonstration_pump(k % DEMONSTRATION_COUNT, false);
        pump.count -= k % CUTS;
        pump.npsh_count = 0;
    }
    cr_assert(pump_init(&pump, &demonstration_water, &failure), "%s", failure.message);
    return pump;
}

/* What is pulled is the least with which no head rises with flow (models/pump.h), within 0.002 of
 * rated head a rated flow; beyond the last point more, where the maker's curve is steeper, and
 * never less than nothing of a table as it is. */
Test(pump_derive, pulls_are_the_least_that_keep_heads_from_rising)
{
    const double quarter = asin(1.0);
    for (int k = 0; k < 50; k++) {
        bool is_own;
        const struct pump pump = derived(k, &is_own);
        const struct four_quadrant *table = &pump.quadrants;
        const double end = pump.flow[pump.count - 1];
        const double back = steepest(table, -quarter, 0.0);
        const double ahead = steepest(table, atan(end / pump.best_flow), quarter);
        cr_expect(pump.back.head_pull >= fmax(back, 0.0) &&
                      pump.back.head_pull <= fmax(back + 0.002, 0.0),
                  "%d: %g, not %g", k, pump.back.head_pull, back);
        cr_expect_geq(pump.ahead.head_pull, ahead);
        if (pump.ahead.head_pull > (is_own ? ahead : fmax(ahead, 0.0)) + 0.002) {
            cr_expect(is_own);
            cr_expect_float_eq(pump_head(&pump, end * (1.0 + 1e-9), 1.0).slope /
                                   pump.slope[pump.count - 1],
                               1.0, 1e-6, "%d", k);
        }
    }
}

static struct quadrant_value outside(const struct pump *pump, double flow, double speed)
{
    const double v = flow / pump->best_flow;
    const double last = pump->flow[pump->count - 1] / pump->best_flow;
    double head = four_quadrant_head(&pump->quadrants, speed, v, NULL);
    double torque = four_quadrant_torque(&pump->quadrants, speed, v, NULL);
    if (speed > 0.0) {
        const struct pump_join *join = flow < 0.0 ? &pump->back : &pump->ahead;
        const double way = flow < 0.0 ? v / (1.0 + pow(v / (0.1 * speed), 2)) : v - last * speed;
        head += join->head_offset * speed * speed - join->head_pull * speed * way;
        torque += join->torque_offset * speed * speed;
    }
    return (struct quadrant_value){.value = head * pump->best_head,
                                   .by_speed = torque * pump->best_torque};
}

static void check_surface(struct quadrant_value (*of)(const struct pump *, double, double),
                          const struct pump *pump, double flow, double speed, double size)
{
    const double dq = 1e-6 * pump->best_flow;
    const double dn = 1e-6;
    const struct quadrant_value at = of(pump, flow, speed);
    const double by_flow = of(pump, flow + dq, speed).value - of(pump, flow - dq, speed).value;
    const double by_speed = of(pump, flow, speed + dn).value - of(pump, flow, speed - dn).value;
    cr_assert_float_eq(at.by_flow * 2.0 * dq, by_flow, 1e-9 * size);
    cr_assert_float_eq(at.by_speed * 2.0 * dn, by_speed, 1e-9 * size, "%g, %g", flow, speed);
}

/* Outside the curve heads and torques are those of models/pump.h, near no flow too, where the pull
 * ends; everywhere, with a power row or without, slopes are those of difference quotients. */
Test(pump_derive, surfaces_are_made_as_stated_and_have_their_slopes)
{
    for (int k = 0; k < 2 * DEMONSTRATION_COUNT; k++) {
        const struct pump pump = demonstration_pump(k / 2, k % 2 == 1);
        const double end = pump.flow[pump.count - 1] / pump.best_flow;
        cr_expect(k % 2 == 1 || (!(fabs(pump.back.torque_offset) > 0.0) &&
                                 !(fabs(pump.ahead.torque_offset) > 0.0)));
        for (int i = 0; i < 120; i++) {
            const double speed = -1.21 + 0.0203 * i;
            const double ratio = 0.013 * (double[]){-200, -30, -8, -3, 2, 9, 40, 150, 700}[i % 9];
            const double flow = ratio * fabs(speed) * pump.best_flow;
            const bool is_outside = speed < 0.0 || ratio < 0.0 || ratio > end;
            const struct quadrant_value wanted = outside(&pump, flow, speed);
            const double size = 1.0 + ratio * ratio;
            if (is_outside) {
                cr_expect_float_eq(pump_head(&pump, flow, speed).head, wanted.value,
                                   1e-12 * size * pump.best_head);
            }
            if (is_outside || pump.power_count == 0) {
                cr_expect(k % 2 == 1 || fabs(pump_torque(&pump, flow, speed) - wanted.by_speed) <=
                                            1e-12 * size * pump.best_torque);
                cr_expect(!is_outside || fabs(pump_torque(&pump, flow, speed) - wanted.by_speed) <=
                                             1e-12 * size * pump.best_torque);
            }
            check_surface(pump_head_surface, &pump, flow, speed, size * pump.best_head);
            check_surface(pump_torque_surface, &pump, flow, speed, size * pump.best_torque);
        }
    }
}

/* Flow x head, where no power is known. */
static double gain_of(const struct pump *pump, double flow)
{
    return flow * pump_head(pump, flow, 1.0).head;
}

/* A curve that falls to a second shelf has two flows that are best beside their neighbours; the
 * better one is the best point, whichever shelf it lies on. */
Test(pump_derive, best_point_is_the_better_of_two)
{
    for (int i = 0; i < 2; i++) {
        struct pump pump = shelves(i ? 2.3 : 3.0);
        struct failure failure;
        cr_assert(pump_init(&pump, &demonstration_water, &failure), "%s", failure.message);
        const double best = gain_of(&pump, pump.best_flow) * (1.0 + 1e-12);
        for (int k = 1; k <= 10000; k++) {
            cr_assert(gain_of(&pump, k / 10000.0 * pump.flow[3]) <= best, "%d", k);
        }
        cr_expect(i ? pump.best_flow < 1.2 : pump.best_flow > 2.9);
    }
}

/* The points taken from a table are its entries, from no flow to where its head ends (entry 59 of
 * models/four_quadrant.h) or the torque would drive. */
Test(pump_derive, rated_points_go_as_far_as_head_or_torque)
{
    for (int k = 0; k < four_quadrant_count(); k++) {
        const struct four_quadrant *table = four_quadrant_at(k);
        struct pump pump = {.name = "rated", .speed = 25.0};
        pump_rated(&pump, table, 0.1, 40.0, 50e3);
        cr_assert(pump.count > 2 && pump.count <= 16);
        cr_expect(pump.count == 16 || table->torque[44 + pump.count] <= 0.0);
        for (int i = 0; i < pump.count; i++) {
            cr_expect_float_eq(pump.flow[i], 0.1 * tan(i * 4.0 * atan(1.0) / 44.0), 1e-12);
            cr_expect_gt(pump.power[i], 0.0);
        }
    }
}
