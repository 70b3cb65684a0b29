#include "models/strainer.h"
#include "tests/models/law_kit.h"

static const struct strainer clean = {.area = 2e-3, .clean_loss = 2, .laminar = 100};

/* Velocity through half of the area is twice as large, its head four times. */
Test(strainer, half_blocked_loses_four_times)
{
    struct strainer half = clean;
    half.blocked = 0.5;
    cr_assert_float_eq(strainer_loss(&half), 4 * strainer_loss(&clean), 1e-14);
}

/* Idelchik, Handbook of Hydraulic Resistance, table of diagram 8-1, thin plate with sharp edges
 * (from memory), printed to two or three digits. */
Test(strainer, plate_follows_idelchiks_table)
{
    static const double share[] = {0.2, 0.4, 0.5, 0.6, 0.7, 0.8};
    static const double loss[] = {51.5, 8.25, 4.00, 2.00, 0.97, 0.42};
    for (int i = 0; i < 6; i++) {
        cr_assert_float_eq(strainer_plate_loss(share[i]) / loss[i], 1, 0.01);
    }
    cr_assert_float_eq(strainer_plate_loss(1), 0, 1e-15);
}

/* Screen of round wire, half free: 1.3 x 0.5 + 1 = 1.65 (formula from memory, computed). */
Test(strainer, screen_of_round_wire_loses_less_than_a_plate)
{
    cr_assert_float_eq(strainer_screen_loss(0.5), 1.65, 1e-14);
    for (double f = 0.05; f < 0.8; f += 0.01) {
        cr_assert_lt(strainer_screen_loss(f), strainer_plate_loss(f));
    }
}

/* A basket of three times the pipe's area: a third of the velocity, a ninth of the head. */
Test(strainer, loss_moves_to_the_pipe_by_the_square_of_areas)
{
    cr_assert_float_eq(strainer_refer(9, 3e-3, 1e-3), 1, 1e-14);
}

Test(strainer, law_is_monotone_total_and_has_its_slope)
{
    for (double blocked = 0; blocked <= 1; blocked += 0.25) {
        struct strainer strainer = clean;
        strainer.blocked = blocked;
        law_is_monotone(&strainer_element, &strainer, -0.01, 0.01);
        law_slope_fits(&strainer_element, &strainer, -0.01, 0.01);
        law_is_total(&strainer_element, &strainer);
    }
}

Test(strainer, wholly_blocked_is_shut)
{
    struct strainer strainer = clean;
    strainer.blocked = 1;
    const struct span span = strainer_element.span(&strainer, &law_water);
    cr_assert(span.lower == 0 && span.upper == 0);
}

Test(strainer, bad_numbers_are_refused)
{
    struct failure failure;
    struct strainer strainer = clean;
    cr_assert(strainer_check(&strainer, law_nowhere, &failure));
    strainer.blocked = 1.1;
    cr_assert_not(strainer_check(&strainer, law_nowhere, &failure));
    strainer.blocked = NAN;
    cr_assert_not(strainer_check(&strainer, law_nowhere, &failure));
    strainer = clean;
    strainer.clean_loss = 0;
    cr_assert_not(strainer_check(&strainer, law_nowhere, &failure));
}

/* Whatever is said of the plate or the screen, it counts as between a thousandth free and free; all
 * but a millionth blocked is shut (models/strainer.h). */
Test(strainer, share_free_is_kept_within_its_range)
{
    cr_assert_eq(strainer_plate_loss(1.05), strainer_plate_loss(1));
    cr_assert_eq(strainer_screen_loss(1.05), strainer_screen_loss(1));
    cr_assert_float_eq(strainer_screen_loss(1), 0, 1e-15);
    cr_assert_eq(strainer_plate_loss(0), strainer_plate_loss(1e-3));
    cr_assert_eq(strainer_screen_loss(0), strainer_screen_loss(1e-3));
    cr_assert_float_eq(strainer_screen_loss(1e-3), 1.3 * 0.999 + 999.0 * 999, 1e-6);
}
