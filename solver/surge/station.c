#include "solver/surge/station.h"

struct damping damping_of(const struct link *link, const struct water *water,
                          const struct damping_wishes *wishes)
{
    const struct pipe *pipe = link->element->pipe(link->data);
    struct damping damping = {.link = link, .water = water};
    if (wishes->friction) {
        damping.is_remembering = true;
        damping.friction = unsteady_of_pipe(pipe, 1.0, water, wishes->steady_flow, wishes->step);
    }
    if (wishes->wall && creep_is_known(pipe)) {
        const double wave_speed = pipe->friction.length / wishes->crossing;
        damping.is_creeping = true;
        damping.wall = creep_of(pipe->material, wishes->step);
        damping.stress = creep_stress(pipe, water);
        damping.give = wave_speed * wave_speed * wishes->crossing / water->gravity;
        damping.softness = damping.give * damping.wall.rate * damping.stress;
    }
    return damping;
}

struct station station_start(const struct damping *damping, double share, double head, double flow)
{
    return (struct station){
        .share = share,
        .flow = flow,
        .lagging = -damping->friction.lag * flow,
        .level = head,
        .memory = 2.0 * share * damping->softness * head,
    };
}

struct drop station_friction(const struct damping *damping, const struct station *station,
                             double flow)
{
    const struct link *link = damping->link;
    struct drop drop = link->element->drop(link->data, damping->water, flow);
    drop.head += damping->friction.lag * flow + station->lagging;
    drop.slope += damping->friction.lag;
    return drop;
}

double station_softness(const struct damping *damping, const struct station *station)
{
    return 2.0 * station->share * damping->softness;
}

double station_yield(const struct damping *damping, const struct station *station, double head)
{
    return station_softness(damping, station) * head - station->memory;
}

void station_take_flow(const struct damping *damping, struct station *station, double flow)
{
    const double change = flow - station->flow;
    station->flow = flow;
    if (!damping->is_remembering) {
        return;
    }
    const struct unsteady *friction = &damping->friction;
    station->lagging = -friction->lag * flow;
    for (int k = 0; k < UNSTEADY_TERMS; k++) {
        station->term[k] = friction->fade[k] * station->term[k] + friction->gain[k] * change;
        station->lagging += friction->fade[k] * station->term[k];
    }
}

void station_take_head(const struct damping *damping, struct station *station, double head)
{
    if (!damping->is_creeping) {
        return;
    }
    const struct creep *wall = &damping->wall;
    const double yield = station_yield(damping, station, head);
    const double stress = damping->stress * (head - station->level);
    station->grown += 0.5 * (station->yield + yield);
    station->yield = yield;
    (void)creep_step(wall, stress, station->part);
    double past = 0.0;
    for (int k = 0; k < wall->count; k++) {
        past += wall->often[k] * station->part[k];
    }
    station->memory =
        2.0 * station->share * (damping->softness * station->level + damping->give * past);
}
