/* One step of a pipe with a memory in the row, by stretches that stay in the nearest cache
 * (solver/surge/memory_pass.h); and what is different where nodes hold gas or a cavity. */
#include "solver/surge/memory.h"
#include "solver/surge/memory_pass.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

/* Of a stretch: what its pass finds, what is told, extremes as they were before heads were noted.
 */
struct stretch {
    _Alignas(64) double driven[MEMORY_PASS_NODES];
    double taken[MEMORY_PASS_NODES];
    double head[MEMORY_PASS_NODES];
    double turn[MEMORY_PASS_NODES];
    double highest[MEMORY_PASS_NODES];
    double lowest[MEMORY_PASS_NODES];
};

static void keep(const struct memory_pass *pass, struct stretch *stretch)
{
    memcpy(stretch->highest, pass->highest, (size_t)pass->count * sizeof(double));
    memcpy(stretch->lowest, pass->lowest, (size_t)pass->count * sizeof(double));
}

/* In a pipe with gas the true heads are others. */
static void mend(const struct kernel *kernel, const struct memory_pass *pass,
                 const struct stretch *stretch)
{
    const double *head = kernel->head + pass->pipe->first + pass->node;
    for (int i = 0; i < pass->count; i++) {
        pass->highest[i] = fmax(stretch->highest[i], head[i]);
        pass->lowest[i] = fmin(stretch->lowest[i], head[i]);
    }
}

/* Both waves lose 2 (M - H) to the wall, as if they were turned about less than their mean. */
static void tell_node(const struct memory_pass *pass, int i, double head, struct stretch *stretch)
{
    const double given = 2.0 * (memory_mean(pass->pipe, pass->node + i, head) - head);
    stretch->head[i] = head;
    stretch->turn[i] = pass->right[i] + pass->left[i] - given;
}

/* Finds all heads, the true ones where they are not what the two values say. Cavities stand in the
 * order of nodes, from *cavity on; what is noted of their extremes the kernel mends. */
static void tell(const struct kernel *kernel, const struct memory_pass *pass, int64_t *cavity,
                 struct stretch *stretch)
{
    const int64_t first = pass->pipe->first + pass->node;
    for (int i = 0; i < pass->count; i++) {
        const double mean = 0.5 * (pass->right[i] + pass->left[i]);
        stretch->head[i] = memory_head(pass->pipe, pass->node + i, mean);
        stretch->turn[i] = 2.0 * stretch->head[i];
        if (pass->pipe->gas > 0.0) {
            tell_node(pass, i, kernel->head[first + i], stretch);
        }
    }
    int64_t j = *cavity;
    for (; j < kernel->cavity_count && kernel->cavities[j].node < first + pass->count; j++) {
        const int64_t i = kernel->cavities[j].node - first;
        if (i >= 0) {
            tell_node(pass, (int)i, kernel->cavities[j].head, stretch);
        }
    }
    *cavity = j;
}

void memory_step(const struct kernel *kernel, const struct kernel_pipe *pipe, int64_t node,
                 int64_t count)
{
    struct stretch stretch;
    const bool gives = memory_gives(pipe);
    const bool is_told = gives && (pipe->gas > 0.0 || kernel->cavity_count > 0);
    const bool is_mended = pipe->gas > 0.0 && !gives;
    int64_t cavity = 0;
    struct memory_pass pass = {.pipe = pipe,
                               .driven = stretch.driven,
                               .taken = stretch.taken,
                               .head = is_told ? stretch.head : NULL,
                               .turn = is_told ? stretch.turn : NULL};
    for (int64_t at = node; at < node + count; at += pass.count) {
        const int64_t left = node + count - at;
        pass.count = left < MEMORY_PASS_NODES ? (int)left : MEMORY_PASS_NODES;
        pass.node = at;
        pass.right = row_right(kernel) + pipe->first + at;
        pass.left = row_left(kernel) + pipe->first + at;
        pass.highest = kernel->highest + pipe->first + at;
        pass.lowest = kernel->lowest + pipe->first + at;
        if (is_told) {
            tell(kernel, &pass, &cavity, &stretch);
        }
        if (is_mended) {
            keep(&pass, &stretch);
        }
        memory_pass_take(&pass);
        if (is_mended) {
            mend(kernel, &pass, &stretch);
        }
    }
}
