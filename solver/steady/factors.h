/* Factors: sparse symmetric systems of conductances over the points that folding leaves.
 * Cholesky factors by CHOLMOD (Chen, Davis, Hager & Rajamanickam 2008), ordered once by approximate
 * minimum degree (Amestoy, Davis & Duff 1996). The rows are renumbered once in that order, so that
 * a factorisation moves no matrix about. Networks as sparse as pipes are get simplicial factors,
 * the faster ones there, which CHOLMOD allocates with the first factorisation and keeps; dense
 * grids, where many flops fall on each entry of the factors, supernodal ones, for which it takes
 * workspace each time. */
#ifndef SOLVER_STEADY_FACTORS_H
#define SOLVER_STEADY_FACTORS_H

#include "models/failure.h"
#include "solver/steady/fold.h"

struct factors;

/* Analyses the pattern of `pair_count` different pairs of rows. On return `order[row]` is the new
 * number of each row, and the pairs are sorted as the matrix holds them; every later call speaks
 * of rows by their new numbers. NULL: failure tells. */
struct factors *factors_new(int row_count, int pair_count, struct fold_pair pair[pair_count],
                            int order[row_count], struct failure *failure);
void factors_free(struct factors *factors);

/* Factorises with the conductances `between[slot[i]]` of the i-th sorted pair, and `held`
 * [row_count] to held heads, m2/s, all >= 0. When round-off makes the matrix lose definiteness the
 * diagonal is raised a little and the factors are tried again; the solution is then only a good
 * direction, which the caller's iteration must expect. */
MUST_CHECK bool factors_make(struct factors *factors, const int slot[], const double between[],
                             const double held[], struct failure *failure);

/* Solves with the last factors, in place: `y` [row_count]. */
MUST_CHECK bool factors_solve(struct factors *factors, double y[], struct failure *failure);

#endif
