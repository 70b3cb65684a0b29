#include "models/circle.h"
#include "models/reducer.h"
#include "tests/models/law_kit.h"

static struct reducer make(double from, double to, double angle)
{
    struct reducer reducer = {.bore_from = from, .bore_to = to, .angle = angle};
    struct failure failure;
    cr_assert(reducer_init(&reducer, law_nowhere, &failure), "%s", failure.message);
    return reducer;
}

/* d/D 0.5. Borda-Carnot 0.56250 (exact momentum theory, computed); Rennels & Hudson, Pipe Flow,
 * 2012 (formula read): 0.49558 (computed). On the smaller bore. */
Test(reducer, sudden_change_has_both_directions)
{
    const struct reducer narrows = make(0.1, 0.05, 0);
    const struct reducer widens = make(0.05, 0.1, 0);
    cr_assert_float_eq(narrows.fitting.loss, 0.49558, 5e-6);
    cr_assert_float_eq(narrows.fitting.loss_back, 0.56250, 5e-6);
    cr_assert_float_eq(widens.fitting.loss, 0.56250, 5e-6);
    cr_assert_float_eq(widens.fitting.loss_back, 0.49558, 5e-6);
}

/* Borda-Carnot as every text has it: head lost = (v1 - v2)^2/2g; 2 and 0.5 m/s here. */
Test(reducer, enlargement_loses_the_head_of_the_velocity_lost)
{
    const struct reducer widens = make(0.05, 0.1, 0);
    const double flow = 2 * circle_area(0.05);
    cr_assert_float_eq(reducer_element.drop(&widens, &law_water, flow).head, 1.5 * 1.5 / 19.62,
                       1e-14);
}

/* Crane TP-410 (2009), gradual (from memory), 30 deg, ratio 0.5: contraction
 * 0.8 sin 15 (1 - 0.25), enlargement 2.6 sin 15 (1 - 0.25)^2. */
Test(reducer, taper_follows_its_angle)
{
    const struct reducer taper = make(0.1, 0.05, 30 * circle_pi / 180);
    const double sine = sin(15 * circle_pi / 180);
    cr_assert_float_eq(taper.fitting.loss, 0.8 * sine * 0.75, 1e-14);
    cr_assert_float_eq(taper.fitting.loss_back, 2.6 * sine * 0.5625, 1e-14);
}

Test(reducer, equal_bores_lose_nothing)
{
    const struct reducer none = make(0.05, 0.05, 0);
    cr_assert_float_eq(reducer_element.drop(&none, &law_water, 0.01).head, 0, 1e-15);
}

Test(reducer, law_is_monotone_total_and_has_its_slope)
{
    const struct reducer reducer = make(0.08, 0.05, 0);
    law_is_monotone(&reducer_element, &reducer, -0.01, 0.01);
    law_slope_fits(&reducer_element, &reducer, -0.01, 0.01);
    law_is_total(&reducer_element, &reducer);
}

/* A cone of 4 degrees spares most of what a sudden change loses: however slender, it is no step. */
Test(reducer, slender_cone_is_no_sudden_change)
{
    const struct reducer cone = make(0.05, 0.1, 4 * circle_pi / 180);
    const struct reducer step = make(0.05, 0.1, 0);
    cr_assert_lt(reducer_element.drop(&cone, &law_water, 0.01).head,
                 0.5 * reducer_element.drop(&step, &law_water, 0.01).head);
}

Test(reducer, bad_numbers_are_refused)
{
    struct failure failure;
    struct reducer reducer = {.bore_from = 0.1, .bore_to = 0};
    cr_assert_not(reducer_init(&reducer, law_nowhere, &failure));
    reducer = (struct reducer){.bore_from = NAN, .bore_to = 0.1};
    cr_assert_not(reducer_init(&reducer, law_nowhere, &failure));
    reducer = (struct reducer){.bore_from = 0.1, .bore_to = 0.05, .angle = 4};
    cr_assert_not(reducer_init(&reducer, law_nowhere, &failure));
}
