/* What opens and shuts by itself or by the clock while a site runs: float valves that a level
 * moves, valves opened by a timer, mouths that the level leaves and reaches, non-return valves.
 * Every expected time and level is a closed solution (constructed, worked out beside each test). */
#include "models/float_valve.h"
#include "tests/solver/filling_rig_run.h"

#include <criterion/criterion.h>
#include <math.h>

/* Capacity in proportion to the opening: K = K(open)/opening^2. */
static const struct throttling_curve straight = {
    .name = "straight", .count = 1, .opening = {1.0}, .loss = {1.0}, .is_relative = true};

static const double g = 9.80665;

static struct throttling valve_of(double area, double loss)
{
    return (struct throttling){.curve = &straight, .area = area, .open_loss = loss, .opening = 1.0};
}

/* Through the float valve alone, A dz/dt = (zs - z)/span a sqrt(2 g (H - z)/K). With u = sqrt(H -
 * z) and us = sqrt(H - zs) this is du/(u^2 - us^2) = -c/(2 span) dt, c = a sqrt(2 g/K)/A, so t =
 * span/(c us) (ln((u0 - us)/(u0 + us)) - ln((u - us)/(u + us))). */
Test(filling_passages, level_shuts_a_float_valve_as_it_rises)
{
    const double head = 3.0;
    const double open = 1.0;
    const double shut = 1.5;
    struct rig rig;
    rig_init(&rig, g);
    const int cistern = rig_tank(&rig, tank_shape_upright(0.6, 2.0), 0.0, open);
    struct float_valve valve = {
        .valve = valve_of(0.001, 4.0), .open_level = open, .shut_level = shut, .level = open};
    (void)rig_link(&rig, rig_held(&rig, head), cistern, &float_valve_element, &valve);
    const double c = 0.001 * sqrt(2 * g / 4.0) / 0.6;
    const double us = sqrt(head - shut);
    const double u0 = sqrt(head - open);
    static const double reached[] = {1.2, 1.4, 1.49};
    for (int i = 0; i < 3; i++) {
        const double u = sqrt(head - reached[i]);
        const double time =
            (shut - open) / (c * us) * (log((u0 - us) / (u0 + us)) - log((u - us) / (u + us)));
        rig_run(&rig, time);
        rig_expect(rig.answer.tanks[0].level_end, reached[i], 1e-6, "level");
        rig_expect_balance(&rig);
    }
    rig_clear(&rig);
}

/* Opening x: d sqrt(H - z)/dt = -x c/2, so the root falls evenly, at a rate that the timer sets. */
Test(filling_passages, timer_opens_a_valve_by_shares)
{
    static const double times[] = {0, 100, 250};
    static const double shares[] = {1.0, 0.5, 0.0};
    struct rig rig;
    rig_init(&rig, g);
    const int tank = rig_tank(&rig, tank_shape_upright(0.6, 2.0), 0.0, 0.5);
    struct throttling valve = valve_of(0.001, 4.0);
    const int link = rig_link(&rig, rig_held(&rig, 3.0), tank, &throttling_element, &valve);
    rig.timers[0] = (struct filling_timer){.kind = FILLING_TIMER_OPENING,
                                           .link = link,
                                           .setting = {.count = 3, .time = times, .value = shares}};
    rig.site.filling.timer_count = 1;
    rig_run(&rig, 400);
    const double c = 0.001 * sqrt(2 * g / 4.0) / 0.6;
    const double root = sqrt(2.5) - 0.5 * c * (1.0 * 100 + 0.5 * 150);
    rig_expect(rig.answer.tanks[0].level_end, 3.0 - root * root, 1e-6, "level");
    rig_expect_balance(&rig);
    rig_clear(&rig);
}

/* 1 L/s leave at the floor and 2 L/s at 1 m: 3 L/s until the level is there, 1 L/s after. At 900 s
 * 5 L/s more come in: the upper mouth is reached, and covered again by its lip of 5 mm. */
Test(filling_passages, mouth_above_the_lowest_runs_dry_and_is_covered_again)
{
    static const double times[] = {0, 900};
    static const double flows[] = {0, -0.005};
    struct rig rig;
    rig_init(&rig, g);
    const int tank = rig_tank(&rig, tank_shape_upright(1.5, 3.0), 0.0, 2.0);
    const int low = rig_law(&rig, tank, rig_held(&rig, -50), (struct kit_law){.upper = 0.001});
    const int high = rig_law(&rig, tank, rig_held(&rig, -50), (struct kit_law){.upper = 0.002});
    const struct filling_mouth mouths[] = {{low, 0, 0.0}, {high, 0, 1.0}};
    rig.site.filling.mouths = mouths;
    rig.site.filling.mouth_count = 2;
    rig.draws[0] = (struct filling_draw){
        .point = NETWORK_NONE, .tank = 0, .flow = {.count = 2, .time = times, .value = flows}};
    rig.site.filling.draw_count = 1;
    rig_run(&rig, 1500);
    const double uncovered = 1.5 / 0.003;
    const double low_level = 1.0 - (900 - uncovered) * 0.001 / 1.5;
    const double covered = 900 + (1.005 - low_level) * 1.5 / 0.004;
    cr_expect_float_eq(rig_time_of(&rig, FILLING_UNCOVERED, 0), uncovered, 0.001);
    cr_expect_float_eq(rig_time_of(&rig, FILLING_COVERED, 0), covered, 0.001);
    rig_expect(rig.answer.tanks[0].level_end, 1.005 + (1500 - covered) * 0.002 / 1.5, 1e-6,
               "level");
    rig_expect_balance(&rig);
    rig_clear(&rig);
}

static double flows_or_not(const void *data, const struct water *water, double flow)
{
    (void)data;
    (void)water;
    return flow > 0.0 ? 1.0 : 0.0;
}

/* A valve that needs 0.2 m to open, then R q: with x what the level has over that, A dx/dt = in -
 * x/R once it is open. It opens after 0.7 m; from 1500 s on 2 L/s more leave than come. */
Test(filling_passages, non_return_valve_opens_and_shuts_on_time)
{
    static const double times[] = {0, 1500};
    static const double flows[] = {0, 0.003};
    const struct element element = {
        .kind = "valve", .drop = kit_drop, .span = kit_span, .opening = flows_or_not};
    const double resistance = 300.0; /* s/m2 */
    const struct kit_law law = {.start = 0.2, .linear = resistance, .upper = INFINITY};
    struct rig rig;
    rig_init(&rig, g);
    const int tank = rig_tank(&rig, tank_shape_upright(1.0, 3.0), 0.0, 0.5);
    rig_feed(&rig, tank, 0.001);
    (void)rig_link(&rig, tank, rig_held(&rig, 1.0), &element, &law);
    rig.draws[0] = (struct filling_draw){
        .point = NETWORK_NONE, .tank = 0, .flow = {.count = 2, .time = times, .value = flows}};
    rig.site.filling.draw_count = 1;
    rig_run(&rig, 1900);
    const double opens = 0.7 / 0.001;
    const double then = 0.001 * resistance * (1 - exp(-(1500 - opens) / resistance));
    const double more = 0.002 * resistance;
    const double shuts = 1500 + resistance * log((then + more) / more);
    cr_expect_float_eq(rig_time_of(&rig, FILLING_VALVE_OPENS, 0), opens, 0.001);
    cr_expect_float_eq(rig_time_of(&rig, FILLING_VALVE_SHUTS, 0), shuts, 0.001);
    rig_expect(rig.answer.tanks[0].level_end, 1.2 - (1900 - shuts) * 0.002, 1e-6, "level");
    rig_expect_balance(&rig);
    rig_clear(&rig);
}
