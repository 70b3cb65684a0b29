#include "solver/surge/ahead.h"

#include "solver/surge/limits.h"
#include "solver/surge/memory_ahead.h"
#include "solver/surge/strands.h"
#include "solver/surge/sweep.h"
#include "solver/workers.h"

/* Most and least steps gone ahead; nodes of a stretch that is looked at by itself. */
enum { MOST = STRANDS_STEPS, LEAST = 8, STRETCH = 512 };

/* Steps after which a pipe that goes ahead is looked at anew. */
enum { LOOK_EVERY = 16 * MOST };

/* Nodes of a pipe with a memory from which on going ahead pays. */
enum { LONG_MEMORY = 2048 };

/* Fewest reaches of a pipe that several threads share. */
enum { SHARED_REACHES = 8192 };

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
    if (pipe->reaches < (pipe->memory == NULL ? STRANDS_LEAST : LONG_MEMORY) || pipe->gas > 0.0 ||
        pipe->cavity_count > 0) {
        return false;
    }
    if (pipe->is_unbounded || pipe->bounds_age >= LOOK_EVERY) {
        limits_find(kernel, pipe);
    }
    int age = pipe->bounds_age;
    limits_loosen(pipe, depth);
    if (pipe->lowest_next < pipe->highest_vapour && age > 0) {
        limits_find(kernel, pipe);
        limits_loosen(pipe, depth);
    }
    return !(pipe->lowest_next < pipe->highest_vapour) || is_above_boiling(kernel, pipe, depth);
}

/* One pipe, by one thread. */
static void go_alone(const struct kernel *kernel, struct kernel_pipe *pipe, int depth, int worker)
{
    pipe->is_ahead = can_go(kernel, pipe, depth);
    if (pipe->is_ahead && pipe->memory != NULL) {
        memory_ahead(kernel, pipe, depth);
    } else if (pipe->is_ahead) {
        strands_go(kernel, pipe, depth, worker);
    }
}

/* Whether a pipe is so long that other threads would wait for the one that has it. */
static bool is_for_all(const struct kernel *kernel, const struct kernel_pipe *pipe)
{
    return pipe->memory == NULL && pipe->reaches >= SHARED_REACHES &&
           pipe->reaches > kernel->node_count / 2 / kernel->workers;
}

/* The longest pipes by all threads, one after another; then each of the others by one. */
static void go_shared(const struct kernel *kernel, int depth)
{
    for (int i = 0; i < kernel->pipe_count; i++) {
        struct kernel_pipe *pipe = &kernel->pipes[i];
        if (is_for_all(kernel, pipe)) {
            pipe->is_ahead = can_go(kernel, pipe, depth);
            if (pipe->is_ahead) {
                strands_go_shared(kernel, pipe, depth);
            }
        }
    }
#pragma omp parallel for schedule(dynamic, 1)                                                      \
    num_threads(kernel->workers) if (kernel->pipe_count > 1)
    for (int i = 0; i < kernel->pipe_count; i++) {
        if (!is_for_all(kernel, &kernel->pipes[i])) {
            go_alone(kernel, &kernel->pipes[i], depth, workers_mine());
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
    if (kernel->workers > 1) {
        go_shared(kernel, depth);
    } else {
        for (int i = 0; i < kernel->pipe_count; i++) {
            go_alone(kernel, &kernel->pipes[i], depth, 0);
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
