/* Precision: a surge run on grids of falling step, and from their differences a band around every
 * reported peak, trough and reverse velocity in which the answer of an endless grid should lie.
 *
 * Richardson's extrapolation in the form of the grid convergence index (Roache, J. Fluids
 * Engineering 116, 1994): band = safety |finest - next|/(2^p - 1), safety 3 on two grids and 1.25
 * on three. The order p is 1 (valves and pumps move by implicit steps), on three grids the observed
 * one of all heads together where that is lower, as beside rattling valves and in pipes that a wave
 * crosses within few steps; it never narrows a band. A single difference can vanish by chance, so
 * none counts for less than the mean one of the points, and what is told of a
 * valve not for less than that of the heads; where a valve shuts oftener on one of the finest two
 * grids than on the other, all bands are three times as wide. Wave speeds are fitted anew on each
 * grid: the bands hold what that changes, too. They do not hold what is over within a step of the
 * finest grid. */
#ifndef SOLVER_SURGE_PRECISION_H
#define SOLVER_SURGE_PRECISION_H

#include "solver/surge/surge.h"

enum precision {
    PRECISION_QUICK,  /* one grid, no bands */
    PRECISION_NORMAL, /* two: about five times the work */
    PRECISION_FINE    /* three: about twenty times */
};

/* As surge_run_plan; the result is that of the finest grid, with its bands. Where a finer grid
 * found no answer, that of the finest one that did. False: memory ended or the plan cannot be run.
 */
MUST_CHECK bool surge_run_precisely(const struct site *site, const struct network *network,
                                    const struct steady *start, const struct surge_options *options,
                                    enum precision precision, struct surge *result,
                                    struct arena *arena, struct failure *failure);

#endif
