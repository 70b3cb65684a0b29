/* Laboratory: one pipe from a tank to a valve that stops the flow at its lower end, as in the usual
 * published rigs, for the surge tests. */
#ifndef TESTS_SOLVER_LABORATORY_H
#define TESTS_SOLVER_LABORATORY_H

#include "tests/solver/surge_rig.h"

/* What the rig is made of. */
struct laboratory {
    double length;     /* m */
    double bore;       /* m */
    double wave_speed; /* m/s */
    double viscosity;  /* m2/s */
    double velocity;   /* m/s */
    double level;      /* m, of the tank */
    double closing;    /* s, flow falls evenly */
    double wall;       /* m; 0: rigid but for the wave speed */
    const struct wall *material;
    int reaches;
    double cycles; /* of 4L/a to run */
};

/* f = 64/Re up to Re 2000, then Blasius 0.3164/Re^0.25: the laws of the reference runs. */
static inline struct drop blasius_drop(const void *data, const struct water *water, double flow)
{
    const struct pipe *pipe = data;
    double bore = pipe->friction.bore;
    double area = pipe_area(pipe);
    double speed = fabs(flow) / area;
    double reynolds = speed * bore / water->viscosity;
    double scale = pipe->friction.length / (2.0 * water->gravity * bore);
    double laminar = scale * 64.0 * water->viscosity / bore;
    if (reynolds < 2000.0) {
        return (struct drop){laminar * flow / area, laminar / area};
    }
    double head = scale * 0.3164 / pow(reynolds, 0.25) * speed * speed;
    return (struct drop){copysign(head, flow), 1.75 * head / (speed * area)};
}

static const struct element blasius_pipe = {
    .kind = "pipe", .drop = blasius_drop, .span = rig_any_flow, .pipe = rig_pipe_itself};

/* The rig, ready for its options. Link 0 is the pipe, point 1 the valve, gauge 0 there. */
static inline void laboratory_open(struct rig *rig, const struct laboratory *laboratory,
                                   struct rig_valve *valve)
{
    rig_open(rig, laboratory->cycles * 4.0 * laboratory->length / laboratory->wave_speed);
    double area = 3.14159265358979323846 / 4.0 * laboratory->bore * laboratory->bore;
    rig->site.water.viscosity = laboratory->viscosity;
    valve->capacity = laboratory->velocity * area;
    int tank = rig_add_tank(rig, laboratory->level);
    int end = rig_add_point(rig, laboratory->level);
    int drain = rig_add_tank(rig, 0.0);
    rig_add_pipe(rig, tank, end, laboratory->length, area, laboratory->wave_speed, valve->capacity);
    rig->pipes[0].wall = laboratory->wall;
    rig->pipes[0].material = laboratory->material;
    rig->links[0].element = &blasius_pipe;
    rig_add_link(rig, end, drain, area, &rig_dose_element, valve, valve->capacity);
    rig->head[end] -= blasius_drop(&rig->pipes[0], &rig->site.water, valve->capacity).head;
    rig->site.surge.reaches = laboratory->reaches;
    rig_add_event(rig, SURGE_EVENT_SET, 0.0, 1, 0.0, laboratory->closing);
    rig_add_gauge(rig, end, false);
}

/* Highest (sign 1) or lowest (sign -1) head at the valve in cycle `cycle` (from 1) of 4L/a. */
static inline double laboratory_extreme(const struct rig *rig, int cycle, double sign)
{
    int steps = 4 * rig->site.surge.reaches;
    double extreme = -(double)INFINITY;
    for (int i = 1 + (cycle - 1) * steps; i <= cycle * steps; i++) {
        extreme = fmax(extreme, sign * rig_head(rig, i, 0));
    }
    return sign * extreme;
}

#endif
