/* What a site of several hours can have, each item said in a case as a person writes it: shapes of
 * tanks, timed outlets, draws over the day, floats with duty, standby, stages, rest and dry-run
 * protection, overflow, prime, tariff, starts. Flows are held constant by flow limiters, so every
 * expected time and volume is worked out by hand (constructed). Events hold to 1 ms. */
#include "models/circle.h"
#include "tests/io/hours.h"

static const double blur = 0.001; /* s */

/* A sump of 1.5 m2 and two pumps that lift 5 L/s each while they run. `suction` stands before the
 * first. */
#define SITE(level, suction, more)                                                                 \
    "water: {temperature: 12 degC}\n"                                                              \
    "tanks:\n"                                                                                     \
    "  sump: {floor: 0 m, brim: 2 m, level: " level ", area: 1.5 m2}\n"                            \
    "  ditch: {level: 3 m, fixed: yes, inlet: above water, inlet elevation: 3.2 m}\n"              \
    "pumps:\n"                                                                                     \
    "  lift: {speed: 2900 rpm, flow: 0 5 10 L/s, head: 60 55 40 m, power: 5 5 5 kW}\n"             \
    "runs:\n"                                                                                      \
    "  one: {from: sump, to: ditch, parts: [" suction "{pump: lift, name: lift-1, running: no},\n" \
    "        {flow limiter: 5 L/s, loss: 1, bore: 50 mm, one way: yes},\n"                         \
    "        {pipe: pvc-u 63 pn10, length: 12 m, end: 3.2 m}]}\n"                                  \
    "  two: {from: sump, to: ditch, parts: [{pump: lift, name: lift-2, running: no},\n"            \
    "        {flow limiter: 5 L/s, loss: 1, bore: 50 mm, one way: yes},\n"                         \
    "        {pipe: pvc-u 63 pn10, length: 12 m, end: 3.2 m}]}\n"                                  \
    "filling:\n" more
#define INFLOW(flow) "  tanks: {sump: {inflow: " flow "}}\n"
#define FLOAT(pumps, more)                                                                         \
    "  floats: {float: {tank: sump, pumps: " pumps ", on: 1.0 m, off: 0.4 m" more "}}\n"

/* --- tanks --- */

/* From empty to the brim with 2 L/s: the volume of the solid (any handbook of mensuration). */
static void expect_filled(const char *shape, double volume)
{
    char text[700];
    (void)snprintf(text, sizeof text,
                   "water: {temperature: 12 degC}\n"
                   "tanks:\n"
                   "  low: {floor: 0 m, brim: 1.6 m, level: 0 m, area: 1 m2}\n"
                   "  high: {level: 9 m, fixed: yes, inlet: above water, inlet elevation: 9.5 m}\n"
                   "runs:\n"
                   "  rise: {from: low, to: high, parts: [{pipe: pvc-u 63 pn10, length: 12 m}]}\n"
                   "filling:\n  duration: %.17g s\n"
                   "  tanks: {low: {inflow: 2 L/s, %s}}\n",
                   volume / 0.002 + 500.0, shape);
    const struct hours hours = hours_of(text, NULL);
    const double found = time_of(&hours, FILLING_BRIM, "low", 0);
    cr_expect_float_eq(found, volume / 0.002, fmin(blur, 1e-6 * volume / 0.002), "%s: %.9g s",
                       shape, found);
    cr_expect_float_eq(tank_of(&hours, "low")->overflow, 1.0, 2e-6, "%s", shape);
    arena_free(hours.arena);
}

Test(filling_sites, every_shape_fills_in_its_time)
{
    expect_filled("shape: upright", 1.6);
    expect_filled("shape: box, length: 2 m, width: 1.25 m", 4.0);
    expect_filled("shape: cylinder, bore: 2 m", circle_pi * 1.6);
    expect_filled("shape: ring, bore: 3 m, inner bore: 1 m", circle_pi / 4 * (9 - 1) * 1.6);
    expect_filled("shape: lying cylinder, bore: 1.6 m, length: 2.5 m",
                  circle_pi / 4 * 1.6 * 1.6 * 2.5);
    expect_filled("shape: cone, bottom bore: 0.8 m, top bore: 2 m",
                  circle_pi / 12 * 1.6 * (0.64 + 1.6 + 4));
    expect_filled("shape: sphere, bore: 1.6 m", circle_pi / 6 * 1.6 * 1.6 * 1.6);
}

/* 1 L/s into the full sump runs over to the pit: from empty to 0.3 m of 2 m2 in 600 s. */
Test(filling_sites, overflow_fills_the_tank_it_is_led_to)
{
    const struct hours hours =
        hours_of("water: {temperature: 12 degC}\n"
                 "tanks:\n"
                 "  upper: {floor: 2 m, brim: 3 m, level: 3 m, area: 1.5 m2}\n"
                 "  pit: {floor: 0 m, brim: 1 m, level: 0 m, area: 2 m2}\n"
                 "runs:\n"
                 "  rise: {from: pit, to: upper, parts: [{non-return: ball, size: DN50,\n"
                 "         mounting: vertical up}, {pipe: pvc-u 63 pn10, length: 4 m}]}\n"
                 "filling:\n  duration: 600 s\n"
                 "  tanks: {upper: {inflow: 1 L/s, overflow to: pit}}\n",
                 NULL);
    cr_expect_float_eq(tank_of(&hours, "upper")->overflow, 0.6, 1e-7);
    cr_expect_float_eq(tank_of(&hours, "upper")->brim_time, 600, 0.001);
    cr_expect_float_eq(tank_of(&hours, "pit")->level_end, 0.3, 1e-7);
    arena_free(hours.arena);
}

/* --- what the clock does --- */

/* 1 L/s leaves from 5 to 15 min and once more from 20 min on. */
Test(filling_sites, outlet_opens_by_its_timer)
{
    const struct hours hours =
        hours_of("water: {temperature: 12 degC}\n"
                 "tanks: {high: {floor: 4 m, brim: 6 m, level: 5.5 m, area: 1.5 m2}}\n"
                 "outlets: {spray: {elevation: 0 m, bore: 40 mm}}\n"
                 "runs:\n"
                 "  feed: {from: high, to: spray, parts: [{flow limiter: 1 L/s, loss: 1,\n"
                 "         bore: 50 mm}, {pipe: pvc-u 63 pn10, length: 6 m, end: 0 m}]}\n"
                 "filling:\n  duration: 25 min\n"
                 "  timers: [{what: spray, on: 5 20 min, off: 15 40 min}]\n",
                 NULL);
    const struct filling_tank_answer *high = tank_of(&hours, "high");
    cr_expect_float_eq(high->out, 0.6 + 0.3, 1e-7);
    cr_expect_float_eq(high->level_end, 5.5 - 0.9 / 1.5, 1e-7);
    arena_free(hours.arena);
}

/* Over two days: 0.1 L/s from 22 to 6 h and 0.02 L/s from 6 to 22 h, out of a clock of 12 h. */
Test(filling_sites, draw_follows_the_curve_of_the_day)
{
    const struct hours hours =
        hours_of(SITE("2 m", "",
                      "  duration: 48 h\n  clock: 12 h\n"
                      "  tanks: {sump: {shape: box, length: 5 m, width: 2 m}}\n"
                      "  draws: [{from: sump, times: 6 22 h, flow: 0.02 0.1 L/s}]\n"),
                 NULL);
    cr_expect_float_eq(tank_of(&hours, "sump")->draw, 2 * 3600 * (16 * 2e-5 + 8 * 1e-4), 1e-6);
    arena_free(hours.arena);
}

/* On from 450 to 750 s at 5 kW; the price turns after 600 s, at 7 o'clock. */
Test(filling_sites, energy_costs_what_the_tariff_says)
{
    const struct hours hours =
        hours_of(SITE("0.4 m", "",
                      "  duration: 800 s\n  clock: 410 min\n"
                      "  tariff: {from: 0 7 h, price: 0.2 0.3 /kWh}\n" INFLOW("2 L/s")
                          FLOAT("[lift-1]", "")),
                 NULL);
    const struct filling_pump_answer *lift = pump_of(&hours, "lift-1");
    cr_expect_float_eq(lift->energy, 5000.0 * 300, 1.5);
    cr_expect_float_eq(lift->cost, 5 * (150 * 0.2 + 150 * 0.3) / 3600, 1e-6 * lift->cost);
    arena_free(hours.arena);
}

/* --- floats --- */

Test(filling_sites, alternating_duty_shares_the_starts)
{
    const struct hours hours = hours_of(SITE("0.4 m", "",
                                             "  duration: 75.2 min\n" INFLOW("2 L/s")
                                                 FLOAT("[lift-1, lift-2]", ", duty: alternating")),
                                        NULL);
    for (int i = 0; i < 3; i++) {
        cr_expect_float_eq(time_of(&hours, FILLING_PUMP_ON, "lift-1", i), 450 + 1500 * i, blur);
        cr_expect_float_eq(time_of(&hours, FILLING_PUMP_ON, "lift-2", i), 1200 + 1500 * i, blur);
    }
    arena_free(hours.arena);
}

/* The duty pump may not start again 450 s after it stopped: the standby does. */
Test(filling_sites, standby_runs_while_the_duty_pump_rests)
{
    const struct hours hours =
        hours_of(SITE("0.4 m", "",
                      "  duration: 50 min\n  pumps: {lift-1: {rest: 10 min}}\n" INFLOW("2 L/s")
                          FLOAT("[lift-1, lift-2]", "")),
                 NULL);
    cr_expect_float_eq(time_of(&hours, FILLING_PUMP_ON, "lift-1", 0), 450, blur);
    cr_expect_float_eq(time_of(&hours, FILLING_PUMP_ON, "lift-2", 0), 1200, blur);
    cr_expect_float_eq(time_of(&hours, FILLING_PUMP_ON, "lift-1", 1), 1950, blur);
    arena_free(hours.arena);
}

Test(filling_sites, pump_waits_for_its_rest)
{
    const struct hours hours =
        hours_of(SITE("0.4 m", "",
                      "  duration: 21 min\n"
                      "  pumps: {lift-1: {rest: 500 s}}\n" INFLOW("2 L/s") FLOAT("[lift-1]", "")),
                 NULL);
    cr_expect_float_eq(time_of(&hours, FILLING_PUMP_OFF, "lift-1", 0), 750, blur);
    cr_expect_float_eq(time_of(&hours, FILLING_PUMP_ON, "lift-1", 1), 1250, blur);
    arena_free(hours.arena);
}

/* 7 L/s: one pump cannot hold it, a second level calls the second. */
Test(filling_sites, second_level_calls_a_second_pump)
{
    const struct hours hours = hours_of(
        SITE("0.4 m", "",
             "  duration: 1000 s\n" INFLOW("7 L/s") "  floats: {float: {tank: sump, "
                                                    "pumps: [lift-1, lift-2], on: 1.0 1.2 m, "
                                                    "off: 0.4 0.7 m}}\n"),
        NULL);
    const double first = 0.6 * 1.5 / 0.007;
    const double second = first + 0.2 * 1.5 / 0.002;
    cr_expect_float_eq(time_of(&hours, FILLING_PUMP_ON, "lift-1", 0), first, blur);
    cr_expect_float_eq(time_of(&hours, FILLING_PUMP_ON, "lift-2", 0), second, blur);
    cr_expect_float_eq(time_of(&hours, FILLING_PUMP_OFF, "lift-2", 0), second + 0.5 * 1.5 / 0.003,
                       blur);
    arena_free(hours.arena);
}

Test(filling_sites, dry_run_protection_stops_a_pump)
{
    const struct hours hours = hours_of(
        SITE("1.0 m", "",
             "  duration: 400 s\n"
             "  pumps: {lift-1: {dry-run level: 0.5 m, restart level: 0.6 m}}\n"
             "  floats: {float: {tank: sump, pumps: [lift-1], on: 0.9 m, off: 0.1 m}}\n" INFLOW(
                 "2 L/s")),
        NULL);
    cr_expect_float_eq(time_of(&hours, FILLING_PROTECTED, "lift-1", 0), 250, blur);
    cr_expect_float_eq(time_of(&hours, FILLING_PUMP_OFF, "lift-1", 0), 250, blur);
    cr_expect_float_eq(time_of(&hours, FILLING_PUMP_ON, "lift-1", 1), 325, blur);
    arena_free(hours.arena);
}

/* The suction pipe to 1.5 m holds 4 L, of which 0.01 L/s leak away: empty 50 s before the call. The
 * pump runs 100 s until it has primed itself. */
Test(filling_sites, leaking_foot_valve_loses_the_prime)
{
    const struct hours hours =
        hours_of(SITE("0.4 m", "{pipe: pvc-u 63 pn10, length: 2 m, end: 1.5 m}, ",
                      "  duration: 800 s\n"
                      "  pumps: {lift-1: {foot valve leak: 0.01 L/s, suction volume: 4 L, "
                      "prime time: 100 s}}\n" INFLOW("2 L/s") FLOAT("[lift-1]", "")),
                 NULL);
    cr_expect_float_eq(time_of(&hours, FILLING_PRIME_LOST, "lift-1", 0), 400, blur);
    cr_expect_float_eq(time_of(&hours, FILLING_PRIMED, "lift-1", 0), 550, blur);
    cr_expect_float_eq(pump_of(&hours, "lift-1")->idle_run, 100, blur);
    cr_expect_float_eq(pump_of(&hours, "lift-1")->volume, 250 * 0.005, 1e-6);
    arena_free(hours.arena);
}

/* A cycle of 750 s is 4.8 starts an hour: five in the fullest hour, which a limit of five allows
 * and one of four does not. Unless said it is ten. */
Test(filling_sites, starts_are_held_against_their_limit)
{
    static const char *const said[] = {"", "  pumps: {lift-1: {starts an hour: 4}}\n"};
    static const double limit[] = {10, 4};
    for (int i = 0; i < 2; i++) {
        char text[2000];
        (void)snprintf(text, sizeof text, "%s%s",
                       SITE("0.4 m", "", "  duration: 2 h\n" INFLOW("2 L/s") FLOAT("[lift-1]", "")),
                       said[i]);
        const struct hours hours = hours_of(text, NULL);
        const struct filling_pump_answer *lift = pump_of(&hours, "lift-1");
        cr_expect_eq(lift->starts, 10);
        cr_expect_eq(lift->most_starts, 5);
        cr_expect_float_eq(lift->starts_limit, limit[i], 1e-12);
        arena_free(hours.arena);
    }
}

/* --- run-back --- */

#define RISER(valve, more)                                                                         \
    "water: {temperature: 12 degC}\n"                                                              \
    "tanks:\n"                                                                                     \
    "  sump: {floor: 0 m, brim: 2 m, level: 1.0 m, area: 1.5 m2, outlet elevation: 0 m}\n"         \
    "  ditch: {floor: 2 m, brim: 9 m, level: 3 m, area: 4 m2, inlet: above water,\n"               \
    "          inlet elevation: 8 m}\n"                                                            \
    "pumps:\n"                                                                                     \
    "  lift: {speed: 2900 rpm, flow: 0 5 10 L/s, head: 60 55 40 m, power: 5 5 5 kW}\n"             \
    "runs:\n"                                                                                      \
    "  rise: {from: sump, to: ditch, parts: [{pump: lift, name: lift-1, running: no},\n"           \
    "        {flow limiter: 5 L/s, loss: 1, bore: 50 mm}, " valve "\n"                             \
    "        {pipe: own, length: 4 m, end: 0 m, bore: 100 mm, roughness: 0.01 mm},\n"              \
    "        {pipe: own, length: 10 m, end: 8 m, bore: 80 mm, roughness: 0.01 mm}]}\n"             \
    "filling:\n  duration: 1000 s\n" more
#define FLOATS "  floats: {float: {tank: sump, pumps: [lift-1], on: 1.0 m, off: 0.4 m}}\n"

/* The pipe rises 8 m over its 10 m, so that of it 10 (1 - z/8) m stand above a level z. When the
 * pump stops at 0.4 m this runs back until the water it brings has met it: 1.5 (z - 0.4) = 10 (1 -
 * z/8) a. The next start fills the pipe before anything comes out. */
Test(filling_sites, pipe_above_the_water_runs_back)
{
    const double a = circle_area(0.08);
    const double z = (10 * a + 1.5 * 0.4) / (1.5 + 10 * a / 8);
    const double first = 10 * a * (1 - 0.4 / 8);
    const struct hours hours = hours_of(RISER("", FLOATS), NULL);
    const struct filling_pump_answer *lift = pump_of(&hours, "lift-1");
    cr_expect_eq(lift->starts, 1);
    cr_expect_float_eq(lift->volume_back, 10 * a * (1 - z / 8), 2e-8, "%.9g of at most %.9g m3",
                       lift->volume_back, first);
    cr_expect_float_eq(tank_of(&hours, "sump")->level_end, z, 1e-8);
    /* Before the start the pipe stood empty down to 1.0 m; from 1.0 to 0.4 m 0.9 m3 went up. */
    cr_expect_float_eq(tank_of(&hours, "ditch")->in, 0.9 - 10 * a * (1 - 1.0 / 8), 1e-6);
    arena_free(hours.arena);
}

Test(filling_sites, non_return_valve_keeps_the_pipe_full)
{
    const struct hours hours =
        hours_of(RISER("{non-return: ball, size: DN50, mounting: vertical up},", FLOATS), NULL);
    cr_expect_float_eq(pump_of(&hours, "lift-1")->volume_back, 0.0, 1e-9);
    cr_expect_float_eq(tank_of(&hours, "sump")->level_end, 0.4, 1e-7);
    cr_expect_float_eq(tank_of(&hours, "ditch")->in, 0.9, 1e-6);
    arena_free(hours.arena);
}

/* What runs back lifts the sump to its float again, over and over: the pump starts more often than
 * its inflow alone asks for, and delivers no more than what comes in. */
Test(filling_sites, run_back_makes_more_starts)
{
    const struct hours without =
        hours_of(RISER("{non-return: ball, size: DN50, mounting: vertical up},",
                       "  tanks: {sump: {inflow: 2 L/s}}\n"
                       "  floats: {float: {tank: sump, pumps: [lift-1], on: 0.9 m, off: 0.8 m}}\n"),
                 NULL);
    const struct hours with = hours_of(
        RISER("", "  tanks: {sump: {inflow: 2 L/s}}\n"
                  "  floats: {float: {tank: sump, pumps: [lift-1], on: 0.9 m, off: 0.8 m}}\n"),
        NULL);
    cr_expect_gt(pump_of(&with, "lift-1")->starts, pump_of(&without, "lift-1")->starts);
    cr_expect_gt(pump_of(&with, "lift-1")->energy, pump_of(&without, "lift-1")->energy);
    arena_free(with.arena);
    arena_free(without.arena);
}

/* --- how long water stays --- */

/* Mean time in a mixed tank of volume V fed with Q is V/Q; in a pipe (plug flow) its content over
 * Q, for the mean of any throughflow (Danckwerts 1953, Chem. Eng. Sci. 2, 1-13; Levenspiel,
 * Chemical Reaction Engineering, chapter 11). Here the tank stands full and 1 L/s passes. */
Test(filling_sites, water_stays_for_volume_over_flow)
{
    const struct hours hours = hours_of(
        "water: {temperature: 12 degC}\n"
        "tanks:\n"
        "  high: {floor: 4 m, brim: 6 m, level: 5.0 m, area: 1.5 m2}\n"
        "  pool: {level: 1 m, fixed: yes}\n"
        "runs:\n"
        "  feed: {from: high, to: pool, parts: [{flow limiter: 1 L/s, loss: 1,\n"
        "         bore: 50 mm}, {pipe: own, length: 20 m, end: 0.5 m, bore: 60 mm,\n"
        "    roughness: 0.01 mm}, {pipe: own, length: 5 m, bore: 40 mm, roughness: 0.01 mm}]}\n"
        "filling:\n  duration: 2 h\n  tanks: {high: {inflow: 1 L/s}}\n",
        NULL);
    const double content = 20 * circle_area(0.06) + 5 * circle_area(0.04);
    cr_expect_float_eq(tank_of(&hours, "high")->residence, 1.5 / 0.001, 1e-6 * 1500);
    cr_assert_eq(hours.filling.run_count, 1);
    cr_expect_float_eq(hours.filling.runs[0].content, content, 1e-12);
    cr_expect_float_eq(hours.filling.runs[0].residence, content / 0.001, 1e-6 * content / 0.001);
    arena_free(hours.arena);
}

/* The pump takes 5 L/s for 300 of 750 s: 2 L/s in the mean through the pipe, and through the sump,
 * whose mean level over whole cycles is 0.7 m. */
Test(filling_sites, stay_in_what_is_fed_by_turns_is_that_of_the_mean_flow)
{
    const struct hours hours = hours_of(
        SITE("0.4 m", "", "  duration: 7500 s\n" INFLOW("2 L/s") FLOAT("[lift-1]", "")), NULL);
    const struct filling_run_answer *one = &hours.filling.runs[0];
    const double stay = tank_of(&hours, "sump")->residence;
    cr_expect_float_eq(stay, 1.5 * 0.7 / 0.002, 1e-6 * 525, "%.9g", stay);
    cr_expect_float_eq(one->residence, one->content / 0.002, 1e-6 * one->content / 0.002);
    cr_expect(isnan(hours.filling.runs[1].residence));
    arena_free(hours.arena);
}
