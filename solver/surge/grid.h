/* Grid: which links are pipes that carry waves, in how many reaches, at what time step.
 *
 * Stubs are pipes that waves cross in less than `stub_crossing` seconds and in less than a 64th of
 * the longest crossing, or in less than `stub_time` steps: they do not set the step and have no
 * grid of their own (solver/surge/stub.h). All others are true pipes. The step comes
 * from the shortest true pipe and the reaches wanted in it; every true pipe then gets the whole
 * number of reaches N nearest to L/(a dt) and the wave speed a' = L/(N dt) that makes it fit (Wylie
 * & Streeter 1993, ch. 3); the step is made a little shorter if that keeps the change in bounds. */
#ifndef SOLVER_SURGE_GRID_H
#define SOLVER_SURGE_GRID_H

#include "models/arena.h"
#include "models/network.h"

struct grid_wishes {
    struct place place;  /* of the wishes, for errors */
    double duration;     /* s, > 0 */
    double largest_step; /* s; 0: none */
    int reaches;         /* in the shortest true pipe; 0: default */
    double wave_speed_change;
    double stub_crossing;
    double stub_time;
    int refinement; /* at least so many steps in place of the one so found; above 1 the step is that
                       at which the wave speeds fit best */
};

struct grid {
    double step; /* s */
    int pipe_count;
    int *link;          /* [pipe_count] */
    int *reaches;       /* [pipe_count] */
    double *wave_speed; /* [pipe_count] m/s, adjusted */
    int *pipe_of_link;  /* [link_count] or NETWORK_NONE */
    int stub_count;
    int *stub;             /* [stub_count] their links */
    int *stub_of_link;     /* [link_count] or NETWORK_NONE */
    double largest_change; /* share of its wave speed by which a pipe was adjusted most */
    int changed_link;      /* that pipe, or NETWORK_NONE */
};

/* False: memory ended, a pipe has no length, or the run would not end within memory and a day. */
MUST_CHECK bool grid_init(struct grid *grid, const struct network *network,
                          const struct water *water, const struct grid_wishes *wishes,
                          struct arena *arena, struct failure *failure);

#endif
