/* Hours of whole small cases, read as a person writes them, tables beside them: what comes in
 * through the door reaches the run. Every expected number is worked out by hand (constructed). */
#include "tests/io/hours.h"

/* Two tanks on a pipe so short that nothing of it matters where no water moves between them. */
#define CASE(level, area, more)                                                                    \
    "water: {temperature: 12 degC}\n"                                                              \
    "tanks:\n"                                                                                     \
    "  low: {floor: 0 m, brim: 3 m, level: " level ", area: " area "}\n"                           \
    "  high: {level: 9 m, fixed: yes, inlet: above water, inlet elevation: 9.5 m}\n"               \
    "runs:\n"                                                                                      \
    "  rise: {from: low, to: high, parts: [{pipe: pvc-u 63 pn10, length: 12 m}]}\n"                \
    "filling:\n" more

/* 1 L/s until 10 min, 3 L/s until 20 min, then 0.5 L/s: 0.6 + 1.8 + 0.3 m3 of 2 m2. */
Test(filling_cases, draw_follows_a_table_in_its_units)
{
    const struct hours hours = hours_of(
        CASE("2.5 m", "2 m2", "  duration: 30 min\n  draws: [{from: low, table: table.csv}]\n"),
        "time [min],flow [L/min]\n0,60\n10,180\n20,30\n");
    cr_expect_float_eq(tank_of(&hours, "low")->draw, 2.7, 1e-8);
    cr_expect_float_eq(tank_of(&hours, "low")->level_end, 2.5 - 2.7 / 2, 1e-8);
    arena_free(hours.arena);
}

/* Straight lines between the same points: 10 min of 2, 10 min of 1.75 and 10 min of 0.5 L/s. Steps
 * let by 1e-7 of the volume. */
Test(filling_cases, draw_may_run_straight_between_the_points_of_a_table)
{
    const struct hours hours =
        hours_of(CASE("2.7 m", "2 m2",
                      "  duration: 30 min\n"
                      "  draws: [{from: low, table: table.csv, between: straight lines}]\n"),
                 "time [min],flow [L/min]\n0,60\n10,180\n20,30\n");
    cr_expect_float_eq(tank_of(&hours, "low")->draw, 600 * (0.002 + 0.00175 + 0.0005), 1e-6,
                       "%.12g", tank_of(&hours, "low")->draw);
    arena_free(hours.arena);
}

/* Volume by depth: 1 m3 in the lowest metre, 3 m3 in the next, 5 m3 in the third. From 0.5 m 2 L/s
 * bring 3.6 m3 in half an hour: 4.1 m3 stand at 2.02 m. */
Test(filling_cases, tank_by_a_table_of_volumes)
{
    const struct hours hours =
        hours_of(CASE("0.5 m", "1 m2",
                      "  duration: 30 min\n"
                      "  tanks: {low: {shape: volume table, table: table.csv, inflow: 2 L/s}}\n"),
                 "depth [m],volume [m3]\n0,0\n1,1\n2,4\n3,9\n");
    cr_expect_float_eq(tank_of(&hours, "low")->level_end, 2.0 + 0.1 / 5.0, 1e-6);
    arena_free(hours.arena);
}

/* Area by depth, straight from 1 to 4 m2 over 3 m: V = h + h^2/2. */
Test(filling_cases, tank_by_a_table_of_areas)
{
    const struct hours hours =
        hours_of(CASE("1 m", "1 m2",
                      "  duration: 1000 s\n"
                      "  tanks: {low: {shape: area table, table: table.csv, inflow: 2.5 L/s}}\n"),
                 "depth [cm],area [m2]\n0,1\n300,4\n");
    cr_expect_float_eq(tank_of(&hours, "low")->level_end, 2.0, 1e-6); /* 1.5 + 2.5 = 2 + 2 */
    arena_free(hours.arena);
}

/* Over a week of 3 m2: rain 4 mm a day on 10 m2, evaporation 2 mm a day, a leak of 1 L an hour. */
Test(filling_cases, weather_and_leak_of_a_week)
{
    const struct hours hours = hours_of(CASE("1 m", "3 m2",
                                             "  duration: 7 days\n"
                                             "  tanks: {low: {rain: 4 mm/day, catchment: 10 m2, "
                                             "evaporation: 2 mm/day, leak: 1 L/h}}\n"),
                                        NULL);
    const struct filling_tank_answer *low = tank_of(&hours, "low");
    cr_expect_float_eq(low->fed, 0.28, 1e-8);
    cr_expect_float_eq(low->evaporation, 0.042, 1e-8);
    cr_expect_float_eq(low->leak, 0.168, 1e-8);
    cr_expect_float_eq(low->level_end, 1 + (0.28 - 0.042 - 0.168) / 3, 1e-8);
    arena_free(hours.arena);
}

/* --- what must not matter --- */

#define PUMPED(tanks, parts, more)                                                                 \
    "water: {temperature: 12 degC}\n"                                                              \
    "tanks:\n" tanks "pumps:\n"                                                                    \
    "  drain: {speed: 2900 rpm, flow: 0 2 4 6 8 L/s, head: 10.5 9.9 8.2 5.3 1.2 m,\n"              \
    "          power: 0.376 0.40 0.42 0.43 0.44 kW}\n"                                             \
    "runs:\n  rise: {from: sump, to: ditch, parts: [{pump: drain, name: lift, running: no},\n"     \
    "         {non-return: ball, name: riser, size: DN50, mounting: vertical up},\n" parts         \
    "]}\nfilling:\n  duration: 3 h\n" more

#define SUMP                                                                                       \
    "  sump: {floor: 0 m, brim: 1.4 m, level: 0.4 m, area: 1.5 m2, outlet elevation: 0.1 m}\n"
#define DITCH "  ditch: {level: 3 m, fixed: yes, inlet: above water, inlet elevation: 3.2 m}\n"
#define RISER "         {pipe: pvc-u 63 pn10, length: 12 m, end: 3.2 m}"
#define WEATHER "  tanks: {sump: {inflow: 2 L/s}}\n"
#define SWITCH "  floats: {float: {tank: sump, pumps: [lift], on: 1.0 m, off: 0.4 m}}\n"

static void expect_same(const struct hours *a, const struct hours *b)
{
    const struct filling_pump_answer *one = &a->filling.pumps[0];
    const struct filling_pump_answer *other = &b->filling.pumps[0];
    cr_assert_gt(one->starts, 10);
    cr_expect_eq(one->starts, other->starts);
    cr_expect_float_eq(one->volume, other->volume, 1e-6 * one->volume);
    cr_expect_float_eq(one->energy, other->energy, 1e-6 * one->energy);
    cr_expect_float_eq(tank_of(a, "sump")->level_end, tank_of(b, "sump")->level_end, 1e-5);
}

Test(filling_cases, run_twice_gives_the_same_bits)
{
    const struct hours a = hours_of(PUMPED(SUMP DITCH, RISER, WEATHER SWITCH), NULL);
    const struct hours b = hours_of(PUMPED(SUMP DITCH, RISER, WEATHER SWITCH), NULL);
    const size_t levels = (size_t)a.filling.time_count * (size_t)a.filling.tank_count;
    const size_t flows = (size_t)a.filling.time_count * (size_t)a.site->network->link_count;
    cr_assert_eq(a.filling.time_count, b.filling.time_count);
    cr_expect_eq(memcmp(a.filling.level, b.filling.level, levels * sizeof(double)), 0);
    cr_expect_eq(memcmp(a.filling.flow, b.filling.flow, flows * sizeof(double)), 0);
    arena_free(a.arena);
    arena_free(b.arena);
}

Test(filling_cases, units_and_order_do_not_matter)
{
    const struct hours a = hours_of(PUMPED(SUMP DITCH, RISER, WEATHER SWITCH), NULL);
    const struct hours b = hours_of(
        PUMPED(DITCH "  sump: {area: 15000 cm2, level: 40 cm, brim: 1400 mm, floor: 0 ft,\n"
                     "         outlet elevation: 100 mm}\n",
               RISER,
               "  floats: {float: {off: 40 cm, on: 1000 mm, pumps: [lift], tank: sump}}\n"
               "  tanks: {sump: {inflow: 7.2 m3/h}}\n"),
        NULL);
    expect_same(&a, &b);
    arena_free(a.arena);
    arena_free(b.arena);
}

Test(filling_cases, splitting_a_pipe_changes_nothing)
{
    const struct hours a = hours_of(PUMPED(SUMP DITCH, RISER, WEATHER SWITCH), NULL);
    const struct hours b =
        hours_of(PUMPED(SUMP DITCH,
                        "         {pipe: pvc-u 63 pn10, length: 5 m, end: 2 m},\n"
                        "         {pipe: pvc-u 63 pn10, length: 7 m, end: 3.2 m}",
                        WEATHER SWITCH),
                 NULL);
    expect_same(&a, &b);
    arena_free(a.arena);
    arena_free(b.arena);
}
