/* Float switches with several pumps, rest, dry-run protection, prime; draws, timers, weather and
 * overflow. Every expected number is worked out by hand from constant flows (constructed). */
#include "tests/solver/filling_rig_run.h"

#include <criterion/criterion.h>
#include <math.h>

/* A sump of 1.5 m2 fed with 2 L/s, and `count` pumps of 5 L/s that empty it. */
static int sump_with(struct rig *rig, double level, int count)
{
    rig_init(rig, 9.80665);
    const int sump = rig_tank(rig, tank_shape_upright(1.5, 2.0), 0.0, level);
    rig_feed(rig, sump, 0.002);
    for (int i = 0; i < count; i++) {
        (void)rig_pump(rig, sump, 0.005);
    }
    return sump;
}

Test(filling_controls, alternating_pumps_share_the_starts)
{
    struct rig rig;
    (void)sump_with(&rig, 0.4, 2);
    rig_switch(&rig, 0, 1.0, 0.4, 2)->alternates = true;
    rig_run(&rig, 6 * 750.0 + 10.0);
    cr_expect_eq(rig.answer.pumps[0].starts, 3);
    cr_expect_eq(rig.answer.pumps[1].starts, 3);
    rig_expect_balance(&rig);
    rig_clear(&rig);
}

Test(filling_controls, standby_takes_over_while_the_duty_pump_rests)
{
    struct rig rig;
    (void)sump_with(&rig, 0.4, 2);
    (void)rig_switch(&rig, 0, 1.0, 0.4, 2);
    rig.pump_words[0].least_rest = 600; /* the next call comes after 450 s */
    rig_run(&rig, 4 * 750.0);
    cr_expect_eq(rig.answer.pumps[0].starts, 2);
    cr_expect_eq(rig.answer.pumps[1].starts, 2);
    rig_clear(&rig);
}

Test(filling_controls, resting_pump_starts_when_its_rest_is_over)
{
    struct rig rig;
    (void)sump_with(&rig, 0.4, 1);
    (void)rig_switch(&rig, 0, 1.0, 0.4, 1);
    rig.pump_words[0].least_rest = 500;
    rig_run(&rig, 1400);
    cr_expect_float_eq(rig_time_of(&rig, FILLING_PUMP_OFF, 0), 750, 0.001);
    cr_expect_float_eq(rig_time_of(&rig, FILLING_PUMP_ON, 1), 1250, 0.001);
    rig_clear(&rig);
}

Test(filling_controls, second_stage_calls_a_second_pump)
{
    static const double on[] = {1.0, 1.2};
    static const double off[] = {0.4, 0.7};
    struct rig rig;
    (void)sump_with(&rig, 0.4, 2);
    rig_feed(&rig, 0, 0.005); /* 7 L/s in all: one pump cannot hold it */
    struct filling_switch *what = rig_switch(&rig, 0, 1.0, 0.4, 2);
    what->stage_count = 2;
    what->on_level = on;
    what->off_level = off;
    rig_run(&rig, 1000);
    const double first = 0.6 * 1.5 / 0.007;
    const double second = first + 0.2 * 1.5 / 0.002;
    cr_expect_float_eq(rig_time_of(&rig, FILLING_PUMP_ON, 0), first, 0.001);
    cr_expect_float_eq(rig_time_of(&rig, FILLING_PUMP_ON, 1), second, 0.001);
    cr_expect_float_eq(rig_time_of(&rig, FILLING_PUMP_OFF, 0), second + 0.5 * 1.5 / 0.003, 0.001);
    rig_clear(&rig);
}

Test(filling_controls, dry_run_protection_stops_a_pump_whatever_its_float_says)
{
    struct rig rig;
    (void)sump_with(&rig, 1.0, 1);
    (void)rig_switch(&rig, 0, 0.9, 0.1, 1);
    rig.pump_words[0].protect_tank = 0;
    rig.pump_words[0].protect_level = 0.5;
    rig.pump_words[0].restart_level = 0.6;
    rig_run(&rig, 400);
    cr_expect_float_eq(rig_time_of(&rig, FILLING_PROTECTED, 0), 250, 0.001);
    cr_expect_float_eq(rig_time_of(&rig, FILLING_PUMP_OFF, 0), 250, 0.001);
    cr_expect_float_eq(rig_time_of(&rig, FILLING_UNPROTECTED, 0), 325, 0.001);
    cr_expect_float_eq(rig_time_of(&rig, FILLING_PUMP_ON, 1), 325, 0.001);
    rig_clear(&rig);
}

/* 4 L in the suction pipe, 0.01 L/s through the foot valve: empty 400 s after the start, before the
 * call at 450 s. The pump then runs without delivering, and primes itself after 100 s. */
Test(filling_controls, leaking_foot_valve_loses_the_prime)
{
    struct rig rig;
    (void)sump_with(&rig, 0.4, 1);
    (void)rig_switch(&rig, 0, 1.0, 0.4, 1);
    rig.pump_words[0].prime_volume = 0.004;
    rig.pump_words[0].prime_leak = 1e-5;
    rig.pump_words[0].prime_tank = 0;
    rig.pump_words[0].prime_axis = 1.5;
    rig.pump_words[0].prime_time = 100;
    rig_run(&rig, 800);
    cr_expect_float_eq(rig_time_of(&rig, FILLING_PRIME_LOST, 0), 400, 0.001);
    cr_expect_float_eq(rig_time_of(&rig, FILLING_PUMP_ON, 0), 450, 0.001);
    cr_expect_float_eq(rig_time_of(&rig, FILLING_PRIMED, 0), 550, 0.001);
    rig_expect(rig.answer.pumps[0].volume, 250 * 0.005, 1e-8, "volume");
    rig_expect(rig.answer.pumps[0].idle_run, 100, 1e-6, "time without prime");
    rig_expect(rig.answer.pumps[0].air_energy, 100 * 1000, 1e-6, "energy without prime");
    cr_expect_eq(rig.answer.pumps[0].primes_lost, 1);
    rig_clear(&rig);
}

/* The water stands at the pump's axis from the first and falls at once: its suction pipe of 4 L
 * drains from then on and is empty after 400 s. */
Test(filling_controls, prime_drains_where_the_level_starts_at_the_axis)
{
    struct rig rig;
    rig_init(&rig, 9.80665);
    const int sump = rig_tank(&rig, tank_shape_upright(1.5, 2.0), 0.0, 1.5);
    rig_feed(&rig, sump, -0.001);
    rig.pump_words[rig_pump(&rig, sump, 0.005)] = (struct filling_pump){
        .link = rig.pump_words[0].link,
        .protect_tank = NETWORK_NONE,
        .starts_limit = NAN,
        .prime_volume = 0.004,
        .prime_leak = 1e-5,
        .prime_axis = 1.5,
        .prime_time = NAN,
    };
    rig_run(&rig, 600);
    cr_expect_float_eq(rig_time_of(&rig, FILLING_PRIME_LOST, 0), 400, 0.001);
    rig_clear(&rig);
}

/* Draws of 1 and 3 L/s in turns, an outlet's timer, and a price that doubles. */
Test(filling_controls, courses_turn_at_their_times)
{
    static const double times[] = {0, 100};
    static const double flows[] = {0.001, 0.003};
    static const double settings[] = {0, 1};
    static const double prices[] = {1e-6, 2e-6};
    struct rig rig;
    const int sump = sump_with(&rig, 1.0, 1);
    rig.units[0].is_running = true;
    rig.draws[0] = (struct filling_draw){
        .point = NETWORK_NONE, .flow = {.count = 2, .time = times, .value = flows, .period = 200}};
    const int fed = rig_law(&rig, rig_held(&rig, 50), sump, (struct kit_law){.upper = 0.004});
    rig.timers[0] = (struct filling_timer){
        .link = fed, .setting = {.count = 2, .time = times, .value = settings, .period = 200}};
    rig.site.filling.draw_count = rig.site.filling.timer_count = 1;
    rig.site.filling.tariff =
        (struct filling_course){.count = 2, .time = times, .value = prices, .period = 200};
    rig_run(&rig, 300);
    rig_expect(rig.answer.tanks[0].draw, 0.5, 1e-9, "drawn");
    rig_expect(rig.answer.tanks[0].in, 0.6 + 0.4, 1e-9, "came in");
    rig_expect(rig.answer.pumps[0].cost, 1000 * (200e-6 + 200e-6), 1e-9, "cost");
    rig_expect(rig.answer.tanks[0].level_end, 1.0 + (1.0 - 0.5 - 1.5) / 1.5, 1e-9, "level");
    rig_expect_balance(&rig);
    rig_clear(&rig);
}

/* 4 L/s into the upper of two full tanks run over into the lower, which is empty. */
Test(filling_controls, overflow_runs_to_the_tank_it_is_led_to)
{
    struct rig rig;
    rig_init(&rig, 9.80665);
    const int upper = rig_tank(&rig, tank_shape_upright(2.0, 1.0), 5.0, 6.0);
    (void)rig_tank(&rig, tank_shape_upright(2.0, 1.0), 0.0, 0.0);
    rig.words[0].overflow_to = 1;
    rig.words[1].evaporation = 0.0005;
    rig.words[1].leak = 0.001;
    rig_feed(&rig, upper, 0.004);
    rig_run(&rig, 2000);
    const double full = 2.0 / 0.002; /* 4 - 1 (leak) - 1 (evaporation) L/s */
    cr_expect_float_eq(rig_time_of(&rig, FILLING_BRIM, 1), full, 0.001);
    rig_expect(rig.answer.tanks[1].overflow, 0.002 * (2000 - full), 1e-8, "ran over");
    rig_expect_balance(&rig);
    rig_clear(&rig);
}

/* Leak and evaporation of an empty tank take no more than it gets. */
Test(filling_controls, empty_tank_loses_nothing)
{
    struct rig rig;
    rig_init(&rig, 9.80665);
    (void)rig_tank(&rig, tank_shape_upright(2.0, 1.0), 0.0, 0.1);
    rig.words[0].leak = 0.001;
    rig_run(&rig, 1000);
    rig_expect(rig.answer.tanks[0].leak, 0.2, 1e-6, "leaked");
    cr_expect_geq(rig.answer.tanks[0].level_end, 0.0);
    rig_expect_balance(&rig);
    rig_clear(&rig);
}
