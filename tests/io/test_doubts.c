/* What is doubted while a case is read: things that can be solved, but hardly are what was meant.
 */
#include "io/door/door.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

/* How many doubts say `words`. */
static int count(const char *text, const char *words)
{
    struct arena *arena = arena_new();
    struct faults faults;
    struct site *site = NULL;
    int found = 0;
    faults_init(&faults, arena);
    cr_assert(read_site_text("doubts.yaml", text, strlen(text), arena, &site, &faults), "%s",
              faults_first(&faults) ? faults_first(&faults)->message : "");
    for (int i = 0; i < faults.count; i++) {
        const struct fault *fault = &faults.list[i];
        found += fault->level == FAULT_DOUBT && strstr(fault->failure.message, words);
    }
    arena_free(arena);
    return found;
}

/* A riser into a tank with water at 11 m: what the tank says beside that, and its last part. */
static int count_dry_ends(const char *tank, const char *last)
{
    char text[600];
    (void)snprintf(text, sizeof text,
                   "tanks: {top: {floor: 10 m, brim: 12 m, level: 11 m%s}, low: {level: 1 m}}\n"
                   "runs: {riser: {from: low, to: top, parts: [{pipe: pvc-u 63 pn10, length: 30 m"
                   "%s}]}}\n",
                   tank, last);
    return count(text, "above the water at 11 m, but is reckoned as if under it");
}

/* A steady flow through a mouth in the air is lifted to the mouth, not to the water below it. */
Test(doubts, an_end_above_the_water_that_is_not_said_to_be_there)
{
    cr_expect_eq(count_dry_ends(", inlet elevation: 11.9 m", ""), 1);
    cr_expect_eq(count_dry_ends("", ", end: 11.9 m"), 1);
    cr_expect_eq(count_dry_ends("", ", end: 11 m"), 0);
    cr_expect_eq(count_dry_ends(", inlet elevation: 10.2 m", ""), 0);
    cr_expect_eq(count_dry_ends("", ""), 0);
    cr_expect_eq(count_dry_ends(", inlet: above water", ", end: 11.9 m"), 0);
    cr_expect_eq(count_dry_ends(", inlet: above water, inlet elevation: 11.9 m", ""), 0);
}

static int count_warm(const char *water, const char *pipe, const char *words)
{
    char text[600];
    (void)snprintf(text, sizeof text,
                   "water: {temperature: %s}\n"
                   "tanks: {top: {level: 11 m}, low: {level: 1 m}}\n"
                   "runs: {riser: {from: low, to: top, parts: [{length: 30 m, %s}]}}\n",
                   water, pipe);
    return count(text, words);
}

/* A temperature that changes nothing is told, and a class that nothing judges a surge by. */
Test(doubts, what_the_warmth_of_a_pipe_does_not_change)
{
    const char *colder = "changes nothing: the site's water is warmer";
    const char *bare = "its class stays what it is at 35 degC, as no material is said";
    const char *beyond = "known up to 50 degC; at 55 degC nothing tells";
    cr_expect_eq(count_warm("20 degC", "pipe: pvc-u 63 pn10, temperature: 15 degC", colder), 1);
    cr_expect_eq(count_warm("20 degC", "pipe: pvc-u 63 pn10, temperature: 20 degC", colder), 0);
    cr_expect_eq(count_warm("20 degC", "pipe: pvc-u 63 pn10", colder), 0);
    cr_expect_eq(
        count_warm("20 degC",
                   "pipe: own, bore: 50 mm, roughness: 0.01 mm, class: 6 bar, temperature: 35 degC",
                   bare),
        1);
    cr_expect_eq(count_warm("20 degC",
                            "pipe: own, bore: 50 mm, roughness: 0.01 mm, temperature: 35 degC",
                            bare),
                 0);
    cr_expect_eq(
        count_warm("20 degC", "pipe: own, bore: 50 mm, roughness: 0.01 mm, class: 6 bar", bare), 0);
    cr_expect_eq(count_warm("20 degC", "pipe: pvc-u 63 pn10, temperature: 35 degC", bare), 0);
    cr_expect_eq(count_warm("55 degC", "pipe: pe100 63 sdr11", beyond), 1);
    cr_expect_eq(count_warm("50 degC", "pipe: pe100 63 sdr11", beyond), 0);
}

static int count_odd_sizes(const char *valve, const char *size)
{
    char text[600];
    (void)snprintf(text, sizeof text,
                   "tanks: {top: {level: 11 m}, low: {level: 1 m}}\n"
                   "types: {non-return: {mine: {like: ball}, tilting disc: {like: ball}}}\n"
                   "runs: {riser: {from: low, to: top, parts: [{pipe: pvc-u 140 pn10, length: 30 m"
                   "},\n {non-return: %s, size: %s, mounting: up}]}}\n",
                   valve, size);
    return count(text, "make sure that there is one to buy");
}

/* The catalogue has balls from DN15 to DN100, wafer flaps from DN50 to DN300. */
Test(doubts, a_valve_of_a_size_that_the_catalogue_has_not)
{
    cr_expect_eq(count_odd_sizes("ball", "DN125"), 1);
    cr_expect_eq(count_odd_sizes("ball", "DN100"), 0);
    cr_expect_eq(count_odd_sizes("ball", "DN10"), 1);
    cr_expect_eq(count_odd_sizes("ball", "DN15"), 0);
    cr_expect_eq(count_odd_sizes("wafer flap", "DN40"), 1);
    cr_expect_eq(count_odd_sizes("wafer flap", "DN300"), 0);
    cr_expect_eq(count_odd_sizes("mine", "DN125"), 0);
    cr_expect_eq(count_odd_sizes("tilting disc", "DN20"), 0); /* the case's own */
}

/* A pump from `low` to `top` with a float on one of them. */
static int count_floats(const char *tank, double on, double off, const char *empties)
{
    char text[900];
    (void)snprintf(
        text, sizeof text,
        "tanks: {top: {floor: 10 m, brim: 12 m, level: 11 m, area: 2 m2},\n"
        "        low: {floor: 0 m, brim: 2 m, level: 1 m, area: 2 m2}}\n"
        "pumps: {lift: {speed: 2900 rpm, flow: 0 1 2 L/s, head: 30 25 18 m}}\n"
        "runs: {riser: {from: low, to: top, parts: [{pipe: pvc-u 63 pn10, length: 1 m, end: 0.5 "
        "m},\n"
        "  {pump: lift, name: lift-1}, {pipe: pvc-u 63 pn10, length: 30 m}]}}\n"
        "filling: {floats: {ball: {tank: %s, pumps: [lift-1], on: %.1f m, off: %.1f m%s}}}\n",
        tank, on, off, empties);
    return count(text, "are the wrong way round");
}

/* A float that calls a pump for what the pump makes worse. */
Test(doubts, float_whose_pump_goes_the_other_way)
{
    cr_expect_eq(count_floats("top", 10.5, 11.5, ""), 0);
    cr_expect_eq(count_floats("top", 11.5, 10.5, ""), 1);
    cr_expect_eq(count_floats("low", 1.5, 0.5, ""), 0);
    cr_expect_eq(count_floats("low", 0.5, 1.5, ""), 1);
    cr_expect_eq(count_floats("top", 11.0, 11.0, ", empties: yes"), 1);
    cr_expect_eq(count_floats("top", 11.0, 11.0, ""), 0);
}

static int count_second_draws(const char *falls)
{
    char text[600];
    (void)snprintf(
        text, sizeof text,
        "tanks: {top: {level: 11 m}}\n"
        "points: {tap: {elevation: 1 m, draw: 1 L/s, wanted pressure: 0.5 bar%s},\n"
        "         other: {elevation: 1 m, draw: 1 L/s, wanted pressure: 0.5 bar, falls with "
        "pressure: yes}}\n"
        "runs: {fall: {from: top, to: tap, parts: [{pipe: pvc-u 63 pn10, length: 9 m}]},\n"
        "       on: {from: tap, to: other, parts: [{pipe: pvc-u 63 pn10, length: 9 m}]}}\n"
        "filling: {draws: [{from: tap, times: 6 9 h, flow: 1 0 L/s}]}\n",
        falls);
    return count(text, "a timer of 'tap/draw-off' gives it hours");
}

/* Hours that are given as a draw of their own are drawn beside what falls with the pressure. */
Test(doubts, draw_beside_one_that_falls_with_pressure)
{
    cr_expect_eq(count_second_draws(", falls with pressure: yes"), 1);
    cr_expect_eq(count_second_draws(""), 0);
}

static int count_power(const char *curve, const char *power)
{
    char text[500];
    (void)snprintf(
        text, sizeof text,
        "tanks: {top: {level: 11 m}, low: {level: 1 m}}\n"
        "pumps: {lift: {speed: 2900 rpm, %s, power: %s}}\n"
        "runs: {riser: {from: low, to: top, parts: [{pipe: pvc-u 63 pn10, length: 9 m}, {pump: "
        "lift}]}}\n",
        curve, power);
    return count(text, "goes into the water");
}

/* 1 L/s and 25 m, or 2 and 18 m: 245 and 353 W in the water. Where every point stated lacks flow or
 * head nothing is known of it. */
Test(doubts, power_of_another_unit)
{
    const char *curve = "flow: 0 1 2 L/s, head: 30 25 18 m";
    cr_expect_eq(count_power(curve, "300 500 700 W"), 0);
    cr_expect_eq(count_power(curve, "3 5 17 kW"), 0);
    cr_expect_eq(count_power(curve, "300 500 700 kW"), 1);
    cr_expect_eq(count_power("flow: 0 2 L/s, head: 30 0 m", "300 700 W"), 0);
}

/* A well's pump on a vessel, and what moves it. */
static int count_unmoved(const char *pump, const char *vessel, const char *filling)
{
    char text[800];
    (void)snprintf(text, sizeof text,
                   "tanks: {well: {level: 1 m, area: 2 m2, floor: 0 m, brim: 3 m}, top: {level: 9 "
                   "m}}\n"
                   "points: {head: {elevation: 2 m%s}}\n"
                   "pumps: {p: {speed: 2900 rpm, flow: 0 2 4 L/s, head: 30 25 10 m}}\n"
                   "runs:\n"
                   "  lift: {from: well, to: head, parts: [{pump: p, name: one%s},\n"
                   "         {pipe: pvc-u 63 pn10, length: 9 m}]}\n"
                   "  on: {from: head, to: top, parts: [{pipe: pvc-u 63 pn10, length: 9 m}]}\n"
                   "%s",
                   vessel, pump, filling);
    return count(text, "no pressure switch is known: 'fill' has 'one' run all the time");
}

/* A pressure switch is what a pump on a vessel is mostly moved by. */
Test(doubts, pump_on_a_vessel_that_nothing_moves)
{
    static const char vessel[] = ", air vessel: {volume: 100 L, gas: 40 L}";
    static const char hours[] = "filling: {tanks: {well: {inflow: 1 L/s}}}\n";
    static const char timed[] = "filling: {timers: [{what: one, on: 0 h, off: 6 h}]}\n";
    cr_expect_eq(count_unmoved("", vessel, hours), 1);
    cr_expect_eq(count_unmoved("", "", hours), 0);
    cr_expect_eq(count_unmoved("", vessel, ""), 0);
    cr_expect_eq(count_unmoved(", running: no", vessel, hours), 0);
    cr_expect_eq(count_unmoved("", vessel, timed), 0);
}
