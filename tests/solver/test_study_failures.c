/* What follows when one thing fails, on a small pumped site: sump below, header above. */
#include "solver/study/failures.h"
#include "tests/solver/small_site.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

static struct failures fail_all(struct small_site *small, const char *type, struct arena *arena)
{
    struct failure failure = {0};
    struct failures result;
    const struct failures_options options = {0};
    small_site_init(small, type, 12.0);
    small->site.surge = (struct surge_plan){.is_given = true, .duration = 4.0};
    cr_assert(failures_run(&small->site, &options, &result, arena, &failure), "%s",
              failure.message);
    return result;
}

static const struct failed *find(const struct failures *failures, enum failed_kind kind)
{
    for (int i = 0; i < failures->count; i++) {
        if (failures->items[i].kind == kind) {
            return &failures->items[i];
        }
    }
    return NULL;
}

/* Volume over flow, by hand: at rest the header's 12 m3 over its floor run out, the sump's 4 m3
 * under its brim fill; with the pump running nothing is sooner than without the failure. */
Test(failures, stuck_open_the_header_runs_back_into_the_sump)
{
    struct small_site small;
    struct arena *arena = arena_new();
    const struct failures failures = fail_all(&small, "swing flap", arena);
    const struct failed *item = find(&failures, FAILED_STUCK_OPEN);
    cr_assert(item->is_solved);
    cr_assert_gt(item->flow_back, 1e-3);
    cr_assert_eq(item->dry_tank, 1);
    cr_assert_eq(item->overflow_tank, 0);
    cr_assert_float_eq(item->dry_time, 12.0 / item->flow_back, 1e-6);
    cr_assert_float_eq(item->overflow_time, 4.0 / item->flow_back, 1e-6);
    cr_assert_eq(item->severity[CONSEQUENCE_DRY], SEVERITY_SERIOUS); /* 12 m3 in hours */
    cr_assert_lt(item->lowest_speed, 0.0);
    cr_assert_eq(item->backward_pump, 1);
    arena_free(arena);
}

Test(failures, stuck_shut_nothing_is_delivered)
{
    struct small_site small;
    struct arena *arena = arena_new();
    const struct failures failures = fail_all(&small, "swing flap", arena);
    const struct failed *item = find(&failures, FAILED_STUCK_SHUT);
    cr_assert_float_eq(item->delivered, 0.0, 1e-12);
    cr_assert_gt(failures.sound.delivered, 1e-3);
    cr_assert_float_eq(item->flow_back, 0.0, 0.0);
    arena_free(arena);
}

/* A gap is an orifice: water back goes with its area (tenfold area, near tenfold flow as long as
 * the pipe takes little of the head). */
Test(failures, debris_lets_more_back_than_a_leak_and_less_than_an_open_valve)
{
    struct small_site small;
    struct arena *arena = arena_new();
    const struct failures failures = fail_all(&small, "swing flap", arena);
    const double leak = find(&failures, FAILED_LEAKING)->flow_back;
    const double debris = find(&failures, FAILED_DEBRIS)->flow_back;
    const double open = find(&failures, FAILED_STUCK_OPEN)->flow_back;
    cr_assert_gt(leak, 1e-6);
    cr_assert(debris > 5.0 * leak && debris <= 10.0 * leak * 1.001);
    cr_assert_lt(debris, open);
    arena_free(arena);
}

Test(failures, of_a_sound_valve_nothing_runs_back)
{
    struct small_site small;
    struct arena *arena = arena_new();
    const struct failures failures = fail_all(&small, "swing flap", arena);
    cr_assert_float_eq(find(&failures, FAILED_POWER)->flow_back, 0.0, 0.0);
    cr_assert_float_eq(failures.sound.flow_back, 0.0, 0.0);
    cr_assert_eq(find(&failures, FAILED_POWER)->backward_pump, NETWORK_NONE);
    arena_free(arena);
}

Test(failures, only_a_spring_can_be_lost_and_the_worst_stands_first)
{
    struct small_site small;
    struct arena *arena = arena_new();
    const struct failures flap = fail_all(&small, "swing flap", arena);
    cr_assert_null(find(&flap, FAILED_SPRING_GONE));
    cr_assert_eq(flap.count, 6);
    const struct failures cone = fail_all(&small, "spring cone", arena);
    cr_assert_not_null(find(&cone, FAILED_SPRING_GONE));
    for (int i = 1; i < cone.count; i++) {
        cr_assert_geq(cone.items[i - 1].worst, cone.items[i].worst);
    }
    arena_free(arena);
}

/* Idelchik's thin plate with half of the area free has 4.00 velocity heads (Handbook of Hydraulic
 * Resistance, diagram 4-15, from memory); Borda and Carnot's loss behind Weisbach's contraction
 * (0.63 + 0.37 x 0.5^3 = 0.676) gives (1/(0.676 x 0.5) - 1)^2 = 3.83. */
Test(failures, debris_takes_half_of_the_area_and_some_of_the_water)
{
    struct small_site small;
    struct failure failure = {0};
    struct failed_site failed = {0};
    struct arena *arena = arena_new();
    const struct failures failures = fail_all(&small, "swing flap", arena);
    const struct failed *item = find(&failures, FAILED_DEBRIS);
    cr_assert(failed_site_init(&failed, &small.site, FAILED_DEBRIS, item->link, arena, &failure));
    const struct non_return *before = small.site.network->links[item->link].data;
    const double added = failed.valve.extra_loss - before->extra_loss;
    cr_assert_float_eq(added, 4.0, 0.01);
    cr_assert_float_eq(added, 3.83, 0.05 * 3.83);
    cr_assert_lt(item->delivered, 0.999 * find(&failures, FAILED_LEAKING)->delivered);
    cr_assert_gt(item->delivered, 0.5 * failures.sound.delivered);
    arena_free(arena);
}

static struct failed nothing(enum failed_kind kind)
{
    const double none = (double)NAN;
    return (struct failed){.kind = kind,
                           .is_solved = true,
                           .delivered = 1e-3,
                           .overflow_time = none,
                           .dry_time = none,
                           .highest_share = 0.5,
                           .lowest_margin = 8.0,
                           .lowest_speed = none};
}

static enum severity grade(struct failed item, enum consequence consequence)
{
    const struct failed sound = nothing(FAILED_NOTHING);
    failed_grade(&item, &sound);
    cr_assert_eq(item.worst, item.severity[consequence]);
    return item.severity[consequence];
}

/* Either side of each limit of solver/study/failed.h. */
Test(failures, severities_change_at_their_limits)
{
    static const struct {
        size_t field;
        enum consequence consequence;
        double value[3]; /* slight, serious, grave; NAN: there is none */
    } rows[] = {
        {offsetof(struct failed, highest_share), CONSEQUENCE_PRESSURE, {0.91, NAN, 1.01}},
        {offsetof(struct failed, lowest_margin), CONSEQUENCE_BOILING, {1.9, NAN, 0.0}},
        {offsetof(struct failed, overflow_time), CONSEQUENCE_OVERFLOW, {86401.0, 86399.0, 3599.0}},
        {offsetof(struct failed, dry_time), CONSEQUENCE_DRY, {86401.0, 3601.0, 60.0}},
        {offsetof(struct failed, delivered), CONSEQUENCE_WATER, {0.94e-3, 0.49e-3, 0.04e-3}},
        {offsetof(struct failed, flow_back), CONSEQUENCE_BACK, {0.04e-3, 0.06e-3, 0.51e-3}},
        {offsetof(struct failed, lowest_speed), CONSEQUENCE_SPIN, {-0.49, -0.51, -1.01}},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        for (int k = 0; k < 3; k++) {
            struct failed item = nothing(FAILED_STUCK_OPEN);
            memcpy((char *)&item + rows[i].field, &rows[i].value[k], sizeof(double));
            if (!isnan(rows[i].value[k])) {
                cr_expect_eq(grade(item, rows[i].consequence), (enum severity)(SEVERITY_SLIGHT + k),
                             "%zu %d", i, k);
            }
        }
    }
    struct failed item = nothing(FAILED_STUCK_OPEN);
    item.loses_prime = true;
    cr_assert_eq(grade(item, CONSEQUENCE_PRIME), SEVERITY_SERIOUS);
    cr_assert_eq(grade(nothing(FAILED_POWER), CONSEQUENCE_WATER), SEVERITY_NONE);
}

/* The table and the squares of the picture have one order: by the darkest square, then by its kind.
 */
Test(failures, a_pump_backward_beyond_its_speed_stands_before_a_tank_dry_in_hours)
{
    const struct failed sound = nothing(FAILED_NOTHING);
    struct failed dry = nothing(FAILED_STUCK_SHUT);
    struct failed spin = nothing(FAILED_STUCK_OPEN);
    struct failed burst = nothing(FAILED_POWER);
    struct failed unknown = nothing(FAILED_LEAKING);
    dry.dry_time = 4.0 * 3600.0;
    spin.lowest_speed = -1.12;
    burst.highest_share = 1.2;
    unknown.is_solved = false;
    struct failed items[] = {dry, spin, burst, unknown};
    for (int i = 0; i < 4; i++) {
        failed_grade(&items[i], &sound);
    }
    qsort(items, 4, sizeof *items, failed_compare);
    cr_assert_eq(items[0].kind, FAILED_LEAKING);
    cr_assert_eq(items[1].kind, FAILED_POWER);
    cr_assert_eq(items[2].kind, FAILED_STUCK_OPEN);
    cr_assert_eq(items[3].kind, FAILED_STUCK_SHUT);
    cr_assert_eq(items[2].what, CONSEQUENCE_SPIN);
}

/* What the power's failing does with every valve sound is not a valve's doing. */
Test(failures, a_valve_answers_only_for_what_it_adds_to_the_pressure)
{
    struct failed sound = nothing(FAILED_NOTHING);
    struct failed valve = nothing(FAILED_LEAKING);
    struct failed power = nothing(FAILED_POWER);
    sound.highest_share = valve.highest_share = power.highest_share = 1.3;
    failed_grade(&valve, &sound);
    failed_grade(&power, &sound);
    cr_assert_eq(valve.severity[CONSEQUENCE_PRESSURE], SEVERITY_SLIGHT);
    cr_assert_eq(power.severity[CONSEQUENCE_PRESSURE], SEVERITY_GRAVE);
}
