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

/* Points of (3 + 2x + x^2)/1000, unevenly far apart, none steep enough to be limited: parabola's
 * slopes at both ends and inside, and the Hermite cubic through them is the parabola itself
 * (exact). */
Test(monotone_cubic, parabola_comes_back)
{
    static const double t[] = {0.5, 1.5, 1.9, 3.0, 3.3};
    double value[5];
    double slope[5];
    for (int i = 0; i < 5; i++) {
        value[i] = 1e-3 * (3 + t[i] * (2 + t[i]));
    }
    monotone_cubic_slopes(5, t, value, slope);
    for (int i = 0; i < 5; i++) {
        cr_assert_float_eq(slope[i], 1e-3 * (2 + 2 * t[i]), 1e-15, "%d", i);
    }
    for (double at = 0.5; at <= 3.3; at += 0.01) {
        double derivative = 0;
        cr_assert_float_eq(monotone_cubic_value(5, t, value, slope, at, &derivative),
                           1e-3 * (3 + at * (2 + at)), 1e-15);
        cr_assert_float_eq(derivative, 1e-3 * (2 + 2 * at), 1e-15);
    }
}

/* The same slopes by another unit of value: small numbers are numbers too. */
Test(monotone_cubic, scale_of_values_does_not_matter)
{
    double one[POINTS];
    double other[POINTS];
    double small[POINTS];
    for (int i = 0; i < POINTS; i++) {
        small[i] = 1e-6 * y[i];
    }
    monotone_cubic_slopes(POINTS, x, y, one);
    monotone_cubic_slopes(POINTS, x, small, other);
    for (int i = 0; i < POINTS; i++) {
        cr_assert_float_eq(other[i], 1e-6 * one[i], 1e-18);
    }
}

/* A level piece between steep ones: level throughout, and its neighbours come to it level. A piece
 * of secant 1 between pieces of 10: both slopes 5.5 are drawn back onto the circle of radius 3,
 * 3/sqrt(2) each (Fritsch & Carlson 1980). Between pieces of 1 and 3.2 they stay. */
Test(monotone_cubic, steep_neighbours_are_drawn_back_to_the_circle)
{
    static const double t[] = {0, 1, 2, 3};
    static const double level[] = {0, 4, 4, 8};
    static const double steep[] = {0, 10, 11, 21};
    static const double mild[] = {0, 3.2, 4.2, 7.4};
    double slope[4];
    monotone_cubic_slopes(4, t, level, slope);
    cr_assert(slope[1] == 0 && slope[2] == 0);
    double derivative = 1;
    cr_assert_eq(monotone_cubic_value(4, t, level, slope, 1.3, &derivative), 4);
    cr_assert_eq(derivative, 0);
    monotone_cubic_slopes(4, t, steep, slope);
    cr_assert_float_eq(slope[1], 3 / sqrt(2.0), 1e-14);
    cr_assert_float_eq(slope[2], 3 / sqrt(2.0), 1e-14);
    monotone_cubic_slopes(4, t, mild, slope); /* 2.1 each: sqrt(2) 2.1 = 2.97 */
    cr_assert_float_eq(slope[1], 2.1, 1e-14);
    static const double over[] = {0, 3.4, 4.4, 7.8}; /* 2.2 each: 3.11 */
    monotone_cubic_slopes(4, t, over, slope);
    cr_assert_float_eq(slope[1], 3 / sqrt(2.0), 1e-14);
}

/* An end whose parabola would run the other way is level: chords 1 and 4 give 1 - 1.5 < 0. */
Test(monotone_cubic, end_that_would_turn_back_is_level)
{
    static const double t[] = {0, 1, 2, 3};
    static const double rise[] = {0, 0.01, 0.05, 0.06};
    double slope[4];
    monotone_cubic_slopes(4, t, rise, slope);
    cr_assert_eq(slope[0], 0);
    cr_assert_eq(slope[3], 0);
}
