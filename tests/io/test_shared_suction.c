/* Two pumps that share one suction pipe and its foot valve, each with a valve of its own: what is
 * told of one pump with a suction pipe of its own must be told of them too. */
#include "solver/study/failures.h"
#include "tests/io/told_site.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

/* Water at 0 m, pump axes at `axis`, a tower at 15 m; `shared` before the pumps, `common` behind.
 */
static struct told_site twin_of(double axis, const char *shared, const char *common)
{
    char text[2000];
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
    return told_site(text);
}

static const char foot[] = "{non-return: foot flap, name: foot, size: DN80, mounting: up},";

/* How often a rule speaks of a subject; the last value it told. */
static int count(const struct told_site *twin, const char *rule, const char *subject, double *value)
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
    struct told_site twin = twin_of(1.0, foot, "");
    double value = NAN;
    cr_expect_eq(count(&twin, "seating", "own one", &value), 0);
    cr_expect_eq(count(&twin, "seating", "own two", &value), 0);
    cr_expect_eq(count(&twin, "seating", "foot", &value), 0);
    arena_free(twin.arena);
}

/* The same for one valve in the main behind both pumps' own, and theirs before it. */
Test(shared_suction, a_valve_in_the_main_finds_it_behind_the_pumps_own)
{
    struct told_site twin =
        twin_of(-1.5, "", "{non-return: ball, name: common, size: DN65, mounting: up},");
    double value = NAN;
    cr_expect_eq(count(&twin, "seating", "common", &value), 0);
    cr_expect_eq(count(&twin, "seating", "own one", &value), 0);
    arena_free(twin.arena);
}

/* Lips hold 10 m, of the catalogue: the head told is that of the tower over the pit, 15 m. */
Test(shared_suction, what_a_valve_must_hold_is_the_whole_head)
{
    struct told_site twin =
        twin_of(1.0, foot, "{non-return: duckbill, name: lips, size: DN65, mounting: up},");
    double value = NAN;
    cr_expect_eq(count(&twin, "holding", "lips", &value), 1);
    cr_expect_float_eq(value, 15.0, 1e-6);
    arena_free(twin.arena);
}

/* 7 m are more than the 6 m of the trade's rule; without a foot valve nothing keeps the prime. */
Test(shared_suction, lift_and_prime_of_the_pumps_behind_it_are_told)
{
    struct told_site twin = twin_of(7.0, "", "");
    double value = NAN;
    cr_expect_eq(count(&twin, "suction lift", "one", &value), 1);
    cr_expect_float_eq(value, 7.0, 1e-9);
    cr_expect_eq(count(&twin, "suction lift", "two", &value), 1);
    cr_expect_eq(count(&twin, "prime", "one", &value), 1);
    cr_expect_eq(count(&twin, "draws air", "suction/knee-1", &value), 0);
    arena_free(twin.arena);
    twin = twin_of(1.0, foot, "");
    cr_expect_eq(count(&twin, "suction lift", "one", &value), 0);
    cr_expect_eq(count(&twin, "prime", "one", &value), 0);
    cr_expect_eq(count(&twin, "prime", "foot", &value), 1); /* once for both */
    /* A tenth of its 5 m of DN80 at 0.1 mm3/s a mm of bore, rate D of EN 12266-1. */
    cr_expect_float_eq(value, 0.1 * 5.0 * 0.25 * 3.14159265 * 0.08 * 0.08 / (1e-7 * 0.08), 10.0);
    arena_free(twin.arena);
}

/* A leaking or stuck foot valve empties the suction pipe of a pump 1 m above the water. */
Test(shared_suction, a_foot_valve_that_fails_costs_the_prime)
{
    for (int i = 0; i < 2; i++) {
        struct told_site twin = twin_of(i == 0 ? 1.0 : -1.0, foot, "");
        struct failure failure = {0};
        struct failures failures;
        const struct failures_options options = {0};
        const int link = network_find_link(twin.site->network, "foot");
        int stuck = 0;
        twin.site->surge = (struct surge_plan){.is_given = true, .duration = 0.1};
        cr_assert(failures_run(twin.site, &options, &failures, twin.arena, &failure), "%s",
                  failure.message);
        for (int k = 0; k < failures.count; k++) {
            if (failures.items[k].kind == FAILED_STUCK_OPEN && failures.items[k].link == link) {
                stuck++;
                cr_expect_eq(failures.items[k].loses_prime, i == 0);
            }
        }
        cr_expect_eq(stuck, 1);
        arena_free(twin.arena);
    }
}

/* Geometry: 5 m of DN80. The tank that is watched for dry running is the one it draws from. */
Test(shared_suction, the_prime_is_followed_over_hours)
{
    static const char text[] =
        "tanks: {pit: {floor: -3 m, brim: 2 m, level: 0 m, area: 4 m2},\n"
        "        tower: {floor: 13 m, brim: 16 m, level: 15 m, area: 8 m2}}\n"
        "points: {fork: {elevation: 1 m}}\n"
        "pumps: {p: {speed: 2900 rpm, flow: 0 2 4 6 L/s, head: 30 28 24 16 m}}\n"
        "runs:\n"
        "  suction: {from: pit, to: fork, suction: yes, start: -1 m, parts: [\n"
        "    {non-return: foot flap, size: DN80, mounting: up},\n"
        "    {pipe: own, bore: 80 mm, roughness: 0.01 mm, length: 5 m}]}\n"
        "  duty: {from: fork, to: tower, parts: [{pump: p, name: one},\n"
        "    {pipe: own, bore: 50 mm, roughness: 0.01 mm, length: 2 m}]}\n"
        "filling: {pumps: {one: {foot valve leak: 0.01 L/s, dry-run level: -2 m}}}\n";
    struct faults faults;
    struct site *site = NULL;
    struct arena *arena = arena_new();
    faults_init(&faults, arena);
    cr_assert(read_site_text("prime.yaml", text, strlen(text), arena, &site, &faults), "%s",
              faults_first(&faults) ? faults_first(&faults)->message : "");
    const struct filling_pump *pump = &site->filling.pumps[0];
    cr_expect_eq(pump->prime_tank, network_find_tank(site->network, "pit"));
    cr_expect_eq(pump->protect_tank, pump->prime_tank);
    cr_expect_float_eq(pump->prime_volume, 5.0 * 0.25 * 3.14159265 * 0.08 * 0.08, 1e-9);
    arena_free(arena);
}
