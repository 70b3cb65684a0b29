/* Ends: the pipes that end at each point.
 * With the head H at a point known, the value c that has arrived at a pipe's end there gives the
 * flow out of the pipe into the point, (x - G(x))/(2B) with x = 2(c - H): it falls as H rises. */
#ifndef SOLVER_SURGE_ENDS_H
#define SOLVER_SURGE_ENDS_H

#include "models/network.h"
#include "solver/surge/grid.h"
#include "solver/surge/kernel.h"

struct pipe_end {
    int pipe;
    enum kernel_side side;
};

struct ends {
    int *first;           /* [point_count + 1] */
    struct pipe_end *end; /* [first[point_count]] those of point i from first[i] to first[i + 1] */
};

/* Flow into a point, m3/s, and how much less it gets for each metre of head. */
struct inflow {
    double flow;
    double conductance; /* m2/s, >= 0; 0: no pipe ends there */
};

MUST_CHECK bool ends_init(struct ends *ends, const struct network *network, const struct grid *grid,
                          struct arena *arena, struct failure *failure);

struct inflow ends_inflow(const struct ends *ends, const struct kernel *kernel, int point,
                          double head);

/* Sends `head` m into all pipes that end at the point. */
void ends_enter(const struct ends *ends, struct kernel *kernel, int point, double head);

/* Largest impedance B of the pipes that end at the point, s/m2; 0: none does. */
double ends_impedance(const struct ends *ends, const struct kernel *kernel, int point);

#endif
