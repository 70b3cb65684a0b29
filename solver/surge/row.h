/* Row: all nodes of all pipes in one row, as the kernel keeps them (solver/surge/kernel.h). */
#ifndef SOLVER_SURGE_ROW_H
#define SOLVER_SURGE_ROW_H

#include "solver/surge/loss.h"

#include <stdint.h>

struct fold;
struct memory;

/* Most steps by which the middle of a pipe may be ahead of its ends, and of one with a memory where
 * all pipes that go ahead are such and out of cache. */
enum { AHEAD_STEPS = 64, AHEAD_FAR = 128 };

/* Between which values p + fall i and m + fall i lie, i being the node's number in the pipe: what
 * friction takes in steady flow is left out, so that these are far closer together where a pipe
 * loses much head from end to end. A step changes them only by as much as friction is above or
 * below `fall`. Of a pipe in the row without a memory whose friction goes by a table. */
struct grade {
    bool is_known;
    double fall;        /* m a node */
    double least_right; /* m */
    double most_right;  /* m */
    double least_left;  /* m */
    double most_left;   /* m */
    double least;       /* m, where no p - m is below this ... */
    double most;        /* m, ... and none above this, */
    double change;      /* m, a step changes them by no more than this */
};

struct kernel_pipe {
    int64_t first;         /* its first node in the row */
    int reaches;           /* it has reaches + 1 nodes */
    double impedance;      /* B, s/m2 */
    struct loss loss;      /* made with `impedance`, or with memory_impedance if it has a memory */
    double gas;            /* m4, of one reach: volume times head over boiling of the gas that each
                              node inside holds; 0: none, cavities are of vapour */
    int cavity_count;      /* open in it now */
    double highest_vapour; /* m, of its nodes */
    double lowest_next;    /* m, no head inside will be below it after the move */
    bool is_unbounded;     /* nothing is known: the next least and most do not hold */
    int bounds_age;        /* steps since somebody looked */
    double least_right; /* m, no p in it is below this; a little loose, since friction is taken */
    double most_right;  /* m     at its largest until somebody looks */
    double least_left;  /* m, the same of m */
    double most_left;   /* m */
    struct grade grade; /* the same without the steady gradient */
    struct loss_near near; /* what its differences need of a table, until somebody looks */
    double span;           /* m; where no |p - m| is larger than this, */
    double span_loss;      /* m, friction takes no more than this in a step, */
    double steepest;       /* and no more than this for each metre of it; without a memory */
    double most_change;    /* m, no value p or m changes by more than this in a step */
    bool is_ahead;         /* its middle is, while kernel.ahead is above 0 */
    struct memory *memory; /* of unsteady friction and creep; NULL: it has none */
    struct fold *fold;     /* its nodes in strands; NULL: it has too few */
};

/* A node that has, or in this step closed, a cavity. */
struct kernel_cavity {
    int pipe;
    int64_t node;
    double head; /* m, its true head at this instant */
    double highest;
    double lowest;
};

struct kernel {
    int pipe_count;
    struct kernel_pipe *pipes; /* [pipe_count] */
    int64_t node_count;
    int64_t slack;   /* steps until the row has to be moved back */
    int64_t shift;   /* steps made since */
    double *right;   /* [node_count + slack] p of node i at right[slack - shift + i] */
    double *left;    /* [node_count + slack] m of node i at left[shift + i] */
    double *highest; /* [node_count] m, extremes of H so far */
    double *lowest;  /* [node_count] m */
    double *vapour;  /* [node_count] m, head at which water boils there */
    double *volume;  /* [node_count] m3 of its cavity or gas */
    double *head;    /* [node_count] m, true heads inside pipes with gas; elsewhere unused */
    int64_t cavity_count;
    struct kernel_cavity *cavities; /* [cavity_count] at this instant */
    int promised;                   /* steps before somebody looks at nodes inside pipes */
    int ahead;                      /* steps by which the middles of some pipes are ahead */
    int ahead_of;                   /* and were as they went */
    double step;                    /* s; the caller's to set */
    int workers;                    /* threads that may share the pipes */
};

/* p and m of node 0 of the row. */
static inline double *row_right(const struct kernel *kernel)
{
    return kernel->right + kernel->slack - kernel->shift;
}

static inline double *row_left(const struct kernel *kernel)
{
    return kernel->left + kernel->shift;
}

/* Half the sum of the two values at a node. */
static inline double row_mean(const struct kernel *kernel, int64_t node)
{
    return 0.5 * (row_right(kernel)[node] + row_left(kernel)[node]);
}

#endif
