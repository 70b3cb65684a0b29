/* What is told of tanks and vessels that stand beside running and resting pipes. */
#include "tests/io/told_site.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>

/* A high tank of `size` feeds a low one of 4 m2, 0.5 m under its brim, with `inlet` and a float
 * valve that shuts at `shut`; a pump lifts back. What the low tank is told to do at rest. */
static struct told_site pair(const char *size, const char *inlet, double shut)
{
    char text[1500];
    (void)snprintf(
        text, sizeof text,
        "tanks: {high: {floor: 10 m, brim: 12 m, level: 11 m, outlet elevation: 10 m, %s},\n"
        "        low: {floor: 0 m, brim: 2 m, level: 1.5 m, area: 4 m2%s}}\n"
        "pumps: {p: {speed: 2900 rpm, flow: 0 2 4 L/s, head: 20 17 12 m}}\n"
        "runs:\n"
        "  down: {from: high, to: low, parts: [\n"
        "    {pipe: own, bore: 40 mm, roughness: 0.01 mm, length: 30 m},\n"
        "    {float valve: low, name: ballcock, open at: 1.2 m, shut at: %.2f m}]}\n"
        "  up: {from: low, to: high, start: 0.2 m, parts: [{pump: p, name: lift},\n"
        "    {non-return: ball, size: DN40, mounting: up},\n"
        "    {pipe: own, bore: 40 mm, roughness: 0.01 mm, length: 30 m}]}\n",
        size, inlet, shut);
    return told_site(text);
}

static const char above[] = ", inlet: above water, inlet elevation: 2.1 m";

/* Volume over flow, by hand: 4 m2 times 0.5 m. A ballcock that shuts at 1.8 m keeps it from the
 * brim, one that would shut at 2.4 m does not. 4 m3 fill the 2 m3 of room, 1 m3 does not. */
Test(told_of_tanks, a_tank_fills_at_rest_where_its_float_valve_does_not_shut_in_time)
{
    for (int i = 0; i < 2; i++) {
        const char *inlet = i == 0 ? "" : above;
        struct told_site told = pair("area: 4 m2", inlet, 2.4);
        const struct finding *fills = told_find(&told, "fills at rest", "low");
        const struct finding *feeds = told_find(&told, "flows at rest", "high");
        cr_assert_not_null(fills, "%d", i);
        cr_assert_not_null(feeds, "%d", i);
        cr_expect_float_eq(fills->value * feeds->value, 4.0 * 0.5, 1e-9);
        arena_free(told.arena);
        told = pair("area: 4 m2", inlet, 1.8);
        cr_expect_null(told_find(&told, "fills at rest", "low"), "%d", i);
        arena_free(told.arena);
        told = pair("area: 1 m2", inlet, 2.4);
        cr_expect_null(told_find(&told, "fills at rest", "low"), "%d", i);
        arena_free(told.arena);
        told = pair("fixed: yes", inlet, 2.4);
        cr_expect_not_null(told_find(&told, "fills at rest", "low"), "%d", i);
        arena_free(told.arena);
    }
}

/* Water finds its level: from 11 m it never comes to a brim at 11.5 m, but to one at 10.5 m. */
Test(told_of_tanks, a_tank_does_not_fill_beyond_the_water_that_feeds_it)
{
    for (int i = 0; i < 2; i++) {
        char text[600];
        (void)snprintf(text, sizeof text,
                       "tanks: {high: {level: 11 m, fixed: yes}, low: {floor: 8 m, brim: %g m, "
                       "level: 10 m, area: 4 m2}}\n"
                       "runs: {down: {from: high, to: low, parts: [{pipe: own, bore: 40 mm, "
                       "roughness: 0.01 mm, length: 30 m}]}}\n",
                       i == 0 ? 11.5 : 10.5);
        struct told_site told = told_site(text);
        cr_expect_not_null(told_find(&told, "flows at rest", "high"));
        cr_expect_eq(told_find(&told, "fills at rest", "low") != NULL, i == 1);
        arena_free(told.arena);
    }
}

/* What arrives in a tank that feeds on is what comes in, not what stays. */
Test(told_of_tanks, what_arrives_is_not_lessened_by_what_flows_on)
{
    struct told_site told = told_site(
        "tanks: {high: {level: 20 m, fixed: yes}, middle: {level: 10 m, area: 4 m2, floor: 8 m, "
        "brim: 12 m},\n  low: {level: 0 m, fixed: yes}}\n"
        "runs:\n"
        "  first: {from: high, to: middle, parts: [{loss: 100, fitting: a, bore: 50 mm}]}\n"
        "  second: {from: middle, to: low, parts: [{loss: 120, fitting: b, bore: 50 mm}]}\n"
        "losses: {entry: 0, exit: 0}\n");
    const struct finding *feeds = told_find(&told, "flows at rest", "high");
    cr_assert_not_null(feeds);
    /* v = sqrt(2 g 10 m/100) in 50 mm */
    cr_expect_float_eq(feeds->value,
                       sqrt(2.0 * 9.80665 * 10.0 / 100.0) * 0.25 * 3.14159265 * 0.05 * 0.05, 1e-8);
    arena_free(told.arena);
}

/* Boyle: gas put in at 2 bar, 20.4 m, is not pressed together by 10 m of water. */
Test(told_of_tanks, a_vessel_whose_gas_was_put_in_above_the_working_pressure_is_empty)
{
    static const char form[] =
        "tanks: {high: {level: 10 m, fixed: yes}, low: {level: 0 m, fixed: yes}}\n"
        "points: {tee: {elevation: 0 m, air vessel: {volume: 100 L, %s}}}\n"
        "runs:\n"
        "  first: {from: high, to: tee, parts: [{pipe: own, bore: 50 mm, roughness: 0.01 mm, "
        "length: 30 m}]}\n"
        "  second: {from: tee, to: low, parts: [{loss: 2000, fitting: b, bore: 50 mm}]}\n";
    static const struct {
        const char *gas;
        bool is_told;
    } rows[] = {{"precharge: 2 bar", true}, {"precharge: 0.5 bar", false}, {"gas: 90 L", false}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char text[1000];
        (void)snprintf(text, sizeof text, form, rows[i].gas);
        struct told_site told = told_site(text);
        cr_expect_eq(told_find(&told, "empty vessel", "tee/air vessel") != NULL, rows[i].is_told,
                     "%s", rows[i].gas);
        arena_free(told.arena);
    }
}
