/* Parts for the surge tests' rig: a pipe without friction and a valve that follows its setting. */
#ifndef TESTS_SOLVER_SURGE_RIG_PARTS_H
#define TESTS_SOLVER_SURGE_RIG_PARTS_H

#include "models/pipe.h"

#include <math.h>
#include <stddef.h>

/* A pipe without friction: the exact wave solutions need one. */
static inline struct drop rig_no_drop(const void *data, const struct water *water, double flow)
{
    (void)data;
    (void)water;
    (void)flow;
    return (struct drop){0.0, 0.0};
}

static inline struct span rig_any_flow(const void *data, const struct water *water)
{
    (void)data;
    (void)water;
    return (struct span){-(double)INFINITY, (double)INFINITY};
}

static inline const struct pipe *rig_pipe_itself(const void *data)
{
    return data;
}

static const struct element rig_smooth_pipe = {
    .kind = "pipe", .drop = rig_no_drop, .span = rig_any_flow, .pipe = rig_pipe_itself};

/* A valve with h = Q|Q|/(setting capacity)^2; setting 0 is shut. */
struct rig_valve {
    double capacity; /* m3/s at 1 m */
};

static inline struct drop rig_valve_drop(const void *data, const struct instant *now,
                                         const double old[], double flow, double next[])
{
    const struct rig_valve *valve = data;
    (void)old;
    (void)next;
    double capacity = fmax(now->setting, 1e-9) * valve->capacity;
    return (struct drop){flow * fabs(flow) / (capacity * capacity),
                         2.0 * fabs(flow) / (capacity * capacity)};
}

static inline struct span rig_valve_span(const void *data, const struct instant *now,
                                         const double old[])
{
    (void)data;
    (void)old;
    double most = now->setting > 1e-9 ? (double)INFINITY : 0.0;
    return (struct span){-most, most};
}

static inline struct drop rig_valve_steady(const void *data, const struct water *water, double flow)
{
    struct instant now = {.setting = 1.0, .water = water};
    return rig_valve_drop(data, &now, NULL, flow, NULL);
}

static const struct motion rig_valve_motion = {.span = rig_valve_span, .drop = rig_valve_drop};
static const struct element rig_valve_element = {
    .kind = "valve", .drop = rig_valve_steady, .span = rig_any_flow, .motion = &rig_valve_motion};

/* Lets exactly `capacity` m3/s times its setting pass. */
static inline struct span rig_dose_span(const void *data, const struct instant *now,
                                        const double old[])
{
    (void)old;
    double flow = now->setting * ((const struct rig_valve *)data)->capacity;
    return (struct span){flow, flow};
}

static inline struct drop rig_dose_drop(const void *data, const struct instant *now,
                                        const double old[], double flow, double next[])
{
    (void)data;
    (void)now;
    (void)old;
    (void)flow;
    (void)next;
    return (struct drop){0.0, 0.0};
}

static const struct motion rig_dose_motion = {.span = rig_dose_span, .drop = rig_dose_drop};
static const struct element rig_dose_element = {
    .kind = "dose", .drop = rig_no_drop, .span = rig_any_flow, .motion = &rig_dose_motion};

#endif
