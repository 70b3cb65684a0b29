#include "models/flow_limiter.h"

#include "models/velocity_head.h"

#include <math.h>
#include <stddef.h>

static struct drop drop(const void *data, const struct water *water, double flow)
{
    const struct flow_limiter *limiter = data;
    return velocity_head_drop(limiter->loss, limiter->laminar, limiter->area, water, flow);
}

static struct span span(const void *data, const struct water *water)
{
    (void)water;
    const struct flow_limiter *limiter = data;
    return (struct span){.lower = limiter->is_one_way ? 0.0 : -HUGE_VAL, .upper = limiter->limit};
}

const struct element flow_limiter_element = {.kind = "flow limiter",
                                             .drop = drop,
                                             .span = span,
                                             .opening = NULL,
                                             .pipe = NULL,
                                             .motion = NULL};

bool flow_limiter_check(const struct flow_limiter *limiter, struct place place,
                        struct failure *failure)
{
    if (!(limiter->area > 0.0 && isfinite(limiter->area))) {
        return fail(failure, FAILURE_INPUT, place, "flow limiter: its bore must be above 0");
    }
    if (!(limiter->loss > 0.0 && isfinite(limiter->loss)) ||
        !(limiter->laminar >= 0.0 && isfinite(limiter->laminar))) {
        return fail(failure, FAILURE_INPUT, place,
                    "flow limiter: its loss must be above 0; it is %g", limiter->loss);
    }
    if (!(limiter->limit > 0.0 && isfinite(limiter->limit))) {
        return fail(failure, FAILURE_INPUT, place,
                    "flow limiter: its limit must be a flow above 0; it is %g m3/s",
                    limiter->limit);
    }
    return true;
}
