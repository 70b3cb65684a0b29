/* Lean: many steps on some nodes in one go, while their numbers are in the nearest cache.
 *
 * Each stretch of nodes is taken through all steps, leaning back by one node a step so that it
 * needs nothing of the next one. At step k the nodes from the k-th to the k-th from the end are
 * taken: all that follows from the values at the beginning alone.
 *
 * A stretch whose heads cannot pass their extremes leaves those alone; one in which each head only
 * rises or only falls (solver/surge/slopes.h) has but the first and the last head of each node
 * noted. Extremes are within slopes_tolerance of all heads; all other digits are as without it. */
#ifndef SOLVER_SURGE_LEAN_H
#define SOLVER_SURGE_LEAN_H

#include "solver/surge/row.h"
#include "solver/surge/sweep.h"

/* Nodes of WIDEST strands, which lie side by side: first all first nodes, then all second ones. p
 * of node i after k steps is in line i - k of `right`, m in line i + k of `left`. */
struct lean {
    int nodes;       /* of each strand */
    double *right;   /* [nodes WIDEST] m, as all of these */
    double *left;    /* [nodes WIDEST] */
    double *highest; /* [nodes WIDEST] */
    double *lowest;  /* [nodes WIDEST] */
};

/* Takes so many steps; the pipe's limits must hold for all of them. */
void lean_go(const struct lean *lean, const struct kernel_pipe *pipe, int depth);

/* Takes them in the gap that has been left between nodes before `at` and from it on, which have
 * been taken apart: at step k the k-th before it to the k-th from it on. */
void lean_fill(const struct lean *lean, const struct kernel_pipe *pipe, int at, int depth);

#endif
