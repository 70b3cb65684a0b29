#include "models/bore_change.h"

#include <criterion/criterion.h>
#include <math.h>

static const double pi = 3.14159265358979323846;
static const double ratios[] = {0.4, 0.5, 0.6, 0.7, 0.8};

/* Borda-Carnot, exact momentum theory (computed), 5 digits. */
Test(bore_change, enlargement_is_borda_carnot)
{
    static const double loss[] = {0.70560, 0.56250, 0.40960, 0.26010, 0.12960};
    for (int i = 0; i < 5; i++) {
        cr_assert_float_eq(bore_change_enlargement(ratios[i]), loss[i], 5e-6);
    }
}

/* Rennels & Hudson, Pipe Flow, 2012 (formula read; values computed); 0.5301269161 at 0.4 printed
 * in a text that cites it. */
Test(bore_change, contraction_follows_rennels_and_hudson)
{
    static const double loss[] = {0.53013, 0.49558, 0.43859, 0.35094, 0.23034};
    for (int i = 0; i < 5; i++) {
        cr_assert_float_eq(bore_change_contraction(ratios[i]), loss[i], 5e-6);
    }
    cr_assert_float_eq(bore_change_contraction(0.4), 0.5301269161, 1e-10);
}

/* Crane's sudden contraction 0.5 (1 - b^2) (from memory; values computed). */
Test(bore_change, blunt_taper_is_cranes_sudden_change)
{
    static const double loss[] = {0.42000, 0.37500, 0.32000, 0.25500, 0.18000};
    for (int i = 0; i < 5; i++) {
        cr_assert_float_eq(bore_change_tapered_contraction(ratios[i], pi), loss[i], 5e-6);
        cr_assert_float_eq(bore_change_tapered_enlargement(ratios[i], pi),
                           bore_change_enlargement(ratios[i]), 1e-15);
    }
}

/* The handbooks' least and greatest contraction, Weisbach 0.37 and Rennels & Hudson 0.53 at 0.4. */
Test(bore_change, contractions_stay_within_the_handbooks_spread)
{
    cr_assert(bore_change_tapered_contraction(0.4, pi) > 0.37);
    cr_assert(bore_change_contraction(0.4) < 0.5302);
}

Test(bore_change, nothing_is_lost_without_a_change)
{
    cr_assert_float_eq(bore_change_enlargement(1), 0, 1e-15);
    cr_assert_float_eq(bore_change_contraction(1), 0, 1e-15);
    cr_assert_float_eq(bore_change_tapered_contraction(0.5, 0), 0, 1e-15);
    cr_assert_float_eq(bore_change_tapered_enlargement(0.5, 0), 0, 1e-15);
}

/* Smaller valve in larger pipe: K on the pipe is K (pipe/valve)^4; 57 over 45.2 mm (computed). */
Test(bore_change, loss_moves_to_another_bore_by_the_fourth_power)
{
    cr_assert_float_eq(bore_change_refer(2, 0.05, 0.1), 32, 1e-13);
    cr_assert_float_eq(bore_change_refer(2, 0.0452, 0.0570), 2 * 2.5289817, 1e-6);
}

/* Crane TP-410 (2009), gradual changes (formulas from memory; values by hand): 30 deg and 45 deg by
 * 0.8 and 2.6 sin(a/2), 60 deg by 0.5 sqrt(sin 30 deg) and Borda-Carnot. */
Test(bore_change, tapers_follow_crane_on_both_sides_of_45_deg)
{
    const double sine_15 = (sqrt(6.0) - sqrt(2.0)) / 4;
    const double sine_22 = sqrt(2 - sqrt(2.0)) / 2;
    cr_assert_float_eq(bore_change_tapered_contraction(0.5, pi / 6), 0.8 * sine_15 * 0.75, 1e-14);
    cr_assert_float_eq(bore_change_tapered_enlargement(0.5, pi / 6), 2.6 * sine_15 * 0.5625, 1e-14);
    cr_assert_float_eq(bore_change_tapered_contraction(0.5, pi / 4), 0.8 * sine_22 * 0.75, 1e-14);
    cr_assert_float_eq(bore_change_tapered_enlargement(0.5, pi / 4), 2.6 * sine_22 * 0.5625, 1e-14);
    cr_assert_float_eq(bore_change_tapered_contraction(0.5, pi / 3), 0.5 * sqrt(0.5) * 0.75, 1e-14);
    cr_assert_float_eq(bore_change_tapered_enlargement(0.5, pi / 3), 0.5625, 1e-14);
    /* 46 deg lies above. */
    cr_assert_float_eq(bore_change_tapered_contraction(0.5, 46 * pi / 180),
                       0.5 * sqrt(sin(23 * pi / 180)) * 0.75, 1e-14);
    cr_assert_float_eq(bore_change_tapered_enlargement(0.5, 46 * pi / 180), 0.5625, 1e-14);
}

/* From nothing to a tank and the other way, and no more beyond: Borda-Carnot 1, a sharp entry from
 * a tank 0.0696 x 1.622^2 + 0.622^2 (formula). */
Test(bore_change, ends_of_the_range_are_kept)
{
    cr_assert_float_eq(bore_change_enlargement(0), 1, 1e-15);
    cr_assert_float_eq(bore_change_enlargement(1.05), 0, 1e-15);
    cr_assert_float_eq(bore_change_contraction(0), 0.0696 * 1.622 * 1.622 + 0.622 * 0.622, 1e-14);
    cr_assert_float_eq(bore_change_contraction(1.05), 0, 1e-15);
}

/* Between unlike bores the sudden change, said of the bore that is asked; near bores are one size.
 */
Test(bore_change, parts_of_unlike_bore_have_a_sudden_change)
{
    cr_assert_float_eq(bore_change_between(0.05, 0.1, 0.05), 0.5625, 1e-14);
    cr_assert_float_eq(bore_change_between(0.05, 0.1, 0.1), 0.5625 * 16, 1e-12);
    cr_assert_float_eq(bore_change_between(0.1, 0.05, 0.05), 0.49558, 5e-6);
    cr_assert_float_eq(bore_change_between(0.1, 0.05, 0.1), 16 * 0.49558, 1e-4);
    cr_assert_eq(bore_change_between(0.05, 0.0570, 0.05), 0);
    cr_assert_eq(bore_change_between(0.0570, 0.05, 0.05), 0);
    cr_assert_gt(bore_change_between(0.0480, 0.0570, 0.05), 0);
}
