#include "models/root.h"

#include <criterion/criterion.h>
#include <math.h>

static struct root_value cube(const void *user, double x)
{
    const double wanted = *(const double *)user;
    const struct root_value result = {x * x * x - wanted, 3.0 * x * x};
    return result;
}

Test(root, cube_roots_from_any_guess)
{
    for (double wanted = -1e9; wanted <= 1e9; wanted += 1.7e8) {
        for (double guess = -50.0; guess <= 50.0; guess += 12.5) {
            const double x = root_find(cube, &wanted, guess, -(double)INFINITY, INFINITY);
            cr_assert_float_eq(x, cbrt(wanted), 1e-12 * fabs(cbrt(wanted)));
        }
    }
}

static struct root_value stair(const void *user, double x)
{
    (void)user;
    const struct root_value result = {x < 0.3 ? -1.0 : 1.0, 0.0};
    return result;
}

Test(root, jump_across_zero_is_found_by_halving)
{
    cr_assert_float_eq(root_find(stair, NULL, 0.9, 0.0, 1.0), 0.3, 1e-12);
}

static struct root_value hanging(const void *user, double s)
{
    (void)user; /* steep near 0 as the force on a valve's part: s - 1e-12/s^2 = 0 at 1e-4 */
    const struct root_value result = {s - 1e-12 / (s * s), 1.0 + 2e-12 / (s * s * s)};
    return result;
}

Test(root, pole_at_the_lower_end_is_no_obstacle)
{
    cr_assert_float_eq(root_find(hanging, NULL, 1e-9, 0.0, INFINITY), 1e-4, 1e-16);
    cr_assert_float_eq(root_find(hanging, NULL, 5.0, 0.0, INFINITY), 1e-4, 1e-16);
}
