#include "models/fitting.h"

#include "models/circle.h"
#include "models/mouth.h"

#include <math.h>
#include <stddef.h>

/* h = r Q|Q|, or h = (K + K1/Re) v|v|/2g with Re of the bore whose area is `area`; both odd in flow
 * but for the two directions' own K. */
static struct drop drop(const void *data, const struct water *water, double flow)
{
    const struct fitting *fitting = data;
    const double size = fabs(flow);
    double quadratic = fitting->resistance;
    double linear = 0.0;
    if (!(quadratic > 0.0)) {
        const double per_area = 1.0 / (2.0 * water->gravity * fitting->area);
        quadratic = (flow < 0.0 ? fitting->loss_back : fitting->loss) * per_area / fitting->area;
        linear = fitting->laminar * water->viscosity * per_area /
                 sqrt(fitting->area / (0.25 * circle_pi));
    }
    return (struct drop){.head = copysign(size * (linear + quadratic * size), flow),
                         .slope = linear + 2.0 * quadratic * size};
}

static struct span span(const void *data, const struct water *water)
{
    (void)water;
    const struct fitting *fitting = data;
    return (struct span){.lower = fitting->is_one_way ? 0.0 : -HUGE_VAL, .upper = HUGE_VAL};
}

static struct drop drop_of_step(const void *data, const struct instant *now, const double old[],
                                double flow, double next[])
{
    const struct fitting *fitting = data;
    if (fitting->is_one_way) {
        return mouth_drop(drop, data, now, old, flow, next);
    }
    next[MOUTH_STATE_AIR] = 0.0;
    return drop(data, now->water, flow);
}

static const struct motion fitting_motion = {.state_count = MOUTH_STATE_COUNT,
                                             .start = mouth_start,
                                             .span = mouth_span,
                                             .never_shuts = true,
                                             .drop = drop_of_step};

const struct element fitting_element = {
    .kind = "fitting", .drop = drop, .span = span, .motion = &fitting_motion};
