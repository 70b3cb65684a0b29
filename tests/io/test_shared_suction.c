/* Two pumps that share one suction pipe and its foot valve, each with a valve of its own: what is
 * told of one pump with a suction pipe of its own must be told of them too. */
#include "io/door/door.h"
#include "solver/findings/findings.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

struct twin {
    struct arena *arena;
    struct site *site;
    struct steady steady;
    struct findings findings;
};

/* Water at 0 m, pump axes at `axis`, a tower at 15 m; `shared` before the pumps, `common` behind.
 */
static struct twin twin_of(double axis, const char *shared, const char *common)
{
    char text[2000];
    struct faults faults;
    struct failure failure = {0};
    struct twin twin = {.arena = arena_new()};
    (void)snprintf(
        text, sizeof text,
        "water: {temperature: 20 degC}\n"
        "tanks: {pit: {floor: -3 m, brim: 2 m, level: 0 m, area: 4 m2},\n"
        "        tower: {floor: 13 m, brim: 16 m, level: 15 m, area: 8 m2}}\n"
        "points: {fork: {elevation: %.2f m}, joint: {elevation: 1 m}}\n"
        "pumps: {p: {speed: 2900 rpm, flow: 0 2 4 6 L/s, head: 30 28 24 16 m, npsh required: 1 1 2 "
        "3 m}}\n"
        "runs:\n"
        "  suction: {from: pit, to: fork, suction: yes, start: -1 m, parts: [%s\n"
        "    {pipe: own, bore: 80 mm, roughness: 0.01 mm, length: 5 m}, {loss: 1, fitting: knee,\n"
        "    bore: 80 mm}]}\n"
        "  duty: {from: fork, to: joint, parts: [{pump: p, name: one},\n"
        "    {non-return: ball, name: own one, size: DN50, mounting: up},\n"
        "    {pipe: own, bore: 50 mm, roughness: 0.01 mm, length: 2 m}]}\n"
        "  standby: {from: fork, to: joint, parts: [{pump: p, name: two, running: no},\n"
        "    {non-return: ball, name: own two, size: DN50, mounting: up},\n"
        "    {pipe: own, bore: 50 mm, roughness: 0.01 mm, length: 2 m}]}\n"
        "  main: {from: joint, to: tower, parts: [%s\n"
        "    {pipe: own, bore: 65 mm, roughness: 0.01 mm, length: 60 m}]}\n",
        axis, shared, common);
    faults_init(&faults, twin.arena);
    cr_assert(read_site_text("twin.yaml", text, strlen(text), twin.arena, &twin.site, &faults),
              "%s", faults_first(&faults) ? faults_first(&faults)->message : "");
    findings_init(&twin.findings, twin.arena);
    cr_assert(steady_init(&twin.steady, twin.site->network, twin.arena, &failure));
    struct steady_solver *solver = steady_solver_new(twin.site->network, &failure);
    cr_assert_not_null(solver);
    cr_assert(steady_solve(solver, twin.site->network, &twin.site->water, &steady_defaults,
                           &twin.steady, &failure));
    steady_solver_free(solver);
    cr_assert_eq(twin.steady.ending, STEADY_CONVERGED);
    cr_assert(findings_steady(twin.site, &twin.steady, &twin.findings, &failure));
    return twin;
}

static const char foot[] = "{non-return: foot flap, name: foot, size: DN80, mounting: up},";

/* How often a rule speaks of a subject; the last value it told. */
static int count(const struct twin *twin, const char *rule, const char *subject, double *value)
{
    int found = 0;
    for (int i = 0; i < twin->findings.count; i++) {
        const struct finding *finding = &twin->findings.items[i];
        if (strcmp(finding->rule, rule) == 0 && strcmp(finding->subject, subject) == 0) {
            *value = finding->value;
            found++;
        }
    }
    return found;
}

/* Hydrostatics: with the pumps stopped 15 m of water stand behind each pump's own valve, over the
 * pit before it, where the foot valve they share does not hold. A ball is tight from 2 m. */
Test(shared_suction, own_valves_find_the_head_of_the_tower_behind_a_shared_foot_valve)
{
    struct twin twin = twin_of(1.0, foot, "");
    double value = NAN;
    cr_expect_eq(count(&twin, "seating", "own one", &value), 0);
    cr_expect_eq(count(&twin, "seating", "own two", &value), 0);
    cr_expect_eq(count(&twin, "seating", "foot", &value), 0);
    arena_free(twin.arena);
}

/* The same for one valve in the main behind both pumps' own, and theirs before it. */
Test(shared_suction, a_valve_in_the_main_finds_it_behind_the_pumps_own)
{
    struct twin twin =
        twin_of(-1.5, "", "{non-return: ball, name: common, size: DN65, mounting: up},");
    double value = NAN;
    cr_expect_eq(count(&twin, "seating", "common", &value), 0);
    cr_expect_eq(count(&twin, "seating", "own one", &value), 0);
    arena_free(twin.arena);
}

/* Lips hold 10 m, of the catalogue: the head told is that of the tower over the pit, 15 m. */
Test(shared_suction, what_a_valve_must_hold_is_the_whole_head)
{
    struct twin twin =
        twin_of(1.0, foot, "{non-return: duckbill, name: lips, size: DN65, mounting: up},");
    double value = NAN;
    cr_expect_eq(count(&twin, "holding", "lips", &value), 1);
    cr_expect_float_eq(value, 15.0, 1e-6);
    arena_free(twin.arena);
}
