#include "models/monotone_cubic.h"

#include <criterion/criterion.h>
#include <math.h>

/* Radiochemical data of Fritsch & Carlson, SIAM J. Numer. Anal. 17 (1980), table (from memory): the
 * case for which they made the method, since cubic splines overshoot on it. */
enum { POINTS = 9 };
static const double x[POINTS] = {7.99, 8.09, 8.19, 8.7, 9.2, 10.0, 12.0, 15.0, 20.0};
static const double y[POINTS] = {0.0,      2.76429e-5, 4.37498e-2, 0.169183, 0.469428,
                                 0.943740, 0.998636,   0.999919,   0.999994};

Test(monotone_cubic, rising_points_give_a_rising_curve_through_them)
{
    double slope[POINTS];
    monotone_cubic_slopes(POINTS, x, y, slope);
    double before = -1.0;
    for (int i = 0; i <= 12000; i++) {
        double derivative = 0.0;
        const double at = 8.0 + 0.001 * i;
        const double value = monotone_cubic_value(POINTS, x, y, slope, at, &derivative);
        cr_assert(value >= before && derivative >= -1e-15);
        cr_assert(value <= 0.999994 + 1e-15);
        before = value;
    }
    for (int i = 0; i < POINTS; i++) {
        cr_assert_float_eq(monotone_cubic_value(POINTS, x, y, slope, x[i], 0), y[i], 1e-15);
    }
}

Test(monotone_cubic, straight_points_give_a_straight_line)
{
    const double t[] = {0.0, 1.0, 1.5, 4.0};
    const double line[] = {3.0, 1.0, 0.0, -5.0};
    double slope[4];
    monotone_cubic_slopes(4, t, line, slope);
    for (double at = -1.0; at < 6.0; at += 0.1) {
        double derivative = 0.0;
        cr_assert_float_eq(monotone_cubic_value(4, t, line, slope, at, &derivative), 3.0 - 2.0 * at,
                           1e-13);
        cr_assert_float_eq(derivative, -2.0, 1e-13);
    }
}

Test(monotone_cubic, top_of_a_hump_is_level_and_not_exceeded)
{
    const double t[] = {0.0, 1.0, 2.0, 3.0};
    const double hump[] = {0.0, 2.0, 2.5, 1.0};
    double slope[4];
    monotone_cubic_slopes(4, t, hump, slope);
    cr_assert_float_eq(slope[2], 0.0, 0.0);
    for (double at = 0.0; at < 3.0; at += 0.01) {
        cr_assert(monotone_cubic_value(4, t, hump, slope, at, 0) <= 2.5);
    }
}

Test(monotone_cubic, last_chord_goes_on_outside)
{
    const double t[] = {0.0, 1.0, 2.0};
    const double fall[] = {4.0, 3.0, 0.0};
    double slope[3];
    monotone_cubic_slopes(3, t, fall, slope);
    cr_assert_float_eq(monotone_cubic_value(3, t, fall, slope, 2.5, 0), -1.5, 1e-15);
}
