#include "solver/surge/ahead.h"

#include "solver/surge/limits.h"
#include "solver/surge/memory.h"
#include "solver/surge/sweep.h"

#include <stddef.h>

/* Most and least steps gone ahead; nodes of a stretch (with its four numbers a node in half of a
 * nearest cache of 32 KiB); nodes of a pipe from which on it pays; one
 * of how many stretches is looked at anyway. */
enum { MOST = 32, LEAST = 8, STRETCH = 512, LONG_PIPE = 2048, SELDOM = 8 };

/* The same where pipes have memories, whose nodes hold four times as much. */
enum { MEMORY_STRETCH = 128, MEMORY_LEAN = 8, LONG_MEMORY = 2048 };

/* Whether no stretch of the pipe can fall below boiling within these steps: by the values that can
 * reach it and the largest loss of each step. */
static bool is_above_boiling(const struct kernel *kernel, const struct kernel_pipe *pipe, int depth)
{
    const double *right = row_right(kernel) + pipe->first;
    const double *left = row_left(kernel) + pipe->first;
    const double *vapour = kernel->vapour + pipe->first;
    int nodes = pipe->reaches + 1;
    for (int at = 0; at < nodes; at += STRETCH) {
        int end = at + STRETCH < nodes ? at + STRETCH : nodes;
        int before = at > depth ? at - depth : 0;
        int behind = end + depth < nodes ? end + depth : nodes;
        double least_right = sweep_bounds(end - before, right + before).least;
        double least_left = sweep_bounds(behind - at, left + at).least;
        double highest_vapour = sweep_bounds(end - at, vapour + at).most;
        if (0.5 * (least_right + least_left) - (depth + 1) * pipe->most_change < highest_vapour) {
            return false;
        }
    }
    return true;
}

/* Whether the middle of a pipe can go ahead this far: no gas, no cavity, and none can open. Its
 * limits then hold for all these steps. */
static bool can_go(const struct kernel *kernel, struct kernel_pipe *pipe, int depth)
{
    if (pipe->reaches < (pipe->memory == NULL ? LONG_PIPE : LONG_MEMORY) || pipe->gas > 0.0 ||
        pipe->cavity_count > 0) {
        return false;
    }
    limits_find(kernel, pipe);
    limits_loosen(pipe, depth);
    pipe->bounds_age = 0;
    return !(pipe->lowest_next < pipe->highest_vapour) || is_above_boiling(kernel, pipe, depth);
}

/* Rounding of one sum or difference, as a share of the values in it, on the safe side. */
static const double rounding = 2.3e-16;

/* Widened by all that friction and rounding can do to a value in `depth` steps. */
static struct bounds widen(struct bounds bounds, double loss, int depth)
{
    double largest = bounds.most > -bounds.least ? bounds.most : -bounds.least;
    double by = depth * (loss + rounding * (largest + loss * depth));
    return (struct bounds){bounds.least - by, bounds.most + by};
}

/* What can be said of all nodes of the stretch that begins at node `at`, in all its steps. It leans
 * back by one node a step, and the values p it meets come from one more node back a step. */
static void look_at(const struct kernel *kernel, const struct kernel_pipe *pipe, int at, int depth,
                    struct sweep *all)
{
    int end = at + STRETCH < pipe->reaches + 1 ? at + STRETCH : pipe->reaches + 1;
    int back = at > depth ? at - depth : 0;
    int far_back = at > 2 * depth ? at - 2 * depth : 0;
    const double *right = row_right(kernel) + pipe->first;
    const double *left = row_left(kernel) + pipe->first;
    struct bounds there = sweep_bounds(end - far_back, right + far_back);
    struct bounds here = sweep_bounds(end - at, left + at);
    struct bounds highest = sweep_bounds(end - back, kernel->highest + pipe->first + back);
    struct bounds lowest = sweep_bounds(end - back, kernel->lowest + pipe->first + back);
    there = widen(there, pipe->span_loss, depth);
    here = widen(here, pipe->span_loss, depth);
    all->least = there.least - here.most;
    all->most = there.most - here.least;
    all->is_quiet = 0.5 * (there.most + here.most) <= highest.least &&
                    0.5 * (there.least + here.least) >= lowest.most;
}

static void go(const struct kernel *kernel, const struct kernel_pipe *pipe, int depth)
{
    double *right = row_right(kernel) + pipe->first;
    double *left = row_left(kernel) + pipe->first;
    double *highest = kernel->highest + pipe->first;
    double *lowest = kernel->lowest + pipe->first;
    int nodes = pipe->reaches + 1;
    /* Looking costs a pass: where a table has no need of it, only beside quiet stretches or seldom.
     */
    struct bounds between = limits_differences(pipe);
    bool was_quiet = false;
    for (int at = 0; at < nodes; at += STRETCH) {
        struct sweep sweep = {.least = between.least, .most = between.most};
        if (pipe->loss.kind == LOSS_TABLE || was_quiet || at / STRETCH % SELDOM == 0) {
            look_at(kernel, pipe, at, depth, &sweep);
        }
        was_quiet = sweep.is_quiet;
        for (int k = 0; k < depth; k++) {
            int first = at - k > k ? at - k : k;
            int last = at - k + STRETCH < nodes - k ? at - k + STRETCH : nodes - k;
            if (first >= last) {
                break;
            }
            sweep.count = last - first;
            sweep.right = right - k + first;
            sweep.left = left + k + first;
            sweep.highest = highest + first;
            sweep.lowest = lowest + first;
            sweep_take(&sweep, &pipe->loss);
        }
    }
}

/* The same of a pipe with a memory, which leans back by whole vectors, so that they stay where
 * lines of the caches begin. */
static void go_with_memory(const struct kernel *kernel, const struct kernel_pipe *pipe, int depth)
{
    int nodes = pipe->reaches + 1;
    for (int at = 0; at < nodes + (depth - 1) * MEMORY_LEAN; at += MEMORY_STRETCH) {
        struct kernel later = *kernel;
        for (int k = 0; k < depth; k++) {
            int back = at - k * MEMORY_LEAN;
            int first = back > k ? back : k;
            int last = back + MEMORY_STRETCH < nodes - k ? back + MEMORY_STRETCH : nodes - k;
            if (first < last) {
                memory_step(&later, pipe, first, last - first);
            }
            later.shift++;
        }
    }
}

void ahead_begin(struct kernel *kernel)
{
    if (kernel->ahead > 0) {
        return;
    }
    int64_t room = kernel->slack - kernel->shift;
    int depth = kernel->promised < MOST ? kernel->promised : MOST;
    depth = depth < room ? depth : (int)room;
    if (depth < LEAST) {
        return;
    }
    for (int i = 0; i < kernel->pipe_count; i++) {
        struct kernel_pipe *pipe = &kernel->pipes[i];
        pipe->is_ahead = can_go(kernel, pipe, depth);
        if (pipe->is_ahead && pipe->memory != NULL) {
            go_with_memory(kernel, pipe, depth);
        } else if (pipe->is_ahead) {
            go(kernel, pipe, depth);
        }
    }
    /* Also if no pipe went: it is asked again only then, since looking costs a pass. */
    kernel->ahead = depth;
    kernel->ahead_of = depth;
}

int ahead_end(const struct kernel *kernel, const struct kernel_pipe *pipe)
{
    return kernel->ahead > 0 && pipe->is_ahead ? kernel->ahead_of - kernel->ahead : -1;
}
