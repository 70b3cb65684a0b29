/* Plan: what the events command each element at each time. */
#ifndef SOLVER_SURGE_PLAN_H
#define SOLVER_SURGE_PLAN_H

#include "models/arena.h"
#include "models/site.h"

struct plan {
    int event_count;
    const struct surge_event *events; /* [event_count] in order of time; borrowed */
    double *from;                     /* [event_count] setting when the event begins */
    double *setting;                  /* [link_count] now */
    double first_time;                /* s, of the first event; infinite: none */
};

/* Settings before the first event: what the element's motion says (models/element.h), else 1.
 * False: memory ended, or an event is out of order or names no link. */
MUST_CHECK bool plan_init(struct plan *plan, const struct surge_plan *events,
                          const struct network *network, struct arena *arena,
                          struct failure *failure);

/* Settings at `time`. An event at exactly `time` has not begun; `blur` s are taken as equal. */
void plan_set(struct plan *plan, double time, double blur);

#endif
