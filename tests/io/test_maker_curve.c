/* A maker's curve of reverse velocity given as data: it rules in the results, in the choice and in
 * sizing, and is read off at the deceleration that the run found. */
#include "io/door/door.h"
#include "solver/choose/choose.h"
#include "solver/surge/sizing.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

/* %s: the curve, and the type that stands there. */
static const char form[] =
    "water: {temperature: 10 degC, altitude: 0 m}\n"
    "tanks:\n  pond: {level: 0 m, fixed: yes}\n  loft: {level: 15 m, fixed: yes}\n"
    "pumps:\n  lift: {speed: 2900 rpm, flow: 0 2 4 6 L/s, head: 26 25 21 13 m,\n"
    "         power: 0.9 1.1 1.3 1.4 kW, inertia: 0.005 kg m2}\n"
    "types:\n  non-return:\n    own flap: {like: swing flap%s}\n"
    "runs:\n"
    "  main: {from: pond, to: loft, parts: [{pipe: pvc-u 90 pn10, length: 3 m, end: 0 m},\n"
    "         {pump: lift, name: lift-1, flywheel: 0.001 kg m2},\n"
    "         {non-return: own flap, name: delivery, size: DN80, mounting: horizontal},\n"
    "         {pipe: pvc-u 90 pn10, length: 60 m, end: 10 m}]}\n"
    "surge:\n  duration: 4 s\n  events: [{at: 0.5 s, stop: lift-1}]\n";

/* Rising by half from point to point: a straight line between them is no power of the whole. */
static const char curve[] = ", slam deceleration: 1 4 10 m/s2, slam velocity: 0.2 0.5 0.8 m/s";

static double on_curve(double deceleration)
{
    if (deceleration < 1) {
        return 0.2 * deceleration;
    }
    return deceleration < 4 ? 0.2 + 0.1 * (deceleration - 1) : 0.5 + 0.05 * (deceleration - 4);
}

static struct site *read(const char *stated, struct arena *arena)
{
    char text[4096];
    struct faults faults;
    struct site *site = NULL;
    snprintf(text, sizeof text, form, stated);
    faults_init(&faults, arena);
    const char *kept = arena_text(arena, text);
    const bool is_read = read_site_text("text.yaml", kept, strlen(kept), arena, &site, &faults);
    if (!is_read) {
        faults_write(&faults, FAULT_ERROR, stderr);
    }
    cr_assert(is_read);
    return site;
}

static struct surge_valve shut(const struct site *site, struct arena *arena)
{
    struct failure failure;
    struct steady steady;
    struct surge surge;
    struct steady_solver *solver = steady_solver_new(site->network, &failure);
    cr_assert(solver && steady_init(&steady, site->network, arena, &failure));
    cr_assert(
        steady_solve(solver, site->network, &site->water, &steady_defaults, &steady, &failure));
    steady_solver_free(solver);
    cr_assert(
        surge_run_plan(site, site->network, &steady, &surge_defaults, &surge, arena, &failure));
    cr_assert(surge.ending == SURGE_DONE && surge.valves[0].has_shut);
    return surge.valves[0];
}

Test(maker_curve, is_read_off_at_the_deceleration_of_the_run)
{
    struct arena *arena = arena_new();
    const struct surge_valve bare = shut(read("", arena), arena);
    const struct surge_valve with = shut(read(curve, arena), arena);
    cr_expect(isnan(bare.stated_reverse_velocity) && isnan(bare.stated_slam_head));
    cr_assert(with.deceleration > 0);
    cr_expect_float_eq(with.stated_reverse_velocity, on_curve(with.deceleration), 1e-12, "%g at %g",
                       with.stated_reverse_velocity, with.deceleration);
    /* Joukowsky's a v/g with the same a. */
    cr_expect_float_eq(with.stated_slam_head / with.stated_reverse_velocity,
                       with.slam_head / with.reverse_velocity, 1e-9);
    /* What is computed stays told beside it. */
    cr_expect_float_eq(with.reverse_velocity, bare.reverse_velocity, 1e-12);
    arena_free(arena);
}

/* A lighter flywheel slows the water faster, which the curve alone turns into a velocity: the
 * smallest that keeps it is where the deceleration is that of the limit on the curve. */
Test(maker_curve, rules_when_a_flywheel_is_sized)
{
    struct arena *arena = arena_new();
    struct failure failure;
    struct sizing found;
    struct site *site = read(curve, arena);
    int count = 0;
    const double limit = 0.3;
    struct sizing_wish wish = {.part = SIZING_FLYWHEEL,
                               .link = sizing_find_part(site->network, SIZING_FLYWHEEL, &count),
                               .limit_count = 1,
                               .limits = {{SIZING_REVERSE, limit, NETWORK_NONE}},
                               .smallest = 1e-4,
                               .largest = 1,
                               .precision = 0.01};
    cr_assert(sizing_find(site, &wish, &surge_defaults, &found, &failure));
    cr_assert_eq(found.ending, SIZING_FOUND);
    const void *data =
        sizing_data(&site->network->links[wish.link], SIZING_FLYWHEEL, found.size, arena);
    site->network->links[wish.link].data = data;
    const struct surge_valve valve = shut(site, arena);
    cr_expect_float_eq(on_curve(valve.deceleration), limit, 0.01 * limit, "%g",
                       on_curve(valve.deceleration));
    cr_expect(fabs(valve.reverse_velocity - limit) > 0.05 * limit, "%g", valve.reverse_velocity);
    arena_free(arena);
}

/* The valve that stands there is judged by its curve, too. */
Test(maker_curve, rules_in_the_choice)
{
    struct arena *arena = arena_new();
    struct failure failure;
    struct choose choose;
    const struct site *site = read(curve, arena);
    const struct envelope_site sites[] = {{.site = site}};
    const struct choose_options options = {.rule = choose_rule_default};
    cr_assert(choose_run(1, sites, &options, &choose, arena, &failure), "%s", failure.message);
    const struct surge_valve valve = shut(site, arena);
    bool is_there = false;
    for (int i = 0; i < choose.places[0].candidate_count; i++) {
        const struct candidate *candidate = &choose.places[0].candidates[i];
        if (candidate->is_present) {
            is_there = true;
            cr_expect_float_eq(candidate->measures.reverse_velocity, on_curve(valve.deceleration),
                               1e-9, "%g", candidate->measures.reverse_velocity);
        }
    }
    cr_expect(is_there);
    arena_free(arena);
}
