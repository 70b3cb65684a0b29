/* Linear: the sparse symmetric systems of the steady solver, A diag(g) A^T x = b over free points.
 * Cholesky factors by CHOLMOD (Chen, Davis, Hager & Rajamanickam 2008), ordered once by approximate
 * minimum degree (Amestoy, Davis & Duff 1996). The points are renumbered once in that order, so
 * that a factorisation moves no matrix about, and the links sorted by it, so that neighbours in
 * the network are neighbours in memory. Networks as sparse as pipes are (1.2 links a point) get
 * simplicial factors, the faster ones there, which CHOLMOD allocates with the first factorisation
 * and keeps; dense grids, where many flops fall on each entry of the factors, supernodal ones, for
 * which it takes workspace each time. */
#ifndef SOLVER_STEADY_LINEAR_H
#define SOLVER_STEADY_LINEAR_H

#include "models/failure.h"

struct linear;

/* Analyses the pattern made by `link_count` links between rows `from` and `to`; a row of
 * `row_count` or above is a held point and stands for no unknown. On return `order[row]` is the new
 * number of each row and `link_order[k]` the old number of the link that now is the k-th; every
 * later call speaks of rows and links by their new numbers. NULL: failure tells. */
struct linear *linear_new(int row_count, int link_count, const int from[link_count],
                          const int to[link_count], int order[row_count],
                          int link_order[link_count], struct failure *failure);
void linear_free(struct linear *linear);

/* Factorises with these conductances (m2/s, >= 0). Each pinned row keeps its value: used for one
 * point of every zone that nothing ties to a held head. When round-off makes the matrix lose
 * definiteness the diagonal is raised a little and the factors are tried again; the solution is
 * then only a good direction, which the caller's iteration must expect. */
MUST_CHECK bool linear_factor(struct linear *linear, const double conductance[], int pin_count,
                              const int pin[], struct failure *failure);

/* Solves with the last factors: `solution` = inverse x `right`, both [row_count]. */
MUST_CHECK bool linear_solve(struct linear *linear, const double right[], double solution[],
                             struct failure *failure);

#endif
