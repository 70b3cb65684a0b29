#include "models/wall.h"

#include <criterion/criterion.h>
#include <string.h>

Test(wall, materials_are_found_in_any_spelling)
{
    cr_assert_not_null(wall_find("PVC-U"));
    cr_assert_eq(wall_find("pvc u"), wall_find("pvc-u"));
    cr_assert_neq(wall_find("pvc"), wall_find("pvc-u"));
    cr_assert_null(wall_find("cheese"));
}

/* ASTM PVC, US trade table (read): 100 degF 0.62, 110 degF 0.51. */
Test(wall, derating_is_linear_between_the_rules_points)
{
    const struct wall *pvc = wall_find("pvc");
    cr_assert_float_eq(wall_derating(pvc, (100 - 32) / 1.8), 0.62, 1e-12);
    cr_assert_float_eq(wall_derating(pvc, (105 - 32) / 1.8), 0.565, 1e-12);
    cr_assert(wall_derating(pvc, 5) == 1);
    cr_assert(wall_derating(pvc, 60.1) == 0);
}

/* ABS, UK chart (read): factor at 50 degC 0.60. Polyethylene, ISO 13761 (from memory): 0.87 at 30
 * and 0.74 at 40 degC; PE100 never above Australian practice (read): 0.94, 0.84, 0.80 and 0.76 at
 * 30, 40, 45 and 50 degC. */
Test(wall, derating_meets_the_published_factors)
{
    cr_assert_float_eq(wall_derating(wall_find("abs"), 50), 0.60, 1e-12);
    cr_assert_float_eq(wall_derating(wall_find("pe100"), 30), 0.87, 1e-12);
    cr_assert_float_eq(wall_derating(wall_find("pe100"), 40), 0.74, 1e-12);
    cr_assert_leq(wall_derating(wall_find("pe100"), 45), 0.80);
    cr_assert_leq(wall_derating(wall_find("pe100"), 50), 0.76);
    cr_assert_float_eq(wall_derating(wall_find("pe80"), 40), 0.74, 1e-12);
}

Test(wall, every_row_is_whole)
{
    for (int i = 0; i < wall_count(); i++) {
        const struct wall *wall = wall_at(i);
        cr_assert_eq(wall, wall_find(wall->name));
        cr_assert(wall->modulus > 1e8 && wall->poisson > 0.2 && wall->poisson < 0.5);
        cr_assert(wall->roughness > 0 && wall->derating_count >= 1);
        cr_assert(wall->derating_share[0] == 1 && strlen(wall->derating_source) > 10);
        for (int j = 1; j < wall->derating_count; j++) {
            cr_assert_gt(wall->derating_temperature[j], wall->derating_temperature[j - 1]);
            cr_assert_leq(wall->derating_share[j], wall->derating_share[j - 1]);
        }
    }
}
