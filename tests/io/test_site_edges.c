/* Numbers at the edge of what a site can have: next to no flow, pipes of a millimetre and of ten
 * kilometres in one run, valves all but shut, water near freezing and at 60 degC, thin air. Each
 * answer is held against an exact law, and a surge finds its way through. */
#include "io/door/door.h"
#include "models/circle.h"
#include "solver/surge/surge.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

struct edge {
    struct arena *arena;
    struct site *site;
    struct steady steady;
};

static struct edge solve(const char *water, const char *points, const char *parts, const char *more)
{
    char text[2000];
    struct edge edge = {.arena = arena_new()};
    struct faults faults;
    struct failure failure = {0};
    const int length =
        snprintf(text, sizeof text,
                 "water: {%s}\nlosses: {entry: 0, exit: 0}\n"
                 "tanks: {high: {level: 110 m, fixed: yes}, low: {level: 100 m, fixed: yes}}\n%s"
                 "runs:\n  main:\n    from: high\n    to: %s\n    parts:\n%s%s",
                 water, points, *points ? "tap" : "low", parts, more);
    faults_init(&faults, edge.arena);
    cr_assert(read_site_text("edge", text, (size_t)length, edge.arena, &edge.site, &faults), "%s",
              faults_first(&faults) ? faults_first(&faults)->message : "");
    struct steady_solver *solver = steady_solver_new(edge.site->network, &failure);
    cr_assert(solver && steady_init(&edge.steady, edge.site->network, edge.arena, &failure));
    cr_assert(steady_solve(solver, edge.site->network, &edge.site->water, &steady_defaults,
                           &edge.steady, &failure));
    cr_assert_eq(edge.steady.ending, STEADY_CONVERGED);
    cr_expect_lt(edge.steady.mass_residual, 1e-13);
    cr_expect_lt(edge.steady.energy_residual, 1e-10);
    steady_solver_free(solver);
    return edge;
}

static int link_of(const struct edge *edge, const char *name)
{
    for (int i = 0; i < edge->site->network->link_count; i++) {
        if (strcmp(edge->site->network->links[i].name, name) == 0) {
            return i;
        }
    }
    cr_assert_fail("no link '%s'", name);
    return -1;
}

static double lost(const struct edge *edge, const char *name)
{
    const struct link *link = &edge->site->network->links[link_of(edge, name)];
    return edge->steady.head[link->from] - edge->steady.head[link->to];
}

/* Hagen-Poiseuille: h = 128 nu L Q / (pi g D^4), at 1e-9 L/s and on down to the least of doubles.
 */
Test(site_edges, next_to_no_flow_follows_hagen_and_poiseuille)
{
    static const double draw[] = {1e-3, 1e-9, 1e-30, 1e-300, 5e-324}; /* L/s */
    for (int i = 0; i < 5; i++) {
        char point[100];
        (void)snprintf(point, sizeof point, "points: {tap: {elevation: 0 m, draw: %.17g L/s}}\n",
                       draw[i]);
        struct edge edge = solve("viscosity: 1 mm2/s, gravity: 9.81 m/s2", point,
                                 "      - {pipe: own, name: pipe, length: 10 km, bore: 50 mm, "
                                 "roughness: 0 mm}\n",
                                 "");
        const double wanted =
            128 * 1e-6 * 1e4 * draw[i] * 1e-3 / (3.14159265358979 * 9.81 * pow(0.05, 4));
        cr_expect_float_eq(lost(&edge, "pipe"), wanted, 1e-12 + 1e-9 * wanted,
                           "%g L/s: %g m, not %g", draw[i], lost(&edge, "pipe"), wanted);
        arena_free(edge.arena);
    }
}

/* Darcy-Weisbach with a fixed factor: heads lost in pipes of 1 mm and 10 km stand as their lengths.
 */
Test(site_edges, pipes_of_a_millimetre_and_of_ten_kilometres_stand_in_one_run)
{
    struct edge edge = solve(
        "temperature: 15 degC", "",
        "      - {pipe: own, name: short, length: 1 mm, bore: 50 mm, friction factor: 0.02}\n"
        "      - {pipe: own, name: long, length: 10 km, bore: 50 mm, friction factor: 0.02}\n",
        "");
    const double flow = edge.steady.flow[link_of(&edge, "long")];
    const double g = edge.site->water.gravity;
    const double velocity = sqrt(2 * g * 10 * 0.05 / (0.02 * 10000.001));
    cr_expect_float_eq(flow, velocity * circle_area(0.05), 1e-9 * flow);
    cr_expect_float_eq(lost(&edge, "short"), 10 * 1e-3 / 10000.001, 1e-10);
    arena_free(edge.arena);
}

/* A bore of 1 mm over 10 km: laminar, 0.24 microlitres a second. */
Test(site_edges, a_bore_of_a_millimetre_over_ten_kilometres_still_drips)
{
    struct edge edge = solve("viscosity: 1 mm2/s, gravity: 9.81 m/s2", "",
                             "      - {pipe: own, name: pipe, length: 10 km, bore: 1 mm, "
                             "roughness: 0 mm}\n",
                             "");
    const double wanted = 10 * 3.14159265358979 * 9.81 * 1e-12 / (128 * 1e-6 * 1e4);
    cr_expect_float_eq(edge.steady.flow[link_of(&edge, "pipe")], wanted, 1e-6 * wanted);
    arena_free(edge.arena);
}

/* Q = A sqrt(2 g h / K), as far as the pipe beside it takes next to nothing. */
Test(site_edges, valves_all_but_shut_pass_by_the_root_of_their_loss)
{
    static const char *const loss[] = {"1e6", "1e9", "1e12"};
    for (int i = 0; i < 3; i++) {
        char parts[300];
        (void)snprintf(parts, sizeof parts,
                       "      - {pipe: own, name: pipe, length: 1 m, bore: 50 mm, friction factor: "
                       "1e-9}\n      - {loss: %s, name: shut}\n",
                       loss[i]);
        struct edge edge = solve("temperature: 15 degC", "", parts, "");
        const double wanted =
            circle_area(0.05) * sqrt(2 * edge.site->water.gravity * 10 / pow(10, 6 + 3 * i));
        cr_expect_float_eq(edge.steady.flow[link_of(&edge, "shut")], wanted, 1e-6 * wanted);
        arena_free(edge.arena);
    }
}

/* Laminar flow goes with one over the viscosity: 1.787 mm2/s at 0 degC and 0.475 at 60 degC (White,
 * Fluid Mechanics, table A.1, from memory; the program's own formula differs by less than 2 %). */
Test(site_edges, water_near_freezing_and_at_sixty_degrees_flows_as_its_viscosity)
{
    static const char parts[] =
        "      - {pipe: own, name: pipe, length: 10 km, bore: 5 mm, roughness: 0 mm}\n";
    struct edge cold = solve("temperature: 0 degC", "", parts, "");
    struct edge warm = solve("temperature: 60 degC, altitude: 4000 m", "", parts, "");
    const double ratio =
        warm.steady.flow[link_of(&warm, "pipe")] / cold.steady.flow[link_of(&cold, "pipe")];
    cr_expect_float_eq(ratio, 1.787 / 0.475, 0.02 * ratio, "%g", ratio);
    /* ICAO standard atmosphere at 4,000 m: 61.64 kPa. */
    cr_expect_float_eq(warm.site->water.air_pressure, 61640, 100);
    arena_free(cold.arena);
    arena_free(warm.arena);
}

/* A long pipe with a stub of a millimetre, shut in no time, at 4,000 m and 60 degC. */
Test(site_edges, surge_runs_through_a_stub_of_a_millimetre)
{
    static const char parts[] = "      - {pipe: pvc-u 63 pn10, length: 500 m}\n"
                                "      - {pipe: pvc-u 63 pn10, name: stub, length: 1 mm}\n"
                                "      - {valve: gate, name: gate}\n";
    static const char *const water[] = {"temperature: 0 degC",
                                        "temperature: 60 degC, altitude: 4000 m"};
    for (int i = 0; i < 2; i++) {
        struct surge surge;
        struct failure failure = {0};
        struct edge edge = solve(water[i], "", parts,
                                 "surge: {duration: 5 s, reaches: 20, events: [{at: 0.1 s, set: "
                                 "gate, to: 0, over: 1e-6 s}]}\n");
        cr_assert(surge_run_plan(edge.site, edge.site->network, &edge.steady, &surge_defaults,
                                 &surge, edge.arena, &failure),
                  "%s", failure.message);
        cr_expect_eq(surge.ending, SURGE_DONE);
        cr_expect_lt(fabs(surge.mass_residual), 1e-9);
        arena_free(edge.arena);
    }
}

/* Pumps, a dual-plate and a flap on thin pipes: the steep start of their laws is searched through
 * at each step. */
Test(site_edges, surge_runs_through_valves_with_steep_laws)
{
    static const char path[] = SOURCE_DIR "/tests/io/steep_group.yaml";
    struct arena *arena = arena_new();
    struct faults faults;
    struct failure failure = {0};
    struct site *site = NULL;
    struct steady steady;
    struct surge surge;
    faults_init(&faults, arena);
    cr_assert(read_site(path, arena, &site, &faults));
    struct steady_solver *solver = steady_solver_new(site->network, &failure);
    cr_assert(solver && steady_init(&steady, site->network, arena, &failure));
    cr_assert(
        steady_solve(solver, site->network, &site->water, &steady_defaults, &steady, &failure));
    cr_assert(
        surge_run_plan(site, site->network, &steady, &surge_defaults, &surge, arena, &failure));
    cr_expect_eq(surge.ending, SURGE_DONE);
    cr_expect_lt(surge.law_residual, 1e-9);
    steady_solver_free(solver);
    arena_free(arena);
}

/* --- a pump --- */

/* Flow of a pump between two equal levels through losses that go with the square of the flow. */
static double pumped(struct units *units, double rpm)
{
    char text[800];
    struct arena *arena = arena_new();
    struct faults faults;
    struct failure failure = {0};
    struct steady steady;
    struct site *site = NULL;
    const int length = snprintf(
        text, sizeof text,
        "tanks: {low: {level: 1 m, fixed: yes}, high: {level: 1 m, fixed: yes}}\n"
        "pumps:\n  lift: {speed: 2900 rpm, flow: 0 1 2 3 4 L/s, head: 24 23 20.5 16.5 11 m}\n"
        "runs:\n  main:\n    from: low\n    to: high\n    parts:\n"
        "      - {pump: lift, name: lift-1, speed: %.17g rpm, bore: 50 mm}\n"
        "      - {pipe: own, length: 80 m, bore: 50 mm, friction factor: 0.02}\n",
        rpm);
    faults_init(&faults, arena);
    const struct tree *root = tree_read("site", text, (size_t)length, arena, &faults);
    cr_assert(read_site_tree("site", text, root, units, NULL, arena, &site, &faults), "%s",
              faults_first(&faults) ? faults_first(&faults)->message : "");
    struct steady_solver *solver = steady_solver_new(site->network, &failure);
    cr_assert(solver && steady_init(&steady, site->network, arena, &failure));
    cr_assert(
        steady_solve(solver, site->network, &site->water, &steady_defaults, &steady, &failure));
    steady_solver_free(solver);
    const double flow = steady.flow[site->pump_places[0].link];
    arena_free(arena);
    return flow;
}

/* Without lift, the flow goes with the speed (affinity laws; Karassik, Pump Handbook). */
Test(site_edges, flow_goes_with_the_speed_of_a_pump_without_lift)
{
    struct failure failure;
    struct units *units = units_new(&failure);
    const double flow = pumped(units, 2900);
    cr_assert_gt(flow, 1e-3);
    for (int i = 1; i <= 8; i++) {
        cr_expect_float_eq(pumped(units, 2900 * 0.2 * i), 0.2 * i * flow, 1e-9 * flow);
    }
    units_free(units);
}
