/* Group coupled: a group in which some laws are no monotone graph (a leg of a tee, a regulator, a
 * pump curve with a rising part; struct coupling), solved with the same laws as the steady
 * solver's.
 *
 * Unknown are the heads at its n points and the flows of its m coupled links; plain links are
 * eliminated as in group_linear.h, on their slope or at an upright. Newton on the unsymmetric
 * system of n + m equations with a line search that may go uphill for a few steps (Grippo,
 * Lampariello & Lucidi 1986); where it finds nothing, heads and flows are held back by damping that
 * sinks with the residual (Kelley & Keyes 1998), as solver/steady/coupled.h does. Pipe ends make
 * nearly every such system well behaved: their impedance is far above the slope of any part. */
#ifndef SOLVER_SURGE_GROUP_COUPLED_H
#define SOLVER_SURGE_GROUP_COUPLED_H

#include "solver/surge/group.h"

/* Scratch for the largest such group; n points, l links, m coupled laws. */
struct group_coupled_work {
    double *matrix;          /* [n+m n+m] */
    double *step;            /* [n+m] change of heads, m, and of coupled flows times impedance, m */
    double *delta;           /* [n+m] */
    double *head;            /* [n] at present */
    double *inflow;          /* [n] from pipe ends less draws, m3/s */
    double *conductance;     /* [n] m2/s */
    double *balance;         /* [n] m3/s */
    double *slope;           /* [l] of plain links, not below a floor */
    double *flow;            /* [l] where the step leads */
    double *kept_head;       /* [n] before a step */
    double *kept_flow;       /* [l] */
    double *first_head;      /* [n] at the beginning */
    double *first_flow;      /* [l] */
    signed char *upright;    /* [l] 0: on its slope; -1, 1: clamped to the lower or upper upright */
    struct coupled_law *law; /* [m] at present */
    double error;            /* largest error of any law as a share of 1 m + the largest head */
    double size;             /* m, square root of the sum of their squares */
    double missed;           /* m, largest error of any law at the last answer */
};

/* Widens `most` to the counts of a group that is larger in any of them. */
void group_coupled_widen(struct group *most, const struct group *group);

/* Scratch for groups of at most these counts. */
MUST_CHECK bool group_coupled_work_init(struct group_coupled_work *work, const struct group *most,
                                        struct arena *arena, struct failure *failure);

/* Coupled law `number` of the group at its present heads and flows; its state follows. */
struct coupled_law group_coupled_law(const struct group *group, const struct group_place *place,
                                     int number);

/* As group_solve (group.h). */
bool group_coupled_solve(const struct group *group, const struct group_place *place,
                         struct group_coupled_work *work);

#endif
