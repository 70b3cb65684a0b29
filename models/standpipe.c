#include "models/standpipe.h"

#include "models/velocity_head.h"

#include <math.h>
#include <stddef.h>

static struct drop drop(const void *data, const struct water *water, double flow)
{
    const struct standpipe *standpipe = data;
    return velocity_head_drop(standpipe->loss, standpipe->laminar, standpipe->joint_area, water,
                              flow);
}

/* At rest: up over the top or not at all. */
static struct span span(const void *data, const struct water *water)
{
    (void)data;
    (void)water;
    return (struct span){.lower = 0.0, .upper = HUGE_VAL};
}

/* --- while things move --- */

static void motion_start(const void *data, const struct water *water, double flow, double head,
                         double state[])
{
    const struct standpipe *standpipe = data;
    const double level = standpipe->top + head - drop(data, water, flow).head;
    state[STANDPIPE_STATE_LEVEL] = fmin(fmax(level, standpipe->bottom), standpipe->top);
    state[STANDPIPE_STATE_FLOW] = flow;
    state[STANDPIPE_STATE_SPILT] = 0.0;
}

/* It gives no more than what is in it. */
static struct span motion_span(const void *data, const struct instant *now, const double old[])
{
    const struct standpipe *standpipe = data;
    const double held = (old[STANDPIPE_STATE_LEVEL] - standpipe->bottom) * standpipe->area;
    const double least = -2.0 * held / now->step - old[STANDPIPE_STATE_FLOW];
    return (struct span){.lower = fmin(least, 0.0), .upper = HUGE_VAL};
}

static struct drop motion_drop(const void *data, const struct instant *now, const double old[],
                               double flow, double next[])
{
    const struct standpipe *standpipe = data;
    const double rise = 0.5 * now->step / standpipe->area;
    const double level = old[STANDPIPE_STATE_LEVEL] + rise * (old[STANDPIPE_STATE_FLOW] + flow);
    const bool spills = level > standpipe->top;
    struct drop found = drop(data, now->water, flow);
    found.head += fmin(level, standpipe->top) - standpipe->top;
    found.slope += spills ? 0.0 : rise;
    next[STANDPIPE_STATE_LEVEL] = fmax(fmin(level, standpipe->top), standpipe->bottom);
    next[STANDPIPE_STATE_FLOW] = flow;
    next[STANDPIPE_STATE_SPILT] =
        old[STANDPIPE_STATE_SPILT] + fmax(level - standpipe->top, 0.0) * standpipe->area;
    return found;
}

static const struct motion motion = {.state_count = STANDPIPE_STATE_COUNT,
                                     .start = motion_start,
                                     .span = motion_span,
                                     .drop = motion_drop,
                                     .settle = NULL,
                                     .setting = NULL};

const struct element standpipe_element = {.kind = "standpipe",
                                          .drop = drop,
                                          .span = span,
                                          .opening = NULL,
                                          .pipe = NULL,
                                          .motion = &motion};

bool standpipe_check(const struct standpipe *standpipe, struct place place, struct failure *failure)
{
    if (!(standpipe->area > 0.0 && isfinite(standpipe->area) && standpipe->joint_area > 0.0 &&
          isfinite(standpipe->joint_area))) {
        return fail(failure, FAILURE_INPUT, place, "standpipe: its bore must be above 0");
    }
    if (!(standpipe->loss > 0.0 && isfinite(standpipe->loss) && standpipe->laminar >= 0.0 &&
          isfinite(standpipe->laminar))) {
        return fail(failure, FAILURE_INPUT, place,
                    "standpipe: the loss of its joint must be above 0; it is %g", standpipe->loss);
    }
    if (!(standpipe->top > standpipe->bottom && isfinite(standpipe->top) &&
          isfinite(standpipe->bottom))) {
        return fail(failure, FAILURE_INPUT, place,
                    "standpipe: its top must be above its joint; top %g m, joint %g m",
                    standpipe->top, standpipe->bottom);
    }
    return true;
}
