#include "solver/surge/ahead.h"

#include "solver/surge/along.h"
#include "solver/surge/fold.h"
#include "solver/surge/lean.h"
#include "solver/surge/limits.h"
#include "solver/surge/memory_ahead.h"

#include <math.h>

/* Least steps gone ahead; lines of a stretch that is looked at by itself; fewest lines of
 * a pipe for each step gone ahead. */
enum { LEAST = 8, STRETCH = 64, ROW_STRETCH = 512, LINES_EACH = 4 };

/* Steps after which a pipe that goes ahead is looked at anew. */
enum { LOOK_EVERY = 16 * AHEAD_STEPS };

/* Nodes of a pipe with a memory from which on going ahead pays; those of one that is out of cache.
 */
enum { LONG_MEMORY = 2048, FAR_MEMORY = 100000 };

/* Fewest reaches of a pipe that several threads share. */
enum { SHARED_REACHES = 8192 };

/* The least of some lines and of as many of the neighbouring strand as they lack. */
static void find_least(const struct fold *fold, const double *first, int from, int end,
                       double least[WIDEST])
{
    const int before = from < 0 ? from : 0;
    const int behind = end > fold->lines ? end - fold->lines : 0;
    struct along own;
    along_look(end - behind - (from - before), first + (ptrdiff_t)(from - before) * WIDEST, &own);
    for (int j = 0; j < WIDEST; j++) {
        least[j] = own.least[j];
    }
    if (before < 0) {
        along_look(-before, first + (ptrdiff_t)(fold->lines + before) * WIDEST, &own);
        for (int j = 1; j < WIDEST; j++) {
            least[j] = fmin(least[j], own.least[j - 1]);
        }
    }
    if (behind > 0) {
        along_look(behind, first, &own);
        for (int j = 0; j + 1 < WIDEST; j++) {
            least[j] = fmin(least[j], own.least[j + 1]);
        }
    }
}

/* Whether no stretch of a folded pipe can fall below boiling within these steps: by the values that
 * can reach it and the largest loss of each step. */
static bool is_fold_above(const struct kernel *kernel, const struct kernel_pipe *pipe, int depth)
{
    const struct fold *fold = pipe->fold;
    const double *vapour = kernel->vapour + pipe->first;
    const double fall = (depth + 1) * pipe->most_change;
    for (int at = 0; at < fold->lines; at += STRETCH) {
        const int end = at + STRETCH < fold->lines ? at + STRETCH : fold->lines;
        double right[WIDEST];
        double left[WIDEST];
        find_least(fold, fold_right(fold), at - depth, end, right);
        find_least(fold, fold_left(fold), at, end + depth, left);
        for (int j = 0; j < WIDEST; j++) {
            const int last = j + 1 < WIDEST || end < fold->tail ? end : fold->tail;
            const double *here = vapour + (ptrdiff_t)j * fold->lines;
            if (at < last &&
                0.5 * (right[j] + left[j]) - fall < sweep_bounds(last - at, here + at).most) {
                return false;
            }
        }
    }
    return true;
}

/* The same of a pipe in the row. */
static bool is_row_above(const struct kernel *kernel, const struct kernel_pipe *pipe, int depth)
{
    const double *right = row_right(kernel) + pipe->first;
    const double *left = row_left(kernel) + pipe->first;
    const double *vapour = kernel->vapour + pipe->first;
    const int nodes = pipe->reaches + 1;
    for (int at = 0; at < nodes; at += ROW_STRETCH) {
        const int end = at + ROW_STRETCH < nodes ? at + ROW_STRETCH : nodes;
        const int before = at > depth ? at - depth : 0;
        const int behind = end + depth < nodes ? end + depth : nodes;
        const double right_least = sweep_bounds(end - before, right + before).least;
        const double left_least = sweep_bounds(behind - at, left + at).least;
        const double highest_vapour = sweep_bounds(end - at, vapour + at).most;
        if (0.5 * (right_least + left_least) - (depth + 1) * pipe->most_change < highest_vapour) {
            return false;
        }
    }
    return true;
}

/* Whether a pipe is of a kind that goes ahead this far. */
static bool is_long_enough(const struct kernel_pipe *pipe, int depth)
{
    return pipe->memory != NULL ? pipe->reaches >= LONG_MEMORY && !(pipe->gas > 0.0)
                                : fold_is_on(pipe) && pipe->fold->tail >= LINES_EACH * depth;
}

/* Whether the middle of a pipe can go ahead this far: no gas, no cavity, and none can open. Its
 * limits then hold for all these steps. */
static bool can_go(const struct kernel *kernel, struct kernel_pipe *pipe, int depth)
{
    if (!is_long_enough(pipe, depth) || pipe->cavity_count > 0) {
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
    if (!(pipe->lowest_next < pipe->highest_vapour)) {
        return true;
    }
    return fold_is_on(pipe) ? is_fold_above(kernel, pipe, depth)
                            : is_row_above(kernel, pipe, depth);
}

/* The lines of a folded pipe from `from` to before `end`. */
static struct lean lean_of(const struct fold *fold, int from, int end)
{
    const ptrdiff_t at = (ptrdiff_t)from * WIDEST;
    return (struct lean){end - from, fold_right(fold) + at, fold_left(fold) + at,
                         fold->highest + at, fold->lowest + at};
}

/* One pipe, by one thread. */
static void go_alone(const struct kernel *kernel, struct kernel_pipe *pipe, int depth)
{
    pipe->is_ahead = can_go(kernel, pipe, depth);
    if (pipe->is_ahead && pipe->memory != NULL) {
        memory_ahead(kernel, pipe, depth);
    } else if (pipe->is_ahead) {
        const struct lean lean = lean_of(pipe->fold, 0, pipe->fold->tail);
        lean_go(&lean, pipe, depth);
    }
}

/* One pipe by several threads: a share of its lines each, then the gaps between them. */
static void go_together(const struct kernel_pipe *pipe, int depth, int workers)
{
    const struct fold *fold = pipe->fold;
    const int tail = fold->tail;
    const int most = tail / (LINES_EACH * depth);
    const int shares = workers < most ? workers : most;
#pragma omp parallel num_threads(shares)
    {
#pragma omp for schedule(static)
        for (int i = 0; i < shares; i++) {
            const struct lean lean = lean_of(fold, (int)((int64_t)tail * i / shares),
                                             (int)((int64_t)tail * (i + 1) / shares));
            lean_go(&lean, pipe, depth);
        }
#pragma omp for schedule(static)
        for (int i = 1; i < shares; i++) {
            const struct lean lean = lean_of(fold, 0, tail);
            lean_fill(&lean, pipe, (int)((int64_t)tail * i / shares), depth);
        }
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
                go_together(pipe, depth, kernel->workers);
            }
        }
    }
#pragma omp parallel for schedule(dynamic, 1)                                                      \
    num_threads(kernel->workers) if (kernel->pipe_count > 1)
    for (int i = 0; i < kernel->pipe_count; i++) {
        if (!is_for_all(kernel, &kernel->pipes[i])) {
            go_alone(kernel, &kernel->pipes[i], depth);
        }
    }
}

/* Whether what a long pipe remembers finds room in a cache. */
static bool is_near(const struct kernel_pipe *pipe)
{
    return pipe->reaches >= LONG_MEMORY && pipe->reaches < FAR_MEMORY;
}

/* Most steps that pay: what comes from memory is worth more of them than what is in a cache. */
static int most_steps(const struct kernel *kernel)
{
    bool is_far = false;
    for (int i = 0; i < kernel->pipe_count; i++) {
        const struct kernel_pipe *pipe = &kernel->pipes[i];
        if (pipe->memory == NULL ? pipe->fold != NULL : is_near(pipe)) {
            return AHEAD_STEPS;
        }
        is_far = is_far || pipe->reaches >= FAR_MEMORY;
    }
    return is_far ? AHEAD_FAR : AHEAD_STEPS;
}

void ahead_begin(struct kernel *kernel)
{
    if (kernel->ahead > 0 || kernel->promised < LEAST) {
        return;
    }
    int64_t room = kernel->slack - kernel->shift;
    const int most = most_steps(kernel);
    int depth = kernel->promised < most ? kernel->promised : most;
    depth = depth < room ? depth : (int)room;
    if (depth < LEAST) {
        return;
    }
    if (kernel->workers > 1) {
        go_shared(kernel, depth);
    } else {
        for (int i = 0; i < kernel->pipe_count; i++) {
            go_alone(kernel, &kernel->pipes[i], depth);
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
