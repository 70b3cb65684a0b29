/* Limits: between which values those of a pipe lie, known without looking at each node at each
 * step. Friction moves p and m by at most the loss of their largest difference (with a memory a
 * little more, solver/surge/memory.h), so what was found once is loosened by that at each step,
 * and found anew now and then. What they tell: that no head can fall below boiling, and that small
 * friction has its short form. */
#ifndef SOLVER_SURGE_LIMITS_H
#define SOLVER_SURGE_LIMITS_H

#include "solver/surge/row.h"
#include "solver/surge/sweep.h"

/* Nothing is known. */
void limits_forget(struct kernel_pipe *pipe);

/* Looks at all values of a pipe. */
void limits_find(const struct kernel *kernel, struct kernel_pipe *pipe);

/* The same after friction, before the waves move by a reach: what is known along the gradient moves
 * with them. */
void limits_find_moving(const struct kernel *kernel, struct kernel_pipe *pipe);

/* Looks if nothing is known, or all is old. */
void limits_renew(const struct kernel *kernel, struct kernel_pipe *pipe);

/* m, between which all p - m of the pipe lie. */
struct bounds limits_differences(const struct kernel_pipe *pipe);

/* Friction is taken so many times: the limits are loosened and lowest_next follows. */
void limits_loosen(struct kernel_pipe *pipe, int times);

/* A value p (or m) enters the pipe. */
static inline void limits_enter_right(struct kernel_pipe *pipe, double value)
{
    pipe->least_right = value < pipe->least_right ? value : pipe->least_right;
    pipe->most_right = value > pipe->most_right ? value : pipe->most_right;
    struct grade *grade = &pipe->grade;
    grade->least_right = value < grade->least_right ? value : grade->least_right;
    grade->most_right = value > grade->most_right ? value : grade->most_right;
}

static inline void limits_enter_left(struct kernel_pipe *pipe, double value)
{
    pipe->least_left = value < pipe->least_left ? value : pipe->least_left;
    pipe->most_left = value > pipe->most_left ? value : pipe->most_left;
    struct grade *grade = &pipe->grade;
    const double level = value + grade->fall * pipe->reaches;
    grade->least_left = level < grade->least_left ? level : grade->least_left;
    grade->most_left = level > grade->most_left ? level : grade->most_left;
}

#endif
