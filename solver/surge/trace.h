/* Trace: the run held against heads that were measured at a gauge. */
#ifndef SOLVER_SURGE_TRACE_H
#define SOLVER_SURGE_TRACE_H

#include "solver/surge/surge.h"

struct trace_difference {
    int count;               /* measured instants within the run; 0: the rest is NAN */
    double largest;          /* m, run less measured, with its sign */
    double largest_time;     /* s */
    double root_mean_square; /* m */
};

/* Compares the measured trace of the plan with the kept series of its gauge, straight lines between
 * kept instants. Measured instants before the start or after the end are left out. */
struct trace_difference trace_compare(const struct surge_plan *plan, const struct surge *surge);

#endif
