/* Pumps that draw air because every mouth that feeds them stands out of the water. Times are worked
 * out by hand from constant flows (constructed). */
#include "tests/solver/filling_rig_run.h"

#include <criterion/criterion.h>

/* A tank of 1.5 m2 with `level` m of water. */
static int sump(struct rig *rig, double level)
{
    return rig_tank(rig, tank_shape_upright(1.5, 2.0), 0.0, level);
}

static int running_pump(struct rig *rig, int from)
{
    const int pump = rig_pump(rig, from, 0.005);
    rig->units[pump].is_running = true;
    return pump;
}

/* It takes 600 W where no water comes and 80 W more for each litre a second. */
static int pump_with_slope(struct rig *rig, int from)
{
    const int index = running_pump(rig, from);
    struct pump *pump = &rig->pumps[index];
    struct failure failure = {0};
    pump->power[0] = 600;
    pump->power[1] = 1400;
    cr_assert(pump_init(pump, &rig->site.water, &failure), "%s", failure.message);
    return index;
}

/* 0.75 m3 go in 150 s; nothing is fed, and the pump runs on. */
Test(filling_supply, pump_that_nobody_stops_draws_air)
{
    struct rig rig;
    rig_init(&rig, 9.80665);
    (void)pump_with_slope(&rig, sump(&rig, 0.5));
    rig_run(&rig, 400);
    rig_expect(rig.answer.pumps[0].run_time, 400, 1e-6, "time it ran");
    cr_expect_float_eq(rig.answer.pumps[0].dry_run, 250, 0.001);
    rig_expect(rig.answer.pumps[0].air_energy, 250 * 600, 1e-5, "energy with air in it");
    rig_expect(rig.answer.pumps[0].energy, 250 * 600 + 150 * 1000, 1e-5, "energy");
    cr_expect_float_eq(rig.answer.tanks[0].dry_time, 250, 0.001);
    rig_clear(&rig);
}

/* A trickle of 2 L/s comes in where 5 are drawn: 0.75 m3 go in 250 s, then it draws air too. */
Test(filling_supply, pump_that_gets_a_trickle_draws_air)
{
    struct rig rig;
    rig_init(&rig, 9.80665);
    const int point = sump(&rig, 0.5);
    rig_feed(&rig, point, 0.002);
    (void)pump_with_slope(&rig, point);
    rig_run(&rig, 400);
    cr_expect_float_eq(rig.answer.pumps[0].dry_run, 150, 0.001);
    rig_expect(rig.answer.pumps[0].air_energy, 150 * 760, 1e-5, "energy with air in it");
    rig_clear(&rig);
}

/* Dry-run protection stops it in time. */
Test(filling_supply, pump_that_is_stopped_in_time_draws_none)
{
    struct rig rig;
    rig_init(&rig, 9.80665);
    (void)running_pump(&rig, sump(&rig, 0.5));
    rig.pump_words[0].protect_tank = 0;
    rig.pump_words[0].protect_level = 0.1;
    rig.pump_words[0].restart_level = 0.4;
    rig_run(&rig, 400);
    rig_expect(rig.answer.pumps[0].run_time, 120, 1e-3, "time it ran");
    cr_expect_eq(rig.answer.pumps[0].dry_run, 0.0);
    cr_expect_eq(rig.answer.pumps[0].air_energy, 0.0);
    rig_clear(&rig);
}

/* Two tanks joined before the pump, the first with no water from the first: the second feeds it
 * until it is down too. */
Test(filling_supply, one_of_two_tanks_is_enough)
{
    struct rig rig;
    rig_init(&rig, 9.80665);
    const int dry = sump(&rig, 0.0);
    const int wet = sump(&rig, 0.5);
    const int joined = rig_free(&rig, 0.0);
    const struct kit_law one_way = {.linear = 1e-3, .upper = 1.0};
    (void)rig_law(&rig, dry, joined, one_way);
    (void)rig_law(&rig, wet, joined, one_way);
    (void)running_pump(&rig, joined);
    rig_run(&rig, 400);
    cr_expect_float_eq(rig.answer.tanks[1].dry_time, 250, 0.001);
    cr_expect_float_eq(rig.answer.pumps[0].dry_run, 250, 0.001);
    rig_clear(&rig);
}

/* Water of fixed level never ends. */
Test(filling_supply, pump_on_fixed_water_draws_none)
{
    struct rig rig;
    rig_init(&rig, 9.80665);
    (void)running_pump(&rig, rig_held(&rig, 0.0));
    rig_run(&rig, 400);
    cr_expect_eq(rig.answer.pumps[0].dry_run, 0.0);
    rig_clear(&rig);
}

/* Its mouth stands 0.3 m above that of an opening which drains the tank further: in 90 s the 5 L/s
 * bring the water from 0.6 m down to it; the opening lets none by. */
Test(filling_supply, mouth_above_the_lowest_counts_for_itself)
{
    struct rig rig;
    struct filling_mouth mouths[2];
    rig_init(&rig, 9.80665);
    const int point = sump(&rig, 0.6);
    const int pump = running_pump(&rig, point);
    const int drain =
        rig_law(&rig, point, rig_held(&rig, -10.0), (struct kit_law){.linear = 1, .upper = 0.0});
    mouths[0] =
        (struct filling_mouth){.link = rig.pump_words[pump].link, .tank = 0, .elevation = 0.3};
    mouths[1] = (struct filling_mouth){.link = drain, .tank = 0, .elevation = 0.0};
    rig.site.filling.mouths = mouths;
    rig.site.filling.mouth_count = 2;
    rig_run(&rig, 400);
    cr_expect_float_eq(rig.answer.pumps[0].dry_run, 310, 0.001);
    cr_expect_eq(rig.answer.tanks[0].dry_time, 0.0);
    rig_clear(&rig);
}
