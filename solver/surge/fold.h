/* Fold: a pipe's nodes in strands that lie side by side, while nobody looks at them.
 *
 * Where nodes stand one after another, p and m move past each other by one number a step, so that
 * vectors of one of them (or of the extremes) straddle lines of the cache. So a pipe of many nodes
 * is cut into as many strands as the widest vector has places, of `lines` nodes each: line v holds
 * node v of each strand, and a step moves p and m by one whole line. What leaves the end of a
 * strand enters the next one. The last strand ends in up to seven pads, which no node owns: p runs
 * out into them, and what comes back out of them is overwritten by what enters the pipe.
 *
 * A pipe is folded only while the kernel has been promised that nobody looks inside
 * (kernel_promise), and unfolded into the row before somebody does. All digits are as without it,
 * but for extremes while its middle is ahead (solver/surge/ahead.h). Not where a pipe has gas or a
 * memory, nor where cavities may open unless its middle is ahead. */
#ifndef SOLVER_SURGE_FOLD_H
#define SOLVER_SURGE_FOLD_H

#include "models/arena.h"
#include "models/each_width.h"
#include "solver/surge/intervals.h"
#include "solver/surge/row.h"

struct fold {
    bool is_folded;
    int lines;       /* nodes of a strand */
    int tail;        /* nodes of the last strand; the others of its lines are pads */
    int slack;       /* steps until it has to be moved back */
    int shift;       /* steps made since */
    double *right;   /* [(lines + slack) WIDEST] line v of p at right[(slack - shift + v) WIDEST] */
    double *left;    /* [(lines + slack) WIDEST] line v of m at left[(shift + v) WIDEST] */
    double *highest; /* [lines WIDEST] m */
    double *lowest;  /* [lines WIDEST] m */
};

/* p and m of line 0. */
static inline double *fold_right(const struct fold *fold)
{
    return fold->right + (ptrdiff_t)(fold->slack - fold->shift) * WIDEST;
}

static inline double *fold_left(const struct fold *fold)
{
    return fold->left + (ptrdiff_t)fold->shift * WIDEST;
}

static inline bool fold_is_on(const struct kernel_pipe *pipe)
{
    return pipe->fold != NULL && pipe->fold->is_folded;
}

/* Where node `node` of the pipe stands, counted from the beginning of line 0. */
static inline ptrdiff_t fold_place(const struct fold *fold, int64_t node)
{
    const int64_t in_last = node - (int64_t)(WIDEST - 1) * fold->lines;
    if (node < fold->lines) {
        return (ptrdiff_t)node * WIDEST;
    }
    if (in_last >= 0) {
        return (ptrdiff_t)in_last * WIDEST + WIDEST - 1;
    }
    const int64_t strand = node / fold->lines;
    return (ptrdiff_t)((node - strand * fold->lines) * WIDEST + strand);
}

/* Numbers of a node of a pipe, folded or not. */
static inline double *node_right(const struct kernel *kernel, const struct kernel_pipe *pipe,
                                 int64_t node)
{
    return fold_is_on(pipe) ? fold_right(pipe->fold) + fold_place(pipe->fold, node)
                            : row_right(kernel) + pipe->first + node;
}

static inline double *node_left(const struct kernel *kernel, const struct kernel_pipe *pipe,
                                int64_t node)
{
    return fold_is_on(pipe) ? fold_left(pipe->fold) + fold_place(pipe->fold, node)
                            : row_left(kernel) + pipe->first + node;
}

static inline double *node_highest(const struct kernel *kernel, const struct kernel_pipe *pipe,
                                   int64_t node)
{
    return fold_is_on(pipe) ? pipe->fold->highest + fold_place(pipe->fold, node)
                            : kernel->highest + pipe->first + node;
}

static inline double *node_lowest(const struct kernel *kernel, const struct kernel_pipe *pipe,
                                  int64_t node)
{
    return fold_is_on(pipe) ? pipe->fold->lowest + fold_place(pipe->fold, node)
                            : kernel->lowest + pipe->first + node;
}

static inline double node_mean(const struct kernel *kernel, const struct kernel_pipe *pipe,
                               int64_t node)
{
    return 0.5 * (*node_right(kernel, pipe, node) + *node_left(kernel, pipe, node));
}

static inline double node_difference(const struct kernel *kernel, const struct kernel_pipe *pipe,
                                     int64_t node)
{
    return *node_right(kernel, pipe, node) - *node_left(kernel, pipe, node);
}

/* Room for folding a pipe; fold stays NULL where it has too few nodes. False: memory ended. */
MUST_CHECK bool fold_init(struct kernel_pipe *pipe, struct arena *arena, struct failure *failure);

/* Begins a step: folds what pays, and has room for as many steps as can be gone ahead. */
void fold_begin(struct kernel *kernel, struct kernel_pipe *pipe);

/* Notes extremes and takes friction in a folded pipe, all whose p - m lie between these: in all its
 * lines, or in those that are due while its middle is ahead and `end` lines at each end are not. */
void fold_sweep(const struct kernel_pipe *pipe, int end, struct bounds between);

/* Moves all waves of a folded pipe by one reach. */
void fold_move(struct kernel_pipe *pipe);

/* Notes the extremes of the present instant: of all lines, or of those that are not ahead. */
void fold_note(const struct kernel_pipe *pipe, int end);

/* Back into the row. Nothing if it is not folded. Not while its middle is ahead, unless no step
 * follows. */
void fold_undo(struct kernel *kernel, struct kernel_pipe *pipe);

#endif
