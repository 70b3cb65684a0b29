/* Derived checks of the four-quadrant tables: computed by linear interpolation of entries recalled
 * from Marchal, Flesch & Suter 1965 and Wylie & Streeter 1993 (from memory). */
#include "models/four_quadrant.h"

#include <criterion/criterion.h>
#include <math.h>

static const double pi = 3.14159265358979323846;

Test(four_quadrant, rated_point_is_one_in_every_table)
{
    for (int i = 0; i < four_quadrant_count(); i++) {
        const struct four_quadrant *table = four_quadrant_at(i);
        /* Entry 55 = 0.5, so h = b = 1 at a = v = 1. */
        cr_assert_float_eq(table->head[55], 0.5, 0.0);
        cr_assert_float_eq(table->torque[55], 0.5, 0.0);
        cr_assert_float_eq(four_quadrant_head(table, 1.0, 1.0, NULL), 1.0, 1e-12);
        cr_assert_float_eq(four_quadrant_torque(table, 1.0, 1.0, NULL), 1.0, 1e-12);
        cr_assert_float_eq(table->head[0], table->head[88], 0.0);
        cr_assert_float_eq(table->torque[0], table->torque[88], 0.0);
    }
}

Test(four_quadrant, shut_off_and_locked_rotor_ratios)
{
    const double head[] = {1.288, 1.970, 2.750};
    const double torque[] = {0.450, 1.490, 1.950};
    const double locked_head[] = {0.692, 2.180, 1.080};
    const double locked_torque[] = {0.865, 2.080, 0.660};
    for (int i = 0; i < 3; i++) {
        const struct four_quadrant *table = four_quadrant_at(i);
        cr_assert_float_eq(four_quadrant_head(table, 1.0, 0.0, NULL), head[i], 1e-9);
        cr_assert_float_eq(four_quadrant_torque(table, 1.0, 0.0, NULL), torque[i], 1e-9);
        cr_assert_float_eq(four_quadrant_head(table, 0.0, -1.0, NULL), locked_head[i], 1e-9);
        cr_assert_float_eq(four_quadrant_torque(table, 0.0, -1.0, NULL), locked_torque[i], 1e-9);
    }
}

Test(four_quadrant, zero_head_flow)
{
    const double zero_head[] = {1.862, 1.557, 1.423}; /* v/a, printed to 0.001 */
    for (int i = 0; i < 3; i++) {
        const struct four_quadrant *table = four_quadrant_at(i);
        cr_assert(four_quadrant_head(table, 1.0, zero_head[i] - 0.001, NULL) > 0.0);
        cr_assert(four_quadrant_head(table, 1.0, zero_head[i] + 0.001, NULL) < 0.0);
    }
}

Test(four_quadrant, reverse_runaway_at_rated_head)
{
    const double a[] = {-1.152, -1.622, -1.726};
    const double v[] = {-0.653, -1.622, -1.879};
    for (int i = 0; i < 3; i++) {
        const struct four_quadrant *table = four_quadrant_at(i);
        cr_assert_float_eq(four_quadrant_head(table, a[i], v[i], NULL), 1.0, 0.01);
        cr_assert_float_eq(four_quadrant_torque(table, a[i], v[i], NULL), 0.0, 0.01);
    }
}

Test(four_quadrant, efficiency_ratio_round_the_rated_point)
{
    /* (v WH)/(a WB) at entries 53, 54, 56. */
    const double ratio[3][3] = {
        {0.943, 0.979, 0.983}, {0.893, 0.973, 1.060}, {1.047, 1.057, 0.915}};
    const int entry[] = {53, 54, 56};
    for (int i = 0; i < 3; i++) {
        for (int k = 0; k < 3; k++) {
            const double v = tan(entry[k] * pi / 44.0 - pi);
            const double h = four_quadrant_head(four_quadrant_at(i), 1.0, v, NULL);
            const double b = four_quadrant_torque(four_quadrant_at(i), 1.0, v, NULL);
            cr_assert_float_eq(v * h / b, ratio[i][k], 6e-4);
        }
    }
}

Test(four_quadrant, both_derivatives_agree_with_differences)
{
    const double d = 1e-6;
    for (int i = 0; i < 89; i++) {
        const double x = (i + 0.37) * pi / 44.0;
        const double a = 0.8 * cos(x);
        const double v = 0.8 * sin(x);
        const double *row = four_quadrant_at(0)->torque;
        const struct quadrant_value at = four_quadrant_value(row, a, v);
        const double by_flow =
            four_quadrant_value(row, a, v + d).value - four_quadrant_value(row, a, v - d).value;
        const double by_speed =
            four_quadrant_value(row, a + d, v).value - four_quadrant_value(row, a - d, v).value;
        cr_assert_float_eq(at.by_flow, by_flow / (2.0 * d), 1e-6);
        cr_assert_float_eq(at.by_speed, by_speed / (2.0 * d), 1e-6);
    }
}

Test(four_quadrant, nothing_moves_nothing_happens)
{
    double slope = 1.0;
    cr_assert_float_eq(four_quadrant_head(four_quadrant_at(1), 0.0, 0.0, &slope), 0.0, 0.0);
    cr_assert_float_eq(slope, 0.0, 0.0);
}

/* Linear in the logarithm of the specific speed: half way at the geometric mean; the shut-off ratio
 * there is the mean of 1.288 and 1.970. */
Test(four_quadrant, tables_are_interpolated_between_specific_speeds)
{
    for (int i = 0; i < four_quadrant_count(); i++) {
        const struct four_quadrant *table = four_quadrant_at(i);
        const struct four_quadrant same = four_quadrant_between(table->specific_speed);
        for (int k = 0; k < FOUR_QUADRANT_POINTS; k++) {
            cr_assert_float_eq(same.head[k], table->head[k], 0.0);
            cr_assert_float_eq(same.torque[k], table->torque[k], 0.0);
        }
    }
    const struct four_quadrant half = four_quadrant_between(sqrt(25.0 * 147.0));
    cr_assert_float_eq(four_quadrant_head(&half, 1.0, 0.0, NULL), 0.5 * (1.288 + 1.970), 1e-12);
    cr_assert_float_eq(four_quadrant_torque(&half, 1.0, 0.0, NULL), 0.5 * (0.450 + 1.490), 1e-12);
    cr_assert_float_eq(four_quadrant_head(&half, 1.0, 1.0, NULL), 1.0, 1e-12);
    const struct four_quadrant quarter = four_quadrant_between(147.0 * pow(261.0 / 147.0, 0.25));
    cr_assert_float_eq(four_quadrant_head(&quarter, 0.0, -1.0, NULL), 0.75 * 2.180 + 0.25 * 1.080,
                       1e-12);
    cr_assert_float_eq(four_quadrant_between(7.0).head[44], 1.288, 0.0);
    cr_assert_float_eq(four_quadrant_between(900.0).head[44], 2.750, 0.0);
}

/* Homologous: a and v ten times smaller give a hundredth, slopes a tenth, however little it turns;
 * a flow exactly reversed at rest (the last entry, x = 2 pi) is still in the table. */
Test(four_quadrant, little_turning_is_a_small_likeness)
{
    const double *row = four_quadrant_at(1)->head;
    for (int i = 0; i < 88; i++) {
        const double x = (i + 0.5) * pi / 44.0 - pi;
        const struct quadrant_value large = four_quadrant_value(row, cos(x), sin(x));
        const struct quadrant_value small = four_quadrant_value(row, 0.01 * cos(x), 0.01 * sin(x));
        cr_assert_float_eq(small.value, 1e-4 * large.value, 1e-15);
        cr_assert_float_eq(small.by_flow, 1e-2 * large.by_flow, 1e-13);
        cr_assert_float_eq(small.by_speed, 1e-2 * large.by_speed, 1e-13);
    }
    const struct quadrant_value still = four_quadrant_value(row, 0, 0);
    cr_assert(still.value == 0 && still.by_speed == 0 && still.by_flow == 0);
    cr_assert_float_eq(four_quadrant_value(row, -1, 0).value, row[88], 1e-12);
    cr_assert_float_eq(four_quadrant_value(row, -1, -0.0).value, row[0], 1e-12);
}
