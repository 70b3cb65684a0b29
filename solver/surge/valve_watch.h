/* Valve watch: how each non-return valve shut: the first time after the first event apart from all
 * later times, and how fast the water slowed as its flow passed zero. A valve opens again when the
 * main swings back below the sump; what it does then hangs on all the waves in between and is known
 * less well than the first shutting. */
#ifndef SOLVER_SURGE_VALVE_WATCH_H
#define SOLVER_SURGE_VALVE_WATCH_H

#include "solver/surge/groups.h"
#include "solver/surge/surge.h"

struct valve_watch {
    int shuts; /* times it had met its seat */
    int shuts_before;
    double bounces_before;
    double flow; /* m3/s at the step before */
    double rate; /* m3/s2, how fast it changed in the last step that ended forward */
};

/* Notes the start: valves [count] of the result, whose links are set. */
void valve_watch_start(struct valve_watch watches[], const struct groups *groups,
                       struct surge *result);

/* Notes a step that ended at `time`; before the first event only where things stand. */
void valve_watch_step(struct valve_watch watches[], const struct groups *groups, double time,
                      bool is_before_events, struct surge *result);

/* After the last step: heads from velocities, impedance [valve_count] s/m2 being that of the pipe
 * beside each valve; the maker's curve where there is one. */
void valve_watch_end(const struct valve_watch watches[], const struct groups *groups,
                     const double impedance[], struct surge *result);

#endif
