/* The pressure where water is drawn while levels move. Every expected number is worked out beside
 * its test. */
#include "tests/solver/filling_rig_run.h"

#include <criterion/criterion.h>
#include <math.h>

/* Of 1 m2 a draw of 1 L/s takes 1 mm a second: from 2 m above the tap it is 1 m above after 1000 s,
 * level with it after 2000 s and 0.5 m below after 2500 s. Times are known to one kept instant. */
Test(filling_taps, pressure_that_sinks_with_the_level_is_timed)
{
    struct rig rig;
    rig_init(&rig, 9.80665);
    const int tank = rig_tank(&rig, tank_shape_upright(1.0, 5.0), 0.0, 4.0);
    const int tap = rig_free(&rig, 1e-3);
    rig.points[tap].elevation = 2.0;
    rig.points[tap].wanted_head = 1.0;
    (void)rig_law(&rig, tank, tap,
                  (struct kit_law){.linear = 1e-6, .lower = -HUGE_VAL, .upper = HUGE_VAL});
    rig_run(&rig, 2500.0);
    const struct filling_tap_answer *found = &rig.answer.taps[0];
    const double instant = 2500.0 / (filling_defaults.series_limit - 1);
    cr_assert_eq(rig.answer.tap_count, 1);
    cr_expect_eq(found->point, tap);
    rig_expect(found->lowest, -0.5, 1e-6, "lowest");
    rig_expect(found->lowest_time, 2500.0, 1e-9, "time of the lowest");
    cr_expect_float_eq(found->short_time, 500.0, 1.01 * instant);
    cr_expect_float_eq(found->low_time, 1500.0, 1.01 * instant);
    rig_clear(&rig);
}

/* Behind a valve that lets its water out and none in a tap has no pressure that could be told. */
Test(filling_taps, tap_that_nothing_feeds_gets_none_and_has_no_pressure)
{
    struct rig rig;
    rig_init(&rig, 9.80665);
    const int tap = rig_free(&rig, 1e-3);
    (void)rig_law(&rig, tap, rig_held(&rig, 10.0), (struct kit_law){.linear = 1, .upper = 1});
    (void)rig_tank(&rig, tank_shape_upright(1.0, 5.0), 0.0, 4.0);
    rig_run(&rig, 100.0);
    const struct filling_tap_answer *found = &rig.answer.taps[0];
    cr_assert_eq(rig.answer.tap_count, 1);
    rig_expect(found->short_time, 100.0, 1e-9, "time without pressure");
    rig_expect(found->low_time, 100.0, 1e-9, "time with too little");
    cr_expect(isinf(found->lowest) && isnan(found->lowest_time));
    rig_expect(rig.answer.draws_wanted, 0.1, 1e-9, "wanted");
    cr_expect_eq(rig.answer.draws_given, 0.0);
    rig_clear(&rig);
}
