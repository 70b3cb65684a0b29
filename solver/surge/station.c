#include "solver/surge/station.h"

#include "solver/surge/creep.h"
#include "solver/surge/unsteady.h"

struct damping damping_of(const struct link *link, const struct water *water,
                          const struct damping_wishes *wishes)
{
    const struct pipe *pipe = link->element->pipe(link->data);
    struct damping damping = {.link = link, .water = water};
    if (wishes->friction) {
        damping.friction = unsteady_of_pipe(pipe, 1.0, water, wishes->steady_flow, wishes->step);
    }
    if (wishes->wall && creep_is_known(pipe)) {
        const double wave_speed = pipe->friction.length / wishes->crossing;
        damping.wall = creep_of_pipe(pipe, water, wave_speed, wishes->crossing, wishes->step);
    }
    return damping;
}

struct station station_start(const struct damping *damping, double share, double head, double flow)
{
    struct station station = {.share = share, .flow = flow};
    station.lagging = -fading_start(&damping->friction, flow, station.term);
    station.memory = 2.0 * share * fading_start(&damping->wall, head, station.part);
    return station;
}

struct drop station_friction(const struct damping *damping, const struct station *station,
                             double flow)
{
    const struct link *link = damping->link;
    struct drop drop = link->element->drop(link->data, damping->water, flow);
    drop.head += damping->friction.total * flow + station->lagging;
    drop.slope += damping->friction.total;
    return drop;
}

double station_softness(const struct damping *damping, const struct station *station)
{
    return 2.0 * station->share * damping->wall.total;
}

double station_yield(const struct damping *damping, const struct station *station, double head)
{
    return station_softness(damping, station) * head - station->memory;
}

void station_take_flow(const struct damping *damping, struct station *station, double flow)
{
    station->flow = flow;
    station->lagging = -fading_step(&damping->friction, flow, station->term);
}

void station_take_head(const struct damping *damping, struct station *station, double head)
{
    const double yield = station_yield(damping, station, head);
    station->grown += 0.5 * (station->yield + yield);
    station->yield = yield;
    station->memory = 2.0 * station->share * fading_step(&damping->wall, head, station->part);
}
