/* Precision: a surge run on grids of falling step, and from their differences a band around every
 * reported peak, trough and reverse velocity in which the answer of an endless grid should lie.
 *
 * Richardson's extrapolation in the form of the grid convergence index (Roache, J. Fluids
 * Engineering 116, 1994) with the theoretical order 1 (valves and pumps move by implicit steps):
 * band = safety |finest - next|. On three grids the observed order is told too, but not used to
 * narrow a band: peaks where steep waves meet do not converge regularly. A single difference can
 * vanish by chance, so none counts for less than half the root mean square one of its
 * kind. Wave speeds are fitted anew on each grid: the bands hold what that changes, too. */
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
