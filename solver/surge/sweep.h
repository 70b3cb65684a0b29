/* Sweep: one pass over the nodes of a pipe whose friction and wall answer at once.
 * At every node the head (p + m)/2 is held against the extremes so far, then friction G(p - m) is
 * taken: p -= G, m += G. One read and one write of each number; vectors wherever the compiler finds
 * them, with the same digits at every width. */
#ifndef SOLVER_SURGE_SWEEP_H
#define SOLVER_SURGE_SWEEP_H

#include "models/each_width.h"
#include "solver/surge/loss.h"

struct bounds {
    double least;
    double most;
};

/* For each place of the widest vector the interval of a table (struct loss_interval) in which the
 * difference there is known to lie. */
struct sweep_each {
    double start[WIDEST];
    double cubic[4][WIDEST];
};

/* Nodes of a stretch: [count] each. */
struct sweep {
    int count;
    double *right;                 /* m, p */
    double *left;                  /* m, m */
    const double *head;            /* m, where it is not (p + m)/2; else NULL */
    double *highest;               /* m */
    double *lowest;                /* m */
    double least;                  /* m, no p - m is below this; infinite: not known */
    double most;                   /* m, none is above this */
    bool is_quiet;                 /* no head is beyond the extremes so far */
    const struct sweep_each *each; /* NULL: not known; else `count` is a multiple of WIDEST */
};

void sweep_take(const struct sweep *sweep, const struct loss *loss);

/* Whether quadratic friction is its series at all differences that the sweep can meet. */
bool sweep_is_series(const struct sweep *sweep, const struct loss *loss);

/* Least and most of values [count]; infinite, the wrong way round, if there are none. */
struct bounds sweep_bounds(int count, const double value[]);

#endif
