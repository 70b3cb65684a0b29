/* Which run comes nearest to boiling: the lowest pressure with its error band taken off. */
#include "io/results/surge_sheet.h"

#include <criterion/criterion.h>
#include <math.h>

enum { ROWS = 3 };

static struct surge_near near_of(int count, const double margin[], const double band[])
{
    struct sheet sheet;
    sheet_init(&sheet, "/surge");
    const int run = sheet_dimension(&sheet, "run", (size_t)count);
    sheet_numbers(&sheet, (struct field_head){"run_lowest_margin", "m", ""}, run, margin);
    if (band) {
        sheet_numbers(&sheet, (struct field_head){"run_lowest_band", "m", ""}, run, band);
    }
    return surge_near_boiling(&sheet);
}

Test(surge_near, band_may_bring_another_run_nearer)
{
    const double margin[ROWS] = {0.8, 2.0, 5.0};
    const double band[ROWS] = {0.1, 2.5, 0.1};
    struct surge_near near = near_of(ROWS, margin, band);
    cr_assert_eq(near.run, 1);
    cr_assert_eq(near.margin, 2.0);
    cr_assert_float_eq(near.reach, -0.5, 1e-15);
    near = near_of(ROWS, margin, NULL);
    cr_assert_eq(near.run, 0);
    cr_assert_eq(near.reach, 0.8);
}

/* On one grid no band is known, and of a run without pipe no pressure. */
Test(surge_near, unknown_bands_and_pressures_count_for_nothing)
{
    const double margin[ROWS] = {NAN, 0.8, 3.0};
    const double band[ROWS] = {9.0, NAN, 1.0};
    struct surge_near near = near_of(ROWS, margin, band);
    cr_assert_eq(near.run, 1);
    cr_assert_eq(near.reach, 0.8);
    near = near_of(1, margin, band);
    cr_assert(isnan(near.margin) && isnan(near.reach));
    near = near_of(0, margin, band);
    cr_assert(isnan(near.margin) && isnan(near.reach));
}
