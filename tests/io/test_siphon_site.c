/* A pump that lifts water over a dyke into a ditch beyond: what is told of the high point between
 * its pipes, of the water that runs on when the pump stops, and of a dyke higher than the pump
 * lifts. */
#include "tests/io/told_site.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

/* Water at 0 m and, beyond the dyke, at `beyond`; the crest, of two pipes and a bend, at `crest`.
 */
static struct told_site dyke_of(double crest, double beyond)
{
    char text[1500];
    (void)snprintf(
        text, sizeof text,
        "tanks: {ditch: {floor: -3 m, brim: 2 m, level: 0 m, area: 40 m2},\n"
        "        canal: {level: %.3f m, fixed: yes}}\n"
        "pumps: {p: {speed: 1450 rpm, flow: 0 10 20 30 40 L/s, head: 9.5 9 8 6.2 3.5 m}}\n"
        "runs:\n"
        "  outfall: {from: ditch, to: canal, start: -1 m, parts: [{pump: p, name: lifter},\n"
        "    {pipe: own, bore: 150 mm, roughness: 0.01 mm, length: 15 m, end: %.3f m, name: up},\n"
        "    {pipe: own, bore: 150 mm, roughness: 0.01 mm, length: 9 m, end: %.3f m},\n"
        "    {bend: 45 deg, name: turn},\n"
        "    {pipe: own, bore: 150 mm, roughness: 0.01 mm, length: 15 m, end: -2 m, name: "
        "down}]}\n",
        beyond, crest, crest);
    return told_site(text);
}

/* The pressure is least where the flow leaves the level part: head behind the bend less elevation.
 */
Test(siphon_site, high_point_between_two_pipes_is_told_with_its_least_pressure)
{
    struct told_site dyke = dyke_of(4.0, -1.0);
    const struct finding *crest = told_find(&dyke, "air at a high point", "up");
    const int turn = network_find_link(dyke.site->network, "turn");
    cr_assert_not_null(crest);
    cr_expect_float_eq(crest->value, dyke.steady.head[dyke.site->network->links[turn].to] - 4.0,
                       1e-9);
    cr_expect_null(told_find(&dyke, "air at a high point", "down"));
    arena_free(dyke.arena);
    dyke = dyke_of(-1.0, -1.0); /* no rise */
    cr_expect_null(told_find(&dyke, "air pocket", "up"));
    arena_free(dyke.arena);
}

/* At 10 degC by the sea water boils 10.2 m below the pressure of the air; the steady law does not
 * see it. By the law alone the pressure falls metre by metre with the crest. */
Test(siphon_site, a_crest_at_which_the_water_boils_is_a_limit_exceeded)
{
    struct told_site dyke = dyke_of(13.0, -1.0);
    const double boiling = water_vapour_head(&dyke.site->water);
    const struct finding *boils = told_find(&dyke, "boils", "up");
    cr_assert_not_null(boils);
    cr_expect_eq(boils->level, FINDING_FAILED);
    cr_expect_lt(boils->value, boiling);
    cr_expect_float_eq(boils->limit, boiling, 1e-12);
    cr_expect_null(told_find(&dyke, "air at a high point", "up"));
    arena_free(dyke.arena);
    dyke = dyke_of(9.0, -1.0);
    cr_expect_null(told_find(&dyke, "boils", "up"));
    cr_expect_not_null(told_find(&dyke, "air at a high point", "up"));
    arena_free(dyke.arena);
}

/* Slow water leaves air at the top (Wisner, Mohsen & Kouwen 1975, from memory: 0.8 sqrt(g D)). Over
 * the pressure of the air a vent lets it out; below it one would let air in. */
Test(siphon_site, air_stays_where_the_water_beyond_is_slow)
{
    for (int i = 0; i < 2; i++) {
        struct told_site dyke = dyke_of(i == 0 ? 4.0 : 8.9, 9.2);
        const struct finding *pocket = told_find(&dyke, "air pocket", "up");
        const double speed = dyke.steady.flow[1] / (0.25 * 3.14159265 * 0.15 * 0.15);
        cr_assert_lt(speed, 0.8 * sqrt(9.81 * 0.15));
        cr_assert_not_null(pocket);
        cr_expect_float_eq(pocket->value, speed / sqrt(9.80665 * 0.15), 1e-6);
        cr_expect_not_null(strstr(pocket->remedy, "put an air valve"));
        arena_free(dyke.arena);
    }
    struct told_site dyke = dyke_of(9.4, 9.2);
    const struct finding *pocket = told_find(&dyke, "air pocket", "up");
    cr_assert_not_null(pocket);
    cr_expect_null(strstr(pocket->remedy, "put an air valve"));
    arena_free(dyke.arena);
}

/* Downhill the siphon runs on forward, which no non-return valve stops; uphill it runs back. */
Test(siphon_site, what_runs_on_forward_is_told_apart_from_what_runs_back)
{
    struct told_site dyke = dyke_of(4.0, -1.0);
    const struct finding *flow = told_find(&dyke, "flows at rest", "ditch");
    cr_assert_not_null(flow);
    cr_expect_not_null(strstr(flow->text, "forward"));
    arena_free(dyke.arena);
    dyke = dyke_of(4.0, 1.0);
    flow = told_find(&dyke, "flows at rest", "canal");
    cr_assert_not_null(flow);
    cr_expect_null(strstr(flow->text, "forward"));
    cr_expect_not_null(strstr(flow->remedy, "put a non-return valve in"));
    arena_free(dyke.arena);
}

/* Hydrostatics: shut off it lifts 9.5 m. The full siphon runs over 9.8 m, the empty pipe never
 * fills. */
Test(siphon_site, a_crest_above_the_head_at_no_flow_cannot_be_filled)
{
    struct told_site dyke = dyke_of(9.8, 3.0);
    const struct finding *fill = told_find(&dyke, "cannot fill", "lifter");
    cr_assert_gt(dyke.steady.flow[0], 0.01);
    cr_assert_not_null(fill);
    cr_expect_null(told_find(&dyke, "no flow", "lifter")); /* it does flow */
    cr_expect_float_eq(fill->value, 9.8, 1e-9);
    cr_expect_float_eq(fill->limit, 9.5, 1e-9);
    arena_free(dyke.arena);
    dyke = dyke_of(9.4, 3.0);
    cr_expect_null(told_find(&dyke, "cannot fill", "lifter"));
    arena_free(dyke.arena);
}
