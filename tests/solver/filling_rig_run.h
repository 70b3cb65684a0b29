/* Filling rig run: pumps and float switches of a filling rig, its run and what is expected of it.
 */
#ifndef TESTS_SOLVER_FILLING_RIG_RUN_H
#define TESTS_SOLVER_FILLING_RIG_RUN_H

#include "tests/solver/filling_rig.h"

#include <math.h>

/* A float switch of one stage over the pumps 0 to `pumps` - 1 of the plan. */
static inline struct filling_switch *rig_switch(struct rig *rig, int tank, double on, double off,
                                                int pumps)
{
    const int index = rig->site.filling.switch_count++;
    rig->numbers[index][0] = on;
    rig->numbers[index][1] = off;
    for (int i = 0; i < pumps; i++) {
        rig->pump_list[index][i] = i;
    }
    rig->switches[index] = (struct filling_switch){.name = "float",
                                                   .tank = tank,
                                                   .is_emptying = on > off,
                                                   .stage_count = 1,
                                                   .on_level = &rig->numbers[index][0],
                                                   .off_level = &rig->numbers[index][1],
                                                   .pump_count = pumps,
                                                   .pumps = rig->pump_list[index]};
    return &rig->switches[index];
}

static inline void rig_run_with(struct rig *rig, struct filling_options options)
{
    struct failure failure = {0};
    cr_assert(filling_run(&rig->site, &options, &rig->answer, rig->arena, &failure), "%s",
              failure.message);
}

/* A pump of the plan from a point through a limiter into a higher open end: while it is on exactly
 * `flow` m3/s leave, while it is off none. */
static inline int rig_pump(struct rig *rig, int from, double flow)
{
    const int index = rig->site.filling.pump_count++;
    struct pump *pump = &rig->pumps[index];
    struct failure failure = {0};
    *pump = (struct pump){.name = "pump", .speed = 48, .count = 2, .power_count = 2};
    pump->flow[1] = 2 * flow;
    pump->head[0] = 60;
    pump->head[1] = 40;
    pump->power[0] = pump->power[1] = 1000;
    cr_assert(pump_init(pump, &rig->site.water, &failure), "%s", failure.message);
    rig->units[index] = (struct pump_unit){.pump = pump, .speed = 1};
    const int between = rig_free(rig, 0.0);
    const int link = rig_link(rig, from, between, &pump_element, &rig->units[index]);
    rig->pump_words[index] = (struct filling_pump){.link = link,
                                                   .protect_tank = NETWORK_NONE,
                                                   .starts_limit = NAN,
                                                   .prime_tank = NETWORK_NONE,
                                                   .prime_time = NAN};
    (void)rig_law(rig, between, rig_held(rig, 10.0), (struct kit_law){.linear = 1, .upper = flow});
    return index;
}

/* `flow` m3/s into a tank's point. */
static inline void rig_feed(struct rig *rig, int to, double flow)
{
    (void)rig_law(rig, rig_free(rig, -flow), to, kit_resistance(1000));
}

/* A run of `duration` s with small errors; it must reach its end. */
static inline void rig_run(struct rig *rig, double duration)
{
    struct filling_options options = filling_defaults;
    options.duration = duration;
    options.accuracy = 1e-10;
    rig_run_with(rig, options);
    cr_assert_eq(rig->answer.ending, FILLING_DONE, "%s after %g s",
                 filling_ending_text(rig->answer.ending), rig->answer.time_reached);
}

/* Time of the event number `number` (from 0) of a kind; NAN: there was none. */
static inline double rig_time_of(const struct rig *rig, enum filling_event_kind kind, int number)
{
    for (int i = 0; i < rig->answer.event_count; i++) {
        const struct filling_event *event = &rig->answer.events[i];
        if (event->kind == kind && number-- == 0) {
            return event->time;
        }
    }
    return (double)NAN;
}

static inline void rig_expect_balance(const struct rig *rig)
{
    cr_expect(fabs(rig->answer.residual) <= 1e-9 * rig->answer.moved, "%g of %g m3",
              rig->answer.residual, rig->answer.moved);
}

static inline void rig_expect(double found, double expected, double share, const char *what)
{
    cr_expect(fabs(found - expected) <= share * fabs(expected), "%s: %.12g instead of %.12g", what,
              found, expected);
}

static inline void rig_clear(struct rig *rig)
{
    arena_free(rig->arena);
}

#endif
