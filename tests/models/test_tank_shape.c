/* Volumes of tanks against solids whose volume any handbook of mensuration gives, against the
 * integral of their own area, and there and back. */
#include "models/circle.h"
#include "models/tank_shape.h"
#include "tests/models/limit_kit.h"
#include "tests/models/watched_root.h"

#include <criterion/criterion.h>
#include <math.h>

static const double table_depth[] = {0, 1, 3};
static const double table_area[] = {2, 4, 10};
static const double table_volume[] = {0, 3, 17};

static int shapes(struct tank_shape shape[7])
{
    shape[0] = tank_shape_upright(3.2, 5.0);
    shape[1] = tank_shape_ring(3.0, 1.0, 2.0);
    shape[2] = tank_shape_lying(1.6, 2.5);
    shape[3] = tank_shape_cone(0.8, 2.0, 2.0);
    shape[4] = tank_shape_cone(2.0, 0.0, 1.5);
    shape[5] = tank_shape_sphere(3.0);
    shape[6] = tank_shape_table(TANK_SHAPE_AREA_TABLE, 3, table_depth, table_area);
    return 7;
}

Test(tank_shape, full_solids_hold_what_handbooks_say)
{
    const struct tank_shape ring = tank_shape_ring(3.0, 1.0, 2.0);
    cr_expect_float_eq(tank_shape_volume(&ring, 2.0), circle_pi * (2.25 - 0.25) * 2.0, 1e-13);
    const struct tank_shape sphere = tank_shape_sphere(3.0);
    cr_expect_float_eq(tank_shape_volume(&sphere, 3.0), circle_pi * 27 / 6, 1e-13);
    const struct tank_shape cone = tank_shape_cone(0.0, 2.0, 1.5);
    cr_expect_float_eq(tank_shape_volume(&cone, 1.5), circle_pi * 0.5, 1e-13);
    const struct tank_shape lying = tank_shape_lying(1.6, 2.5);
    cr_expect_float_eq(tank_shape_volume(&lying, 1.6), circle_area(1.6) * 2.5, 1e-13);
    cr_expect_float_eq(tank_shape_volume(&lying, 0.8), circle_area(1.6) * 1.25, 1e-13);
}

/* Segment of half angle 60 degrees: r^2 (pi/3 - sqrt(3)/4). */
Test(tank_shape, lying_cylinder_at_a_quarter_of_its_bore)
{
    const struct tank_shape lying = tank_shape_lying(2.0, 1.0);
    cr_expect_float_eq(tank_shape_volume(&lying, 0.5), circle_pi / 3 - sqrt(3.0) / 4, 1e-14);
}

/* Frustum: pi h/12 (a^2 + a b + b^2), with the bore halfway up by hand: 1.4 m, wider or narrower.
 */
Test(tank_shape, half_a_cone_is_the_handbooks_frustum)
{
    const struct tank_shape wider = tank_shape_cone(0.8, 2.0, 2.0);
    cr_expect_float_eq(tank_shape_volume(&wider, 1.0), circle_pi / 12 * (0.64 + 1.12 + 1.96),
                       1e-14);
    cr_expect_float_eq(tank_shape_area(&wider, 1.0), circle_area(1.4), 1e-14);
    const struct tank_shape narrower = tank_shape_cone(2.0, 0.8, 2.0);
    cr_expect_float_eq(tank_shape_volume(&narrower, 1.0), circle_pi / 12 * (4 + 2.8 + 1.96), 1e-14);
    cr_expect_float_eq(tank_shape_area(&narrower, 1.5), circle_area(1.1), 1e-14);
}

/* Rows of a table, summed by hand; what stands in memory beyond its rows is not of it. */
Test(tank_shape, tables_of_uneven_rows_by_hand)
{
    static const double depth[] = {0, 0.5, 2, 3, 3.1};
    static const double area[] = {2, 4, 10, 6, 1e9};
    static const double volume[] = {0, 1.5, 12, 20, 1e9};
    const struct tank_shape areas = tank_shape_table(TANK_SHAPE_AREA_TABLE, 4, depth, area);
    const struct tank_shape volumes = tank_shape_table(TANK_SHAPE_VOLUME_TABLE, 4, depth, volume);
    cr_expect_float_eq(tank_shape_volume(&areas, 0.25), 0.625, 1e-14);
    cr_expect_float_eq(tank_shape_volume(&areas, 2), 1.5 + 10.5, 1e-14);
    cr_expect_float_eq(tank_shape_volume(&areas, 2.5), 12 + 4.5, 1e-14);
    cr_expect_float_eq(tank_shape_volume(&areas, 3), 20, 1e-14);
    cr_expect_float_eq(tank_shape_area(&areas, 3), 6, 1e-14);
    cr_expect_float_eq(tank_shape_volume(&volumes, 3), 20, 1e-14);
    cr_expect_float_eq(tank_shape_area(&volumes, 3), 8, 1e-14);
    cr_expect_float_eq(tank_shape_area(&volumes, 1), 7, 1e-14);
    cr_expect_eq(tank_shape_table(TANK_SHAPE_AREA_TABLE, 0, depth, area).height, 0);
}

/* The segment r^2 (a - sin a cos a) in longer numbers (long double of the C library), on both sides
 * of where its series ends. */
Test(tank_shape, segment_has_its_digits_from_shallow_to_deep)
{
    const struct tank_shape lying = tank_shape_lying(2.0, 1.0);
    for (double angle = 1e-3; angle < 1.5; angle *= 1.05) {
        const long double a = angle;
        const double exact = (double)(a - 0.5L * sinl(2 * a));
        const double depth = 2 * pow(sin(angle / 2), 2);
        cr_expect_float_eq(tank_shape_volume(&lying, depth) / exact, 1, 1e-11, "%g", angle);
    }
}

Test(tank_shape, volume_is_the_integral_of_area)
{
    struct tank_shape all[7];
    const int count = shapes(all);
    for (int i = 0; i < count; i++) {
        /* Two points of Gauss on 2000 pieces. */
        const double end = 0.7 * all[i].height;
        const double step = end / 2000;
        double sum = 0;
        for (int k = 0; k < 2000; k++) {
            const double middle = (k + 0.5) * step;
            sum += 0.5 * step *
                   (tank_shape_area(&all[i], middle - step / sqrt(12.0)) +
                    tank_shape_area(&all[i], middle + step / sqrt(12.0)));
        }
        cr_expect_float_eq(tank_shape_volume(&all[i], end), sum, 2e-5 * sum, "shape %d", i);
    }
}

Test(tank_shape, depth_is_the_inverse_of_volume)
{
    struct tank_shape all[7];
    const int count = shapes(all);
    for (int i = 0; i < count; i++) {
        for (int k = 1; k < 100; k++) {
            const double depth = all[i].height * pow(k / 100.0, 3);
            const double back = tank_shape_depth(&all[i], tank_shape_volume(&all[i], depth));
            cr_expect_float_eq(back, depth, 1e-9 * all[i].height, "shape %d at %g m", i, depth);
        }
    }
}

Test(tank_shape, shallow_segment_keeps_its_digits)
{
    /* For small depths the segment is a parabola's: (4/3) h sqrt(2 r h) (1 - 3 h/(40 r) ...). */
    const struct tank_shape lying = tank_shape_lying(2.0, 1.0);
    const double h = 1e-8;
    const double expected = 4.0 / 3.0 * h * sqrt(2 * h);
    cr_expect_float_eq(tank_shape_volume(&lying, h), expected, 1e-8 * expected);
}

Test(tank_shape, table_of_volumes_goes_straight)
{
    const struct tank_shape table =
        tank_shape_table(TANK_SHAPE_VOLUME_TABLE, 3, table_depth, table_volume);
    cr_expect_float_eq(tank_shape_volume(&table, 2.0), 10.0, 1e-14);
    cr_expect_float_eq(tank_shape_area(&table, 2.0), 7.0, 1e-14);
    cr_expect_float_eq(tank_shape_depth(&table, 10.0), 2.0, 1e-12);
}

Test(tank_shape, outside_it_is_empty_or_full)
{
    struct tank_shape all[7];
    const int count = shapes(all);
    for (int i = 0; i < count; i++) {
        const double full = tank_shape_volume(&all[i], all[i].height);
        cr_expect_float_eq(tank_shape_volume(&all[i], -1.0), 0.0, 0.0);
        cr_expect_float_eq(tank_shape_volume(&all[i], 99.0), full, 0.0);
        cr_expect_float_eq(tank_shape_depth(&all[i], -1.0), 0.0, 0.0);
        cr_expect_float_eq(tank_shape_depth(&all[i], 2 * full), all[i].height, 0.0);
    }
}

static bool accepts(const void *data)
{
    struct failure failure = {0};
    return tank_shape_check(data, "t", (struct place){0}, &failure);
}

/* Every size above 0; of a cone one end may come to a point. */
Test(tank_shape, sizes_are_above_0)
{
    static const struct limit area = {offsetof(struct tank_shape, area), 0, HUGE_VAL, LIMIT_OPEN};
    static const struct limit length[] = {
        {offsetof(struct tank_shape, length), 0, HUGE_VAL, LIMIT_OPEN},
        {offsetof(struct tank_shape, bore), 0, HUGE_VAL, LIMIT_OPEN},
    };
    static const struct limit bores[] = {
        {offsetof(struct tank_shape, bottom_bore), 0, HUGE_VAL, LIMIT_LEAST_IN},
        {offsetof(struct tank_shape, top_bore), 0, HUGE_VAL, LIMIT_LEAST_IN},
    };
    static const struct limit height = {offsetof(struct tank_shape, height), 0, HUGE_VAL,
                                        LIMIT_OPEN};
    const struct tank_shape upright = tank_shape_upright(3, 1);
    const struct tank_shape lying = tank_shape_lying(3, 1);
    const struct tank_shape cone = tank_shape_cone(3, 1, 2);
    struct tank_shape point = tank_shape_cone(0, 1, 2);
    limits_hold(accepts, &upright, sizeof upright, &area, 1);
    limits_hold(accepts, &upright, sizeof upright, &height, 1);
    limits_hold(accepts, &lying, sizeof lying, length, 2);
    limits_hold(accepts, &cone, sizeof cone, bores, 2);
    point.top_bore = 1e-3;
    cr_expect(accepts(&point));
}

/* One row of a good table changed at a time. */
Test(tank_shape, rows_that_are_wrong_are_refused)
{
    static const struct {
        enum tank_shape_kind kind;
        double depth[3];
        double value[3];
        bool is_good;
    } rows[] = {
        {TANK_SHAPE_VOLUME_TABLE, {0, 1, 3}, {0, 3, 17}, true},
        {TANK_SHAPE_VOLUME_TABLE, {0, 1, 3}, {0, 0.01, 0.02}, true},
        {TANK_SHAPE_VOLUME_TABLE, {0, 1, 3}, {0, 3, 3}, false},
        {TANK_SHAPE_VOLUME_TABLE, {0, 1, 3}, {-0.01, 3, 17}, false},
        {TANK_SHAPE_VOLUME_TABLE, {0, 1, 3}, {0, 3, (double)INFINITY}, false},
        {TANK_SHAPE_VOLUME_TABLE, {0, 1, 1}, {0, 3, 17}, false},
        {TANK_SHAPE_AREA_TABLE, {-0.01, 1, 3}, {2, 4, 10}, false},
        {TANK_SHAPE_AREA_TABLE, {0, 1, 3}, {2, 4, 4}, true},
        {TANK_SHAPE_AREA_TABLE, {0, 1, 3}, {2, 4, 0}, true},
        {TANK_SHAPE_AREA_TABLE, {0, 1, 3}, {0.01, 0.01, 0.01}, true},
        {TANK_SHAPE_AREA_TABLE, {0, 1, 3}, {2, -0.01, 10}, false},
        {TANK_SHAPE_AREA_TABLE, {0, 1, 3}, {2, (double)NAN, 10}, false},
        {TANK_SHAPE_AREA_TABLE, {0, 1, (double)INFINITY}, {2, 4, 10}, false},
        {TANK_SHAPE_AREA_TABLE, {0, 1, 3}, {0, 0, 0}, false},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const struct tank_shape shape =
            tank_shape_table(rows[i].kind, 3, rows[i].depth, rows[i].value);
        cr_expect_eq(accepts(&shape), rows[i].is_good, "%zu", i);
    }
}

Test(tank_shape, wrong_numbers_are_refused)
{
    static const double falling[] = {0, 2, 1};
    static const double above_floor[] = {0.05, 1, 3};
    struct failure failure = {0};
    const struct tank_shape wrong[] = {
        tank_shape_upright(0.0, 1.0),
        tank_shape_ring(1.0, 1.0, 1.0),
        tank_shape_lying(-1.0, 1.0),
        tank_shape_cone(0.0, 0.0, 1.0),
        tank_shape_sphere((double)NAN),
        tank_shape_table(TANK_SHAPE_AREA_TABLE, 3, falling, table_area),
        tank_shape_table(TANK_SHAPE_VOLUME_TABLE, 3, table_depth, falling),
        tank_shape_table(TANK_SHAPE_AREA_TABLE, 3, above_floor, table_area),
        tank_shape_table(TANK_SHAPE_VOLUME_TABLE, 3, table_depth, above_floor),
    };
    const struct tank_shape right[] = {
        tank_shape_table(TANK_SHAPE_AREA_TABLE, 3, table_depth, table_area),
        tank_shape_cone(0.0, 1.0, 1.0),
        tank_shape_cone(1.0, 0.0, 1.0),
    };
    for (size_t i = 0; i < sizeof right / sizeof right[0]; i++) {
        cr_expect(tank_shape_check(&right[i], "t", (struct place){0}, &failure), "shape %zu", i);
    }
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        cr_expect_not(tank_shape_check(&wrong[i], "t", (struct place){0}, &failure), "shape %zu",
                      i);
        cr_expect_eq(failure.kind, FAILURE_INPUT);
    }
}
