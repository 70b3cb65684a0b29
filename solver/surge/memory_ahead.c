#include "solver/surge/memory_ahead.h"

#include "solver/surge/memory.h"
#include "solver/surge/memory_pass.h"

#include <string.h>

/* Nodes of a stretch, and by how many it leans back a step: whole lines of the caches, so that what
 * nodes remember is read and written where vectors begin; and of how many nodes a stretch tells the
 * next one: all that this leans back on, and the one beyond. */
enum { STRETCH = MEMORY_PASS_NODES, LEAN = 8, EDGE = 16 };

/* Waves the way they go, of EDGE nodes more than the stretch has, which stand before it. */
struct waves {
    _Alignas(64) double right[EDGE + STRETCH];
    double left[EDGE + STRETCH];
};

/* A stretch. At step k place EDGE + j holds node at - LEAN k + j; so all places stay the same while
 * it leans back, and waves too are written where vectors begin. They are read from the waves of the
 * step before: p that comes to a node where that of the node before it was left, m where that of
 * the next one was. */
struct work {
    const struct kernel *kernel;
    const struct kernel_pipe *pipe;
    int nodes;
    int depth;
    struct waves waves[2]; /* before and after a step, by turns */
    struct waves_edge {
        double right[EDGE];
        double left[EDGE];
    } edge[AHEAD_STEPS]; /* the last places of the stretch before, after each step */
};

/* Where in the waves of the step before a stretch's first node finds p and m. */
enum { FROM_RIGHT = EDGE - LEAN - 1, FROM_LEFT = EDGE - LEAN + 1 };

/* As they are in the row, before the first step. */
static void fetch(struct work *work, int at)
{
    const int left = work->nodes - at;
    const size_t bytes = (size_t)(left < STRETCH ? left : STRETCH) * sizeof(double);
    if (left > 0) {
        const int64_t node = work->pipe->first + at;
        memcpy(work->waves[0].right + FROM_RIGHT, row_right(work->kernel) + node, bytes);
        memcpy(work->waves[0].left + FROM_LEFT, row_left(work->kernel) + node, bytes);
    }
}

/* Tells the next stretch, and hears what the one before has told, as far as is needed. */
static void pass_on(struct waves *after, struct waves_edge *edge)
{
    for (int i = FROM_RIGHT; i < EDGE; i++) {
        const double right = edge->right[i];
        const double left = edge->left[i];
        edge->right[i] = after->right[STRETCH + i];
        edge->left[i] = after->left[STRETCH + i];
        after->right[i] = right;
        after->left[i] = left;
    }
}

static int least(int one, int other)
{
    return one < other ? one : other;
}

static int most(int one, int other)
{
    return one > other ? one : other;
}

/* Puts back in the row what leaves the nodes from `first` to before `last` after step `k`: all of
 * it after the last one; before that what goes to the ends, which are not ahead. */
static void put_back(const struct work *work, const struct waves *after, int back, int first,
                     int last, int k)
{
    double *right = row_right(work->kernel) + work->pipe->first - k;
    double *left = row_left(work->kernel) + work->pipe->first + k;
    const bool is_last = k == work->depth - 1;
    for (int i = is_last ? first : most(first, work->nodes - k - 2); i < last; i++) {
        right[i] = after->right[EDGE + i - back];
    }
    for (int i = first; i < (is_last ? last : least(last, k + 2)); i++) {
        left[i] = after->left[EDGE + i - back];
    }
}

/* Step `k` of the stretch that began at node `at`. */
static void take_step(struct work *work, struct memory_pass *pass, int at, int k)
{
    const struct waves *before = &work->waves[k % 2];
    struct waves *after = &work->waves[(k + 1) % 2];
    const int back = at - k * LEAN;
    const int first = most(back, k);
    const int last = least(back + STRETCH, work->nodes - k);
    if (first < last) {
        const int place = first - back;
        pass->count = last - first;
        pass->node = first;
        pass->from_right = before->right + FROM_RIGHT + place;
        pass->from_left = before->left + FROM_LEFT + place;
        pass->right = after->right + EDGE + place;
        pass->left = after->left + EDGE + place;
        pass->highest = work->kernel->highest + work->pipe->first + first;
        pass->lowest = work->kernel->lowest + work->pipe->first + first;
        memory_pass_take(pass);
        put_back(work, after, back, first, last, k);
    }
    pass_on(after, &work->edge[k]);
}

void memory_ahead(const struct kernel *kernel, const struct kernel_pipe *pipe, int depth)
{
    struct work work = {.kernel = kernel, .pipe = pipe, .nodes = pipe->reaches + 1, .depth = depth};
    struct memory_pass pass = {.pipe = pipe};
    for (int at = 0; at < work.nodes + (depth - 1) * LEAN; at += STRETCH) {
        fetch(&work, at);
        for (int k = 0; k < depth; k++) {
            take_step(&work, &pass, at, k);
        }
    }
}
