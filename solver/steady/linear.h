/* Linear: the sparse symmetric systems of the steady solver, A diag(g) A^T x = b over free points.
 * Points with at most two neighbours are folded into these (fold.h), which leaves a third of the
 * points of a usual supply network and none of a branched one; what is left gets factors
 * (factors.h). The points are renumbered once in the order of elimination and the links sorted by
 * it, so that neighbours in the network are neighbours in memory. */
#ifndef SOLVER_STEADY_LINEAR_H
#define SOLVER_STEADY_LINEAR_H

#include "models/failure.h"
#include "solver/steady/planning.h"

struct linear;

/* Analyses the pattern made by `link_count` links between rows `from` and `to`; a row of
 * `row_count` or above is a held point and stands for no unknown. On return `order[row]` is the new
 * number of each row and `link_order[k]` the old number of the link that now is the k-th; every
 * later call speaks of rows and links by their new numbers. What is kept lies in the planning's
 * arena, which must outlast it. NULL: failure tells. */
struct linear *linear_new(struct planning *planning, int row_count, int link_count,
                          const int from[link_count], const int to[link_count],
                          int order[row_count], int link_order[link_count],
                          struct failure *failure);
void linear_free(struct linear *linear);

/* Bytes of the arena that it mostly takes, for arena_expect: of networks with some 1.2 links to a
 * point. */
size_t linear_need(int row_count, int link_count);

/* The links' conductances, m2/s, >= 0, to be filled before each factorisation, which uses them up.
 */
double *linear_conductances(struct linear *linear);

/* Factorises with these conductances. Each pinned row keeps its value: used for one
 * point of every zone that nothing ties to a held head. The solution may be no more than a good
 * direction where round-off spoils the factors (see factors_make). */
MUST_CHECK bool linear_factor(struct linear *linear, int pin_count, const int pin[],
                              struct failure *failure);

/* Multiplications of one factorisation, beside those of the points that are folded. */
double linear_operations(const struct linear *linear);

/* Solves with the last factors, in place: `y` [row_count + 1], the last of which is spare. */
MUST_CHECK bool linear_solve(struct linear *linear, double y[], struct failure *failure);

#endif
