/* Filling, levelling out and running over against closed formulas. */
#include "tests/solver/filling_rig_run.h"

#include <criterion/criterion.h>
#include <math.h>

/* Constructed: a pump that gives Q = sqrt((20 - z)/40000) m3/s against level z fills 10 m2 from 4
 * to 11 m in 2 A 200 (sqrt(16) - sqrt(9)) = 4000 s exactly. */
Test(filling_rising, pump_fills_against_rising_level_on_time)
{
    struct rig rig;
    rig_init(&rig, 9.80665);
    const int tank = rig_tank(&rig, tank_shape_upright(10.0, 11.0), 0.0, 4.0);
    (void)rig_law(&rig, rig_held(&rig, 0.0), tank, kit_pump(20, 40000));
    rig_run(&rig, 5000);
    const double found = rig_time_of(&rig, FILLING_BRIM, 0);
    rig_expect(found, 4000, 1e-6, "time to the brim");
    cr_expect_float_eq(found, 4000, 0.001);
    /* From there on what comes runs over. */
    rig_expect(rig.answer.tanks[0].overflow, 1000 * sqrt(9.0 / 40000), 1e-6, "overflow");
    rig_expect(rig.answer.tanks[0].brim_time, 1000, 1e-5, "time at the brim");
    rig_expect_balance(&rig);
    rig_clear(&rig);
}

/* Constructed: two tanks joined by a pipe of fixed friction, drop = r Q|Q|. Their difference D
 * obeys dD/dt = -(1/A1 + 1/A2) sqrt(D/r), so sqrt(D) falls evenly with time. */
Test(filling_rising, two_tanks_level_out_through_a_pipe)
{
    const double r = 3.0e4;
    const double areas = 1 / 2.0 + 1 / 3.0;
    const double whole = 2 * sqrt(r) * sqrt(4.0) / areas; /* s until level */
    for (int i = 0; i < 3; i++) {
        const double time = (0.3 + 0.4 * i) * whole;
        struct rig rig;
        rig_init(&rig, 9.80665);
        const int high = rig_tank(&rig, tank_shape_upright(2.0, 6.0), 0.0, 5.0);
        const int low = rig_tank(&rig, tank_shape_upright(3.0, 6.0), 0.0, 1.0);
        (void)rig_law(&rig, high, low, kit_resistance(r));
        rig_run(&rig, time);
        const double root = fmax(0.0, sqrt(4.0) * (1 - time / whole));
        const double mean = (2.0 * 5.0 + 3.0 * 1.0) / 5.0;
        cr_expect_float_eq(rig.answer.tanks[0].level_end, mean + 0.6 * root * root, 1e-6);
        cr_expect_float_eq(rig.answer.tanks[1].level_end, mean - 0.4 * root * root, 1e-6);
        rig_expect_balance(&rig);
        rig_clear(&rig);
    }
}

/* Constructed: 2 L/s flow in; the pump takes 5 L/s while on; 1.5 m2 between 0.4 and 1.0 m. */
Test(filling_rising, float_switch_keeps_its_times)
{
    struct rig rig;
    rig_init(&rig, 9.80665);
    const int sump = rig_tank(&rig, tank_shape_upright(1.5, 2.0), 0.0, 0.4);
    rig_feed(&rig, sump, 0.002);
    (void)rig_pump(&rig, sump, 0.005);
    (void)rig_switch(&rig, 0, 1.0, 0.4, 1);
    rig_run(&rig, 10 * 750.0 + 100.0);
    for (int i = 0; i < 10; i++) {
        cr_expect_float_eq(rig_time_of(&rig, FILLING_PUMP_ON, i), 450 + 750 * i, 0.001);
        cr_expect_float_eq(rig_time_of(&rig, FILLING_PUMP_OFF, i), 750 + 750 * i, 0.001);
    }
    rig_expect(rig_time_of(&rig, FILLING_PUMP_ON, 1) - rig_time_of(&rig, FILLING_PUMP_ON, 0), 750,
               1e-9, "cycle (4.8 starts an hour)");
    cr_expect_eq(rig.answer.pumps[0].starts, 10);
    cr_expect_eq(rig.answer.pumps[0].most_starts, 5);
    rig_expect(rig.answer.pumps[0].shortest_run, 300, 1e-9, "shortest run");
    rig_expect(rig.answer.pumps[0].run_time, 3000, 1e-9, "time run");
    rig_expect(rig.answer.pumps[0].volume, 15.0, 1e-9, "volume");
    rig_expect(rig.answer.pumps[0].energy, 3.0e6, 1e-9, "energy at 1000 W");
    rig_expect_balance(&rig);
    rig_clear(&rig);
}

/* Constructed: 3 L/s come in, an opening at the floor would take far more: the level stands at the
 * floor and what comes in goes out, without any switching to and fro. */
Test(filling_rising, empty_tank_passes_on_what_it_gets)
{
    struct rig rig;
    rig_init(&rig, 9.80665);
    const int tank = rig_tank(&rig, tank_shape_upright(2.0, 3.0), 0.0, 1.0);
    rig_feed(&rig, tank, 0.003);
    (void)rig_orifice(&rig, tank, -0.5, 0.01, 0.6);
    rig_run(&rig, 3600);
    cr_expect_lt(rig.answer.switch_count, 5);
    cr_expect_float_eq(rig.answer.tanks[0].level_end, 0.0, 1e-6);
    rig_expect(rig.answer.edge_volume[0], 2.0 + 0.003 * 3600, 1e-7, "what went out");
    rig_expect_balance(&rig);
    rig_clear(&rig);
}

/* Constructed: both levels of a sump's float switch are the same, so the pump would start and stop
 * without end. */
static void run_chattering(struct rig *rig, double level)
{
    rig_init(rig, 9.80665);
    const int sump = rig_tank(rig, tank_shape_upright(1.5, 2.0), 0.0, level);
    rig_feed(rig, sump, 0.002);
    (void)rig_pump(rig, sump, 0.005);
    rig_switch(rig, 0, 0.7, 0.7, 1)->is_emptying = true;
    struct filling_options options = filling_defaults;
    options.duration = 86400;
    rig_run_with(rig, options);
    cr_expect_eq(rig->answer.ending, FILLING_CHATTERS);
}

Test(filling_rising, chattering_switch_is_found)
{
    struct rig rig;
    run_chattering(&rig, 0.4);
    cr_expect_float_eq(rig.answer.time_reached, 225, 1.0);
    cr_expect_eq(rig.answer.chattering_subject, 0);
    cr_expect_lt(rig.answer.step_count, 1000);
    rig_clear(&rig);
}

/* The sump stands at that level from the first: it chatters from the first. */
Test(filling_rising, chattering_switch_is_found_where_the_level_starts_at_it)
{
    struct rig rig;
    run_chattering(&rig, 0.7);
    cr_expect_lt(rig.answer.time_reached, 0.001);
    rig_clear(&rig);
}

/* A float that fills: at its level from the first too, and one that only begins there and whose
 * levels lie apart runs at once: 5 L/s in less 2 L/s out fill 1.5 m2 by 0.3 m in 150 s. */
Test(filling_rising, switch_acts_at_once_where_the_level_starts_at_it)
{
    struct rig rig;
    rig_init(&rig, 9.80665);
    const int tank = rig_tank(&rig, tank_shape_upright(1.5, 3.0), 20.0, 20.7);
    rig_feed(&rig, tank, -0.002);
    (void)rig_pump(&rig, rig_held(&rig, 0.0), 0.005);
    rig.links[rig.network.link_count - 1].to = tank;
    (void)rig_switch(&rig, 0, 20.7, 21.0, 1);
    rig_run(&rig, 400);
    cr_expect_float_eq(rig_time_of(&rig, FILLING_PUMP_ON, 0), 0.0, 1e-12);
    cr_expect_float_eq(rig_time_of(&rig, FILLING_PUMP_OFF, 0), 150.0, 0.001);
    cr_expect_float_eq(rig_time_of(&rig, FILLING_PUMP_ON, 1), 375.0, 0.001);
    rig_clear(&rig);
}

/* A tank full to the brim from the first, into which nothing flows until 100 s, then 0.01 L/s more
 * each second: it runs over from then on and never stands above its brim. */
Test(filling_rising, full_tank_runs_over_when_its_inflow_begins)
{
    static const double times[] = {0, 100, 300};
    static const double flows[] = {0, 0, -0.002};
    struct rig rig;
    rig_init(&rig, 9.80665);
    (void)rig_tank(&rig, tank_shape_upright(1.5, 2.0), 0.0, 2.0);
    rig.draws[0] = (struct filling_draw){
        .point = NETWORK_NONE,
        .flow = {.count = 3, .time = times, .value = flows, .is_straight = true}};
    rig.site.filling.draw_count = 1;
    rig_run(&rig, 300);
    cr_expect_float_eq(rig_time_of(&rig, FILLING_BRIM, 0), 100.0, 0.01);
    rig_expect(rig.answer.tanks[0].overflow, 0.5 * 200 * 0.002, 1e-6, "ran over");
    cr_expect_float_eq(rig.answer.tanks[0].highest, 2.0, 1e-8);
    rig_expect_balance(&rig);
    rig_clear(&rig);
}

/* Constructed: levels a tenth of a millimetre apart are passed many times a second. */
Test(filling_rising, chattering_by_levels_too_near_is_found)
{
    struct rig rig;
    rig_init(&rig, 9.80665);
    const int sump = rig_tank(&rig, tank_shape_upright(0.2, 2.0), 0.0, 0.4);
    rig_feed(&rig, sump, 0.002);
    (void)rig_pump(&rig, sump, 0.005);
    (void)rig_switch(&rig, 0, 0.7001, 0.7, 1);
    struct filling_options options = filling_defaults;
    options.duration = 86400;
    rig_run_with(&rig, options);
    cr_expect_eq(rig.answer.ending, FILLING_CHATTERS, "%s after %g",
                 filling_ending_text(rig.answer.ending), rig.answer.time_reached);
    rig_clear(&rig);
}
