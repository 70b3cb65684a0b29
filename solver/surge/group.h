/* Group: lumped links joined to one another, and the pipe ends at their points, solved together.
 *
 * Unknown are the heads at the group's points and the flows in its links. Each link's law is a
 * monotone graph (models/element.h), each pipe end gives the point less water the higher its head:
 * the same kind of problem as the steady one and solved the same way. Newton: drops and pipe ends
 * are linearised, flows at the uprights of a graph stay clamped; the piecewise linear system is
 * solved for the heads by a semismooth Newton with a line search (Qi & Sun 1993; the matrix is
 * symmetric positive definite, dense Cholesky), and a line search on the convex content safeguards
 * the outer step. */
#ifndef SOLVER_SURGE_GROUP_H
#define SOLVER_SURGE_GROUP_H

#include "solver/surge/ends.h"
#include "solver/surge/group_linear.h"

MUST_CHECK bool group_work_init(struct group_work *work, int point_count, int link_count,
                                struct arena *arena, struct failure *failure);

/* What a group stands in. */
struct group_place {
    const struct network *network;
    const struct ends *ends;
    const struct kernel *kernel;
    double *head; /* [network point_count] m; guess in, answer out */
};

/* m, at an end of a link of the group; `held`, the head there when it is held. */
static inline double group_head_at(const struct group *group, const struct group_place *place,
                                   int end, double held)
{
    return end == GROUP_HELD ? held : place->head[group->points[end]];
}

/* Solves one step. True: heads and flows meet every law; false: none found (the best is kept). */
bool group_solve(const struct group *group, const struct group_place *place,
                 struct group_work *work);

#endif
