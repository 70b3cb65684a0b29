/* What follows when one thing fails, on a small pumped site: sump below, header above. */
#include "solver/study/failures.h"
#include "tests/solver/small_site.h"

#include <criterion/criterion.h>

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
    cr_assert_geq(item->grade, GRADE_FLOOD);
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
        cr_assert_geq(cone.items[i - 1].grade, cone.items[i].grade);
    }
    arena_free(arena);
}
