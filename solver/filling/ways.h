/* Ways: how each basin stands (see works.h), which mouths are covered and which non-return valves
 * are open, and when that changes. */
#ifndef SOLVER_FILLING_WAYS_H
#define SOLVER_FILLING_WAYS_H

#include "solver/filling/journal.h"
#include "solver/filling/works.h"

struct ways_times {
    double since; /* s, in its present way */
    double brim;  /* s in all */
    double dry;
};

struct ways {
    struct works *works;
    struct journal *journal;
    struct ways_times *times; /* [basin_count] */
    double *threshold;        /* [basin_count] m3 over the lowest mouth that count as none */
    double *full;             /* [basin_count] m3 at which it is seen to run over */
    int valve_count;
    int *valves; /* links that open by themselves */
    bool *was_open;
    bool is_suspect; /* by ways_look */
};

MUST_CHECK bool ways_init(struct ways *ways, struct works *works, struct journal *journal,
                          struct arena *arena, struct failure *failure);

/* After works_evaluate: moves every basin to the way it belongs in; true when anything changed, and
 * the network must be solved again. */
bool ways_settle(struct ways *ways, double time, const double volume[]);

/* Begins a stretch at the settled state; with `tells`, valves that differ from the stretch before
 * are noted. */
void ways_begin_stretch(struct ways *ways, double time, const double volume[], bool tells);

/* After works_evaluate within a stretch: notes in is_suspect whether flows say that a way or a
 * valve may have changed. Spares the root functions a solution while nothing has. */
void ways_look(struct ways *ways);

/* Functions that change sign where a way, a mouth or a valve changes. After works_evaluate at these
 * volumes when `is_solved`; else flows are taken to be as at the begin of the stretch. */
int ways_root_count(const struct ways *ways);
void ways_roots(const struct ways *ways, const double volume[], bool is_solved, double root[]);

/* Seconds until the last film above the lowest mouth is gone, if the basin empties as the power of
 * its volume that two evaluations show (an orifice's flow ends with the square root of the depth,
 * so the level meets the mouth without crossing it); 0: at once. Evaluates the network. */
MUST_CHECK bool ways_film_time(struct ways *ways, int basin, double clock, double volume[],
                               double *seconds, struct failure *failure);

void ways_end(struct ways *ways, double time);

#endif
