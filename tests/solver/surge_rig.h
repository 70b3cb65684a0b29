/* Rig: small networks for the surge tests, put together by hand. */
#ifndef TESTS_SOLVER_SURGE_RIG_H
#define TESTS_SOLVER_SURGE_RIG_H

#include "solver/surge/surge.h"
#include "tests/solver/surge_rig_parts.h"

#include <criterion/criterion.h>

enum { RIG_POINTS = 12, RIG_LINKS = 12, RIG_EVENTS = 4, RIG_GAUGES = 4 };

struct rig {
    struct arena *arena;
    struct point points[RIG_POINTS];
    struct link links[RIG_LINKS];
    struct pipe pipes[RIG_LINKS];
    struct run run;
    double head[RIG_POINTS];
    double flow[RIG_LINKS];
    double drop[RIG_LINKS];
    struct network network;
    struct steady start;
    struct surge_event events[RIG_EVENTS];
    int gauges[RIG_GAUGES];
    bool gauge_is_link[RIG_GAUGES];
    struct valve_place valve;
    struct pump_place pump;
    struct site site;
    struct surge_options options;
    struct surge result;
    struct failure failure;
};

/* Gravity 9.81 m/s2 and round numbers, as the reference cases use. */
static inline void rig_open(struct rig *rig, double duration)
{
    *rig = (struct rig){0};
    rig->arena = arena_new();
    rig->network.points = rig->points;
    rig->network.links = rig->links;
    rig->start.head = rig->head;
    rig->start.flow = rig->flow;
    rig->start.drop = rig->drop;
    rig->site.network = &rig->network;
    rig->site.water = (struct water){.temperature_c = 15.0,
                                     .gravity = 9.81,
                                     .density = 1000.0,
                                     .viscosity = 1.18e-6,
                                     .vapour_pressure = 1700.0,
                                     .bulk_modulus = 2.19e9,
                                     .air_pressure = 101325.0};
    rig->site.surge.is_given = true;
    rig->site.surge.duration = duration;
    rig->site.surge.events = rig->events;
    rig->site.surge.gauges = rig->gauges;
    rig->site.surge.gauge_is_link = rig->gauge_is_link;
    rig->options = surge_defaults;
    rig->options.series_limit = 1 << 20;
}

static inline void rig_close(struct rig *rig)
{
    arena_free(rig->arena);
}

/* Points lie far below the heads, so that nothing boils; tests of boiling set elevations. */
static inline int rig_add_point(struct rig *rig, double head)
{
    int i = rig->network.point_count++;
    rig->points[i] = (struct point){.elevation = head - 1e4, .tank = NETWORK_NONE};
    rig->head[i] = head;
    return i;
}

static inline int rig_add_tank(struct rig *rig, double head)
{
    int i = rig_add_point(rig, head);
    rig->points[i].is_held = true;
    rig->points[i].held_head = head;
    return i;
}

static inline int rig_add_link(struct rig *rig, int from, int to, double area,
                               const struct element *element, const void *data, double flow)
{
    int i = rig->network.link_count++;
    rig->links[i] = (struct link){.name = "link",
                                  .from = from,
                                  .to = to,
                                  .run = NETWORK_NONE,
                                  .area = area,
                                  .element = element,
                                  .data = data};
    rig->flow[i] = flow;
    rig->drop[i] = rig->head[from] - rig->head[to];
    return i;
}

/* A pipe of this bore area and wave speed; friction is set by the caller through rig->pipes. */
static inline int rig_add_pipe(struct rig *rig, int from, int to, double length, double area,
                               double wave_speed, double flow)
{
    struct pipe *pipe = &rig->pipes[rig->network.link_count];
    pipe->friction.length = length;
    pipe->friction.bore = sqrt(4.0 * area / 3.14159265358979323846);
    pipe->stated_wave_speed = wave_speed;
    pipe->vertical_from = rig->points[from].elevation;
    pipe->vertical_to = rig->points[to].elevation;
    return rig_add_link(rig, from, to, area, &rig_smooth_pipe, pipe, flow);
}

static inline void rig_add_event(struct rig *rig, enum surge_event_kind kind, double at, int link,
                                 double value, double ramp)
{
    rig->events[rig->site.surge.event_count++] =
        (struct surge_event){.kind = kind, .at = at, .link = link, .value = value, .ramp = ramp};
}

static inline void rig_add_gauge(struct rig *rig, int number, bool is_link)
{
    int i = rig->site.surge.gauge_count++;
    rig->gauges[i] = number;
    rig->gauge_is_link[i] = is_link;
}

static inline void rig_run(struct rig *rig)
{
    bool done = surge_run_plan(&rig->site, &rig->network, &rig->start, &rig->options, &rig->result,
                               rig->arena, &rig->failure);
    cr_assert(done, "%s", rig->failure.message);
    cr_assert_eq(rig->result.ending, SURGE_DONE, "no answer at %g s at point %d",
                 rig->result.time_reached, rig->result.group_failed_point);
}

/* Head at gauge `i` at instant `row`. */
static inline double rig_head(const struct rig *rig, int row, int i)
{
    return rig->result.gauge_head[row * rig->site.surge.gauge_count + i];
}

static inline double rig_flow(const struct rig *rig, int row, int i)
{
    return rig->result.gauge_flow[row * rig->site.surge.gauge_count + i];
}

#endif
