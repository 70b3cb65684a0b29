/* Factors: sparse symmetric systems of conductances over the points that folding leaves.
 * The rows are renumbered once, by least degree (ordering.h).
 * Networks as sparse as pipes are are then eliminated column by column (columns.h); dense grids,
 * where many operations fall on each entry of the factors, in dense blocks (supernodes.h). */
#ifndef SOLVER_STEADY_FACTORS_H
#define SOLVER_STEADY_FACTORS_H

#include "models/failure.h"
#include "solver/steady/fold.h"

struct factors;

/* Analyses the pattern of `pair_count` different pairs of rows. On return `order[row]` is the new
 * number of each row, and the pairs have it and are sorted by the earlier row, then the later;
 * every later call speaks of rows by their new numbers. `planning` has what is needed for a while,
 * and in its arena what columns keep. NULL: failure tells. */
struct factors *factors_new(struct planning *planning, int row_count, int pair_count,
                            struct fold_pair pair[pair_count], int order[row_count],
                            struct failure *failure);
void factors_free(struct factors *factors);

/* Factorises with the conductances `between[slot[i]]` of the i-th sorted pair, and `held`
 * [row_count] to held heads, m2/s, all >= 0. The solution may be no more than a good direction
 * where round-off spoils factors in blocks (see supernodes_make). */
MUST_CHECK bool factors_make(struct factors *factors, const int slot[], const double between[],
                             const double held[], struct failure *failure);

/* Multiplications of one factorisation; infinite for dense blocks, of which there are many. */
double factors_operations(const struct factors *factors);

/* Solves with the last factors, in place: `y` [row_count]. */
MUST_CHECK bool factors_solve(struct factors *factors, double y[], struct failure *failure);

#endif
