/* Steady flow in a network: heads at the points and flows in the links that meet every law at once.
 *
 * The laws are maximal monotone graphs (models/element.h), so the answer is the minimum of a convex
 * function (content; Cherry & Millar 1951 for electrical networks, Collins et al. 1978 for pipes).
 * Newton on it: each step linearises the drops at the present flows, keeps the uprights (shut
 * valves) as they are, and solves that piecewise quadratic convex problem by a semismooth Newton on
 * its dual (Qi & Sun 1993) with an exact line search; the sparse symmetric systems by CHOLMOD with
 * one symbolic analysis a network. A line search on the convex function safeguards the outer step,
 * and each step is corrected with the factors it has (correction.h).
 * Branches of pipes without a loop are taken out before (forest.h), and pipes one behind another
 * are one law (series.h).
 * Nothing is switched open or shut by hand between iterations. */
#ifndef SOLVER_STEADY_STEADY_H
#define SOLVER_STEADY_STEADY_H

#include "models/arena.h"
#include "models/network.h"
#include "solver/steady/ending.h"

struct steady {
    enum steady_ending ending;
    int steps;  /* linear systems factorised: Newton steps */
    int solves; /* back-substitutions with these factors, at least one a step */
    /* The certificate, computed afresh from heads and flows after the last step: */
    double mass_residual;   /* m3/s, largest |inflow - outflow - draw| over free points */
    double energy_residual; /* m, largest |head(from) - head(to) - drop(flow)| over links inside
                               their span */
    double complementarity; /* m, largest head by which a link at an end of its span is on the wrong
                               side; m3/s outside the span never happens */
    int worst_point;        /* where the mass residual is; NETWORK_NONE: no free point */
    int worst_link;
    int zone_count; /* zones cut off from every held head */
    /* Arrays of the caller or of the arena given to steady_init: */
    double *head; /* [point_count] m */
    double *flow; /* [link_count] m3/s */
    double *drop; /* [link_count] m, head(from) - head(to) */
    int *zone;    /* [point_count] zone number, or NETWORK_NONE when joined to a held head. A zone's
                     heads are not defined: any one that keeps the links at its edge shut is right,
                     and which one water is locked in at hangs on what happened before. Here they
                     are one such choice, the differences inside the zone alone mean something; do
                     not show them as pressures */
};

struct steady_solver;

/* Room for the arrays of a result. */
MUST_CHECK bool steady_init(struct steady *result, const struct network *network,
                            struct arena *arena, struct failure *failure);

/* A solver for all networks with the same points and the same links' ends as `network`: the
 * symbolic analysis is done here. Free with steady_solver_free. NULL: failure tells. */
struct steady_solver *steady_solver_new(const struct network *network, struct failure *failure);
void steady_solver_free(struct steady_solver *solver);

/* Solves. `network` may differ from the one of steady_solver_new in element data, held heads and
 * draws; from rest, the answer does not depend on what was solved before. False only when memory
 * ends; no answer is told by result->ending. Our own arrays were made by steady_solver_new, but for
 * those of the branches (forest.h) of a network that has no answer without them, and those for laws
 * that allow runs of pipes as one law (series.h), or forbid them, where the first ones did not;
 * CHOLMOD takes room for its factors with the first solution and, where they are supernodal,
 * workspace with each; UMFPACK takes both with each system of a network whose laws are no monotone
 * graph, and the first of these makes the solver for them. */
MUST_CHECK bool steady_solve(struct steady_solver *solver, const struct network *network,
                             const struct water *water, const struct steady_options *options,
                             struct steady *result, struct failure *failure);

/* Words for people: "converged", ... */
const char *steady_ending_text(enum steady_ending ending);

#endif
