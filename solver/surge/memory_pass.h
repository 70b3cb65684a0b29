/* Memory pass: one step of some nodes of a pipe with a memory (solver/surge/memory.h), fast.
 *
 * First the waves, then the terms, in two plain loops whose nodes do not wait for each other. The
 * first works as if all nodes of a stretch were in one interval of the friction's table and tells
 * whether they were; if not, it is done again with the losses found beforehand (loss_row.h). */
#ifndef SOLVER_SURGE_MEMORY_PASS_H
#define SOLVER_SURGE_MEMORY_PASS_H

#include "solver/surge/row.h"

/* Most nodes of a pass. */
enum { MEMORY_PASS_NODES = 256 };

/* What a pass works on. All pointers are to the numbers of its first node. */
struct memory_pass {
    const struct kernel_pipe *pipe;
    int64_t node; /* its first node in the pipe */
    int count;
    const double *from_right; /* m, p before the step; NULL: where those after it will be */
    const double *from_left;  /* m, m before it, the same */
    double *right;            /* m, p after it, before the move */
    double *left;             /* m */
    double *highest;          /* m */
    double *lowest;           /* m */
    double *driven;           /* m, 2 B Q, where friction lags, and ... */
    double *taken;            /* m, ... heads, where walls creep, as they are found */
    const double *head;       /* m, heads that are told (pipes whose walls creep), and ... */
    const double *turn;       /* m, ... twice what p and m are turned about there; NULL: none is */
    bool is_partial;          /* heads are noted only of so many ... */
    int first;                /* ... nodes at its beginning ... */
    int last;                 /* ... and at its end */
};

/* Notes heads, takes friction and creep at all its nodes, and remembers. Not in place where heads
 * are noted of some nodes only. */
void memory_pass_take(struct memory_pass *pass);

#endif
