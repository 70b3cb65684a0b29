/* Protection of whole small cases: what a bypass, a flywheel, a drive and a relief valve do when a
 * pump stops. */
#include "io/door/door.h"
#include "models/circle.h"
#include "solver/surge/surge.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

/* A pump lifts from a pond through a long main; %s: more of a point's words, of the
 * pump's, the runs and the event's. */
static const char form[] =
    "water: {temperature: 10 degC, altitude: 0 m}\n"
    "tanks:\n  pond: {level: 6 m, fixed: yes}\n  loft: {level: 20 m, fixed: yes}\n"
    "points:\n  before: {elevation: 0 m}\n  after: {elevation: 0 m%s}\n"
    "pumps:\n  lift: {speed: 2900 rpm, flow: 0 2 4 6 L/s, head: 26 25 21 13 m,\n"
    "         power: 0.9 1.1 1.3 1.4 kW, inertia: 0.005 kg m2}\n"
    "runs:\n"
    "  suction: {from: pond, to: before, parts: [{pipe: pvc-u 90 pn10, length: 3 m, end: 0 m}]}\n"
    "  pumping: {from: before, to: after, parts: [{pump: lift, name: lift-1%s},\n"
    "            {non-return: spring cone, name: delivery, size: DN80, mounting: horizontal}]}\n"
    "  main: {from: after, to: loft, parts: [{pipe: pvc-u 90 pn10, length: 600 m, end: 0 m}]}\n"
    "%s"
    "surge:\n  duration: 12 s\n  events: [{at: 1 s, stop: lift-1%s}]\n";

struct outcome {
    double lowest; /* m, head behind the pump */
    double highest;
    double start; /* before the stop */
    double flow;  /* m3/s then */
};

static struct outcome outcome_with(const char *after, const char *pump, const char *runs,
                                   const char *event)
{
    char text[4096];
    struct arena *arena = arena_new();
    struct faults faults;
    struct failure failure;
    struct site *site = NULL;
    struct steady steady;
    struct surge surge;
    snprintf(text, sizeof text, form, after, pump, runs, event);
    faults_init(&faults, arena);
    const bool is_read = read_site_text("text.yaml", text, strlen(text), arena, &site, &faults);
    if (!is_read) {
        faults_write(&faults, FAULT_ERROR, stderr);
    }
    cr_assert(is_read);
    struct steady_solver *solver = steady_solver_new(site->network, &failure);
    cr_assert(steady_init(&steady, site->network, arena, &failure));
    cr_assert(
        steady_solve(solver, site->network, &site->water, &steady_defaults, &steady, &failure));
    steady_solver_free(solver);
    cr_assert(
        surge_run_plan(site, site->network, &steady, &surge_defaults, &surge, arena, &failure));
    cr_assert_eq(surge.ending, SURGE_DONE);
    cr_assert(surge.drift < 1e-9 && fabs(surge.mass_residual) < 1e-9);
    cr_assert(surge.energy.lost_in_pipes > 0);
    cr_assert(fabs(surge.energy.residual) < 1e-9 * surge.energy.from_pumps);
    const int point = network_find_point(site->network, "after");
    const int delivery = network_find_link(site->network, "delivery");
    const struct outcome outcome = {surge.head_min[point], surge.head_max[point],
                                    steady.head[point], steady.flow[delivery]};
    arena_free(arena);
    return outcome;
}

static struct outcome outcome_of(const char *pump, const char *runs, const char *event)
{
    return outcome_with("", pump, runs, event);
}

/* Without it water already comes through the standing pump, at its loss. The bypass opens when the
 * head behind the pump falls under that of the pond: no lower but for the bypass's own loss, the
 * water of its short pipe and the flap that must be swung open through it. */
Test(protection_cases, bypass_keeps_the_main_above_the_pond)
{
    static const char bypass[] =
        "  bypass: {from: before, to: after, parts: [{pipe: pvc-u 90 pn10, length: 1 m},\n"
        "           {non-return: swing flap, size: DN80, mounting: horizontal}]}\n";
    const struct outcome bare = outcome_of("", "", "");
    const struct outcome kept = outcome_of("", bypass, "");
    cr_expect(bare.lowest < 5, "%g", bare.lowest);
    cr_expect(kept.lowest < 6, "%g", kept.lowest);
    cr_expect(kept.lowest > 5.2, "%g", kept.lowest); /* its flap is still opening then */
}

/* The heavier the wheel, the gentler. */
Test(protection_cases, flywheel_softens_a_stop)
{
    const struct outcome bare = outcome_of("", "", "");
    const struct outcome light = outcome_of(", flywheel: 0.05 kg m2", "", "");
    const struct outcome heavy = outcome_of(", flywheel: 0.5 kg m2", "", "");
    cr_expect(bare.lowest < light.lowest && light.lowest < heavy.lowest);
    cr_expect(heavy.highest <= light.highest && light.highest <= bare.highest);
}

/* A drive that takes some wave times: most of the stop happens in the first of them, as soon as the
 * pump no longer reaches the loft, so it helps less than its ten seconds promise. */
Test(protection_cases, drive_stops_softly)
{
    const struct outcome bare = outcome_of("", "", "");
    const struct outcome soft = outcome_of("", "", ", over: 10 s");
    cr_expect(soft.lowest > bare.lowest + 3, "%g", soft.lowest);
    cr_expect(soft.highest < bare.highest);
}

/* A surge tank behind the pump gives the column the water it asks for: next to no fall. A hole in
 * its foot takes the head of a sharp-edged orifice, Q = 0.6 A sqrt(2 g h), of at most the flow
 * there was before; as the pump runs down the main slows, so a fifth less. */
Test(protection_cases, standpipe_gives_way_and_its_throttle_takes_its_head)
{
    const struct outcome bare = outcome_of("", "", "");
    const struct outcome wide =
        outcome_with(", standpipe top: 40 m, standpipe bore: 600 mm", "", "", "");
    const struct outcome narrow = outcome_with(
        ", standpipe top: 40 m, standpipe bore: 600 mm, standpipe throttle: 30 mm", "", "", "");
    const double speed = narrow.flow / (0.6 * circle_area(0.03));
    const double loss = speed * speed / (2 * 9.81);
    cr_expect(bare.lowest < wide.start - 15, "%g", bare.lowest);
    cr_expect(wide.lowest > wide.start - 0.2 && wide.highest < wide.start + 0.01);
    const double fall = narrow.start - narrow.lowest;
    cr_expect(fall < loss && fall > 0.75 * loss, "%g of %g", fall, loss);
}
