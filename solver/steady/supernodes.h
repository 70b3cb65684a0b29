/* Supernodes: sparse symmetric systems of conductances whose factors are nearly dense.
 * Cholesky factors in dense blocks by CHOLMOD (Chen, Davis, Hager & Rajamanickam 2008), which takes
 * workspace for each factorisation. */
#ifndef SOLVER_STEADY_SUPERNODES_H
#define SOLVER_STEADY_SUPERNODES_H

#include "models/failure.h"
#include "solver/steady/fold.h"

struct supernodes;

/* Plans the blocks for rows in a good order of elimination and for `pair_count` different pairs of
 * them, `a` being the earlier row, sorted by `a`, then `b`. On return `order[row]` is the new
 * number of each row, which suits the blocks still better, and the pairs have it and are sorted
 * anew. `planning` has what is needed for a while. NULL: failure tells. */
struct supernodes *supernodes_new(struct planning *planning, int row_count, int pair_count,
                                  struct fold_pair pair[pair_count], int order[row_count],
                                  struct failure *failure);
void supernodes_free(struct supernodes *supernodes);

/* Factorises with the conductances `between[slot[i]]` of the i-th sorted pair, and `held`
 * [row_count] to held heads, m2/s, all >= 0. When round-off makes the matrix lose definiteness the
 * diagonal is raised a little and the factors are tried again; the solution is then only a good
 * direction, which the caller's iteration must expect. */
MUST_CHECK bool supernodes_make(struct supernodes *supernodes, const int slot[],
                                const double between[], const double held[],
                                struct failure *failure);

/* Solves with the last factors, in place: `y` [row_count]. */
MUST_CHECK bool supernodes_solve(struct supernodes *supernodes, double y[],
                                 struct failure *failure);

#endif
