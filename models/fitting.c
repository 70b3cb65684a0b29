#include "models/fitting.h"

#include "models/circle.h"

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

/* While things move, air follows the water back through a mouth above water: the head there stays
 * that of the mouth, and the mouth pours again once the air has left. The fall of the water's own
 * level in the pipe's end is neglected: it is small against the pipe's length. */
static void start(const void *data, const struct water *water, double flow, double head,
                  double state[])
{
    (void)data;
    (void)water;
    (void)flow;
    (void)head;
    state[FITTING_STATE_AIR] = 0.0;
}

static struct span span_of_step(const void *data, const struct instant *now, const double old[])
{
    (void)data;
    (void)now;
    (void)old;
    return (struct span){.lower = -HUGE_VAL, .upper = HUGE_VAL};
}

static struct drop drop_of_step(const void *data, const struct instant *now, const double old[],
                                double flow, double next[])
{
    const struct fitting *fitting = data;
    next[FITTING_STATE_AIR] = 0.0;
    if (!fitting->is_one_way) {
        return drop(data, now->water, flow);
    }
    const double poured = flow - old[FITTING_STATE_AIR] / now->step;
    if (poured >= 0.0) {
        return drop(data, now->water, poured);
    }
    next[FITTING_STATE_AIR] = -poured * now->step;
    return (struct drop){.head = 0.0, .slope = 0.0};
}

static const struct motion fitting_motion = {
    .state_count = FITTING_STATE_COUNT, .start = start, .span = span_of_step, .drop = drop_of_step};

const struct element fitting_element = {
    .kind = "fitting", .drop = drop, .span = span, .motion = &fitting_motion};
