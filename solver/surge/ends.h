/* Ends: the pipes that end at each point.
 * The value that has arrived at a pipe's end gives the flow out of it into the point, which falls
 * as the head there rises. */
#ifndef SOLVER_SURGE_ENDS_H
#define SOLVER_SURGE_ENDS_H

#include "models/network.h"
#include "solver/surge/grid.h"
#include "solver/surge/kernel.h"
#include "solver/surge/stub.h"

struct pipe_end {
    int pipe;
    enum kernel_side side;
};

struct ends {
    int *first;           /* [point_count + 1] */
    struct pipe_end *end; /* [first[point_count]] those of point i from first[i] to first[i + 1] */
    int *stub_first;      /* the same of stubs */
    struct pipe_end *stub_end;
    const struct stub *stubs; /* borrowed */
};

/* Of the pipes of the grid and of these stubs in the order of their links. */
MUST_CHECK bool ends_init(struct ends *ends, const struct network *network, const struct grid *grid,
                          const struct stub stubs[], struct arena *arena, struct failure *failure);

/* Whether any pipe or stub ends at the point. */
static inline bool ends_meet(const struct ends *ends, int point)
{
    return ends->first[point] < ends->first[point + 1] ||
           ends->stub_first[point] < ends->stub_first[point + 1];
}

/* Sum over the pipes and stubs that end at the point. */
struct inflow ends_inflow(const struct ends *ends, const struct kernel *kernel, int point,
                          double head);

/* Sends `head` m into all pipes that end at the point. */
void ends_enter(const struct ends *ends, struct kernel *kernel, int point, double head);

/* Gas, m4, of half a reach of each pipe that ends at the point. */
double ends_gas(const struct ends *ends, const struct kernel *kernel, int point);

/* Largest impedance B of the pipes and stubs that end at the point, s/m2; 0: none does. */
double ends_impedance(const struct ends *ends, const struct kernel *kernel, int point);

#endif
