/* Columns: sparse symmetric systems of conductances, solved column by column.
 * What fold.h does for points with two neighbours, for any number of them: the k-th point with
 * conductances g_1, g_2, ... to its later neighbours and s to held heads is taken out by
 *     g_ij += g_i g_j / d,   s_i += g_i s / d,   d = s + g_1 + g_2 + ...,
 * the star-mesh transformation, which is Gauss's elimination written without a difference: no digit
 * is lost however stiff a link is, and no pivot can fail (Grassmann, Taksar & Heyman 1985). Which
 * points become neighbours is found once (columns_plan.h). Columns of few entries hand on what they
 * leave to later ones; from wide ones, which stand in chains, these gather it. For networks as
 * sparse as pipes are, where few operations fall on each entry of the factors and little is gained
 * by dense blocks. */
#ifndef SOLVER_STEADY_COLUMNS_H
#define SOLVER_STEADY_COLUMNS_H

#include "models/failure.h"
#include "solver/steady/fold.h"

struct columns;

/* Plans for `pair_count` different pairs of rows in the order of elimination, `a` being the earlier
 * row, sorted by `a`, then `b`. What is kept lies in the planning's arena and goes with it. False
 * when memory ended. `*made` stays NULL where more than `most` operations would fall on each entry
 * of the factors. */
MUST_CHECK bool columns_new(struct planning *planning, int row_count, int pair_count,
                            const struct fold_pair pair[pair_count], double most,
                            struct columns **made);

/* Multiplications of one elimination. */
double columns_operations(const struct columns *columns);

/* Eliminates with the conductances `between[slot[i]]` of the i-th pair, and `held` [row_count] to
 * held heads, m2/s, all >= 0. A point that is joined to nothing then gets the head 0. */
void columns_make(struct columns *columns, const int slot[], const double between[],
                  const double held[]);

/* Solves with the last factors, in place: `y` [row_count]. */
void columns_solve(const struct columns *columns, double y[]);

#endif
