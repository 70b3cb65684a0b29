/* Record: what is kept of a surge run while it goes on. */
#ifndef SOLVER_SURGE_RECORD_H
#define SOLVER_SURGE_RECORD_H

#include "solver/surge/collapse.h"
#include "solver/surge/energy.h"
#include "solver/surge/groups.h"
#include "solver/surge/plan.h"
#include "solver/surge/surge.h"
#include "solver/surge/valve_watch.h"

struct record {
    const struct site *site;
    const struct groups *groups;
    const struct plan *plan;
    struct surge *result;
    int stride;                  /* steps between instants of the series */
    int room;                    /* instants there is room for */
    struct valve_watch *watches; /* [valve_count] */
    double *valve_impedance;     /* [valve_count] s/m2, of the pipe beside each */
    double *node_start;          /* [node_count] m, heads at the start */
    double *point_start;         /* [point_count] m */
    bool is_before_events;
    bool has_seen_cavity; /* of any size: from then on each step must be looked at */
    double fed;           /* m3/s into the site at all points that are not held, at all times */
    double flow_in;       /* m3/s into the site at the instant before: held points and draws */
    double volume_in;     /* m3 so far */
    double stored_start;
    struct energy energy;
    struct collapse_watch collapses;
};

/* Makes the arrays of the series for `step_count` steps and notes the start. */
MUST_CHECK bool record_init(struct record *record, int step_count, int series_limit,
                            struct arena *arena, struct failure *failure);

/* Notes the end of step `number` (from 1). */
void record_step(struct record *record, int number, double time, bool is_last);

/* Balance of mass, valves and point extremes after the last step. */
void record_end(struct record *record);

#endif
