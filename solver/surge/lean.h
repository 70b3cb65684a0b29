/* Lean: many steps on some nodes in one go, while their numbers are in the nearest cache.
 *
 * Each stretch of nodes is taken through all steps, leaning back by one node a step so that it
 * needs nothing of the next one. At step k the nodes from the k-th to the k-th from the end are
 * taken: all that follows from the values at the beginning alone. */
#ifndef SOLVER_SURGE_LEAN_H
#define SOLVER_SURGE_LEAN_H

#include "solver/surge/row.h"
#include "solver/surge/sweep.h"

/* Nodes in one row; or, strand beside strand, several rows of as many nodes each, of which first
 * all first nodes stand in memory, then all second ones. p of node i after k steps is at right[i -
 * k], m at left[i + k] (times `strands`). */
struct lean {
    int nodes;
    int strands; /* rows side by side */
    double *right;
    double *left;
    double *highest;
    double *lowest;
};

/* Takes so many steps. */
void lean_go(const struct lean *lean, const struct kernel_pipe *pipe, int depth);

/* The same of WIDEST strands where `all` tells what holds of all nodes in all steps; where not all
 * are quiet, each stretch is looked at. */
void lean_go_known(const struct lean *lean, const struct kernel_pipe *pipe, int depth,
                   const struct sweep *all);

/* What can be said of nodes in all of `depth` steps, from the values now: between which p - m lie,
 * and whether they are quiet. Bounds of the values p and m that can reach them, and of the extremes
 * of each. */
struct sweep lean_foresee(const struct kernel_pipe *pipe, int depth, struct bounds right,
                          struct bounds left, struct bounds highest, struct bounds lowest);

#endif
