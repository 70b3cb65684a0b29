#include "solver/surge/boiling.h"

#include "models/each_width.h"
#include "solver/surge/fold.h"
#include "solver/surge/memory.h"

#include <math.h>

const double boiling_margin = 0.1;

/* Nodes whose two values meet below the head at which water boils. */
EACH_WIDTH
static int64_t count_below(int64_t count, const double *restrict right, const double *restrict left,
                           const double *restrict vapour)
{
    int64_t below = 0;
    for (int64_t i = 0; i < count; i++) {
        below += 0.5 * (right[i] + left[i]) < vapour[i];
    }
    return below;
}

/* The same of a folded pipe. */
static bool is_folded_below(const struct kernel *kernel, const struct kernel_pipe *pipe,
                            int64_t node, int64_t count)
{
    bool is_below = false;
    for (int64_t i = node; i < node + count; i++) {
        is_below = is_below || node_mean(kernel, pipe, i) < kernel->vapour[pipe->first + i];
    }
    return is_below;
}

/* Whether any node of a pipe has fallen below the head at which water boils there. */
static bool is_any_below(const struct kernel *kernel, const struct kernel_pipe *pipe, int64_t first,
                         int64_t count)
{
    const double *right = row_right(kernel) + first;
    const double *left = row_left(kernel) + first;
    const double *vapour = kernel->vapour + first;
    if (fold_is_on(pipe)) {
        return is_folded_below(kernel, pipe, first - pipe->first, count);
    }
    if (!memory_gives(pipe)) {
        return count_below(count, right, left, vapour) > 0;
    }
    /* Where walls creep the mean of the values is not the head. */
    int64_t below = 0;
    for (int64_t i = 0; i < count; i++) {
        double least = memory_mean(pipe, first + i - pipe->first, vapour[i]);
        below += 0.5 * (right[i] + left[i]) < least;
    }
    return below > 0;
}

/* Opens, keeps or closes the cavity of one node. */
static void step_node(struct kernel *kernel, struct kernel_pipe *pipe, int64_t node)
{
    double *right = node_right(kernel, pipe, node - pipe->first);
    double *left = node_left(kernel, pipe, node - pipe->first);
    double mean = 0.5 * (*right + *left);
    double *volume = &kernel->volume[node];
    double vapour = memory_mean(pipe, node - pipe->first, kernel->vapour[node]);
    if (*volume <= 0.0 && mean >= vapour) {
        return;
    }
    /* The mean if what is left of the cavity is filled in this step. */
    double closing = mean - 0.5 * pipe->impedance * *volume / kernel->step;
    double head = kernel->vapour[node];
    if (closing >= vapour) {
        *volume = 0.0;
        head = memory_head(pipe, node - pipe->first, closing);
    } else {
        *volume += kernel->step * 2.0 * (vapour - mean) / pipe->impedance;
        closing = vapour;
        pipe->cavity_count++;
    }
    double arrived = *right;
    *right = 2.0 * closing - *left;
    *left = 2.0 * closing - arrived;
    kernel->cavities[kernel->cavity_count++] =
        (struct kernel_cavity){.pipe = (int)(pipe - kernel->pipes), .node = node, .head = head};
}

/* Gas at the nodes inside: with h the head over boiling and the volume gas/h, what flows apart in
 * the step gives  2 (1 + softness) h^2 + b h = B gas/dt,  whose positive root is taken in the form
 * that loses no digits (Wylie & Streeter 1993, ch. 8, with backward weighting). */
static void expand(const struct kernel *kernel, const struct kernel_pipe *pipe, int64_t first,
                   int64_t count)
{
    double *restrict right = row_right(kernel) + first;
    double *restrict left = row_left(kernel) + first;
    double *restrict volume = kernel->volume + first;
    double *restrict heads = kernel->head + first;
    const double *restrict vapour = kernel->vapour + first;
    double rate = pipe->impedance / kernel->step;
    double stiffness = 2.0;
    for (int64_t i = 0; i < count; i++) {
        double boiling = memory_mean(pipe, first + i - pipe->first, vapour[i]);
        if (pipe->memory != NULL) {
            stiffness = 2.0 * (1.0 + pipe->memory->wall.total);
        }
        double b = 2.0 * boiling - right[i] - left[i] + rate * volume[i];
        double root = sqrt(b * b + 4.0 * stiffness * rate * pipe->gas);
        double over =
            b > 0.0 ? 2.0 * rate * pipe->gas / (b + root) : (root - b) / (2.0 * stiffness);
        double mean = boiling + 0.5 * stiffness * over;
        double arrived = right[i];
        volume[i] = pipe->gas / over;
        heads[i] = vapour[i] + over;
        right[i] = 2.0 * mean - left[i];
        left[i] = 2.0 * mean - arrived;
    }
}

static void step_gas(struct kernel *kernel, struct kernel_pipe *pipe, int64_t first, int64_t count)
{
    double most = pipe->gas / boiling_margin;
    expand(kernel, pipe, first, count);
    for (int64_t i = first; i < first + count; i++) {
        if (kernel->volume[i] > most) {
            pipe->cavity_count++;
            kernel->cavities[kernel->cavity_count++] = (struct kernel_cavity){
                .pipe = (int)(pipe - kernel->pipes), .node = i, .head = kernel->head[i]};
        }
    }
}

void boiling_step(struct kernel *kernel, struct kernel_pipe *pipe, int64_t node, int64_t count,
                  bool had_cavities)
{
    int64_t first = pipe->first + node;
    if (pipe->gas > 0.0) {
        step_gas(kernel, pipe, first, count);
        return;
    }
    if (!had_cavities && !is_any_below(kernel, pipe, first, count)) {
        return;
    }
    for (int64_t i = 0; i < count; i++) {
        step_node(kernel, pipe, first + i);
    }
}
