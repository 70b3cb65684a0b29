#include "models/non_return.h"
#include "models/non_return_motion.h"

#include <math.h>

static struct drop steady_drop(const void *data, const struct water *water, double flow)
{
    return non_return_drop(data, water, flow);
}

static struct span steady_span(const void *data, const struct water *water)
{
    (void)water;
    const struct non_return *valve = data;
    const struct span span = {valve->leak_area > 0.0 ? -(double)INFINITY : 0.0, INFINITY};
    return span;
}

static double steady_opening(const void *data, const struct water *water, double flow)
{
    return non_return_opening(data, water, flow);
}

const struct element non_return_element = {
    .kind = "non-return",
    .drop = steady_drop,
    .span = steady_span,
    .opening = steady_opening,
    .pipe = 0,
    .motion = &non_return_motion,
    .coupling = 0,
};
