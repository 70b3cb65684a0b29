#include "models/mouth.h"

#include <math.h>

void mouth_start(const void *data, const struct water *water, double flow, double head,
                 double state[])
{
    (void)data;
    (void)water;
    (void)flow;
    (void)head;
    state[MOUTH_STATE_AIR] = 0.0;
}

struct span mouth_span(const void *data, const struct instant *now, const double old[])
{
    (void)data;
    (void)now;
    (void)old;
    return (struct span){.lower = -HUGE_VAL, .upper = HUGE_VAL};
}

struct drop mouth_drop(struct drop (*drop)(const void *data, const struct water *water,
                                           double flow),
                       const void *data, const struct instant *now, const double old[], double flow,
                       double next[])
{
    const double poured = flow - old[MOUTH_STATE_AIR] / now->step;
    next[MOUTH_STATE_AIR] = 0.0;
    if (poured >= 0.0) {
        return drop(data, now->water, poured);
    }
    next[MOUTH_STATE_AIR] = -poured * now->step;
    return (struct drop){.head = 0.0, .slope = 0.0};
}
