#include "solver/surge/cavity.h"

#include <math.h>
#include <stddef.h>

static struct drop drop(const void *data, const struct water *water, double flow)
{
    (void)data;
    (void)water;
    (void)flow;
    return (struct drop){0.0, 0.0};
}

static struct span span(const void *data, const struct water *water)
{
    (void)data;
    (void)water;
    return (struct span){0.0, (double)INFINITY};
}

static void start(const void *data, const struct water *water, double flow, double head,
                  double state[])
{
    (void)data;
    (void)water;
    (void)flow;
    (void)head;
    state[CAVITY_STATE_VOLUME] = 0.0;
}

static struct span span_now(const void *data, const struct instant *now, const double old[])
{
    (void)data;
    return (struct span){-old[CAVITY_STATE_VOLUME] / now->step, (double)INFINITY};
}

static struct drop drop_now(const void *data, const struct instant *now, const double old[],
                            double flow, double next[])
{
    (void)data;
    double volume = old[CAVITY_STATE_VOLUME] + now->step * flow;
    /* What round-off leaves of a closed cavity is not a cavity. */
    bool is_closed = volume <= 1e-15 * old[CAVITY_STATE_VOLUME];
    next[CAVITY_STATE_VOLUME] = is_closed ? 0.0 : volume;
    return (struct drop){0.0, 0.0};
}

static const struct motion motion = {
    .state_count = CAVITY_STATE_COUNT, .start = start, .span = span_now, .drop = drop_now};

const struct element cavity_element = {
    .kind = "cavity", .drop = drop, .span = span, .motion = &motion};
