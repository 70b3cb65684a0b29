#include "models/float_valve.h"

#include <math.h>
#include <stddef.h>

double float_valve_opening(const struct float_valve *valve, double level)
{
    const double share = (valve->shut_level - level) / (valve->shut_level - valve->open_level);
    return fmin(fmax(share, 0.0), 1.0);
}

static struct drop drop(const void *data, const struct water *water, double flow)
{
    const struct float_valve *valve = data;
    return throttling_drop(&valve->valve, water, float_valve_opening(valve, valve->level), flow);
}

static struct span span_at(const struct float_valve *valve, double level)
{
    const struct span span = throttling_span(float_valve_opening(valve, level));
    return (struct span){.lower = 0.0, .upper = span.upper};
}

static struct span span(const void *data, const struct water *water)
{
    (void)water;
    const struct float_valve *valve = data;
    return span_at(valve, valve->level);
}

static double opening(const void *data, const struct water *water, double flow)
{
    (void)water;
    (void)flow;
    const struct float_valve *valve = data;
    return float_valve_opening(valve, valve->level);
}

/* --- while things move --- */

static double setting(const void *data)
{
    const struct float_valve *valve = data;
    return valve->level;
}

static void motion_start(const void *data, const struct water *water, double flow, double head,
                         double state[])
{
    (void)head;
    state[FLOAT_VALVE_STATE_OPENING] = opening(data, water, flow);
}

static struct span motion_span(const void *data, const struct instant *now, const double old[])
{
    (void)old;
    return span_at(data, now->setting);
}

static struct drop motion_drop(const void *data, const struct instant *now, const double old[],
                               double flow, double next[])
{
    (void)old;
    const struct float_valve *valve = data;
    next[FLOAT_VALVE_STATE_OPENING] = float_valve_opening(valve, now->setting);
    return throttling_drop(&valve->valve, now->water, next[FLOAT_VALVE_STATE_OPENING], flow);
}

static const struct motion motion = {.state_count = FLOAT_VALVE_STATE_COUNT,
                                     .start = motion_start,
                                     .span = motion_span,
                                     .drop = motion_drop,
                                     .settle = NULL,
                                     .setting = setting};

const struct element float_valve_element = {.kind = "float valve",
                                            .drop = drop,
                                            .span = span,
                                            .opening = opening,
                                            .pipe = NULL,
                                            .motion = &motion};

bool float_valve_check(const struct float_valve *valve, struct place place, struct failure *failure)
{
    if (!isfinite(valve->level) || !isfinite(valve->open_level) || !isfinite(valve->shut_level)) {
        return fail(failure, FAILURE_INPUT, place, "float valve: its levels must be numbers");
    }
    if (!(valve->shut_level > valve->open_level)) {
        return fail(failure, FAILURE_INPUT, place,
                    "float valve: it must shut at a higher level than it is fully open at; "
                    "shut at %g m, open at %g m",
                    valve->shut_level, valve->open_level);
    }
    return throttling_check(&valve->valve, place, failure);
}
