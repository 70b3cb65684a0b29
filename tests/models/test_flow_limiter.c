#include "models/flow_limiter.h"
#include "tests/models/law_kit.h"

static const struct flow_limiter limiter = {
    .area = 1e-3, .loss = 5, .laminar = 100, .limit = 2e-3, .is_one_way = true};

Test(flow_limiter, passes_no_more_than_its_limit)
{
    struct flow_limiter both = limiter;
    both.is_one_way = false;
    cr_assert_eq(flow_limiter_element.span(&limiter, &law_water).upper, 2e-3);
    cr_assert_eq(flow_limiter_element.span(&limiter, &law_water).lower, 0);
    cr_assert_eq(flow_limiter_element.span(&both, &law_water).lower, -HUGE_VAL);
}

/* K v^2/2g by hand: 5 x 1/19.62 m at 1 m/s, and K1/Re with Re = v D/nu. */
Test(flow_limiter, below_it_is_a_plain_loss)
{
    const double reynolds = sqrt(4e-3 / 3.14159265358979323846) / 1e-6;
    cr_assert_float_eq(flow_limiter_element.drop(&limiter, &law_water, 1e-3).head,
                       (5 + 100 / reynolds) / 19.62, 1e-14);
}

Test(flow_limiter, law_is_monotone_total_and_has_its_slope)
{
    law_is_monotone(&flow_limiter_element, &limiter, -0.004, 0.004);
    law_slope_fits(&flow_limiter_element, &limiter, -0.004, 0.004);
    law_is_total(&flow_limiter_element, &limiter);
}

Test(flow_limiter, bad_numbers_are_refused)
{
    struct failure failure;
    struct flow_limiter bad = limiter;
    cr_assert(flow_limiter_check(&bad, law_nowhere, &failure));
    bad.limit = 0;
    cr_assert_not(flow_limiter_check(&bad, law_nowhere, &failure));
    bad.limit = HUGE_VAL;
    cr_assert_not(flow_limiter_check(&bad, law_nowhere, &failure));
    static const double losses[] = {-1, 0, HUGE_VAL, NAN};
    for (int i = 0; i < 4; i++) {
        bad = limiter;
        bad.loss = losses[i];
        cr_assert_not(flow_limiter_check(&bad, law_nowhere, &failure));
        bad = limiter;
        bad.area = losses[i];
        cr_assert_not(flow_limiter_check(&bad, law_nowhere, &failure));
    }
}
