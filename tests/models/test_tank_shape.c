/* Volumes of tanks against solids whose volume any handbook of mensuration gives, against the
 * integral of their own area, and there and back. */
#include "models/circle.h"
#include "models/tank_shape.h"

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
