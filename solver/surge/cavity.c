#include "solver/surge/cavity.h"

#include "solver/surge/boiling.h"

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

/* Gas is never pressed smaller than at this head, m: far beyond any pipe. */
static const double highest_head = 1e5;

static double least_volume(const struct gas_pocket *pocket)
{
    return pocket->gas / highest_head;
}

/* `drop` is the head over boiling with the sign changed. */
static void gas_start(const void *data, const struct water *water, double flow, double drop,
                      double state[])
{
    (void)water;
    (void)flow;
    state[CAVITY_STATE_VOLUME] =
        ((const struct gas_pocket *)data)->gas / fmax(-drop, boiling_margin);
}

static struct span gas_span(const void *data, const struct instant *now, const double old[])
{
    double lower = (least_volume(data) - old[CAVITY_STATE_VOLUME]) / now->step;
    return (struct span){fmin(lower, 0.0), (double)INFINITY};
}

static struct drop gas_drop(const void *data, const struct instant *now, const double old[],
                            double flow, double next[])
{
    const struct gas_pocket *pocket = data;
    double volume = fmax(old[CAVITY_STATE_VOLUME] + now->step * flow, least_volume(pocket));
    next[CAVITY_STATE_VOLUME] = volume;
    return (struct drop){-pocket->gas / volume, pocket->gas * now->step / (volume * volume)};
}

static const struct motion gas_motion = {
    .state_count = CAVITY_STATE_COUNT, .start = gas_start, .span = gas_span, .drop = gas_drop};

const struct element gas_cavity_element = {
    .kind = "gas cavity", .drop = drop, .span = span, .motion = &gas_motion};

/* m, see there. */
static const double least_head = 1e-5;

double cavity_least(double step, double impedance)
{
    return impedance > 0.0 ? step * least_head / impedance : 0.0;
}

bool cavity_is_open(const struct element *element, const void *data, const double state[])
{
    double volume = state[CAVITY_STATE_VOLUME];
    if (element == &gas_cavity_element) {
        return volume > ((const struct gas_pocket *)data)->gas / boiling_margin;
    }
    return volume > 0.0;
}
