#include "solver/surge/boiling.h"

#include "solver/surge/memory.h"

/* Nodes whose two values meet below the head at which water boils. */
static int64_t count_below(int64_t count, const double *restrict right, const double *restrict left,
                           const double *restrict vapour)
{
    int64_t below = 0;
    for (int64_t i = 0; i < count; i++) {
        below += 0.5 * (right[i] + left[i]) < vapour[i];
    }
    return below;
}

/* Opens, keeps or closes the cavity of one node. */
static void step_node(struct kernel *kernel, struct kernel_pipe *pipe, int64_t node)
{
    double *right = &row_right(kernel)[node];
    double *left = &row_left(kernel)[node];
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
    kernel->cavities[kernel->cavity_count++] = (struct kernel_cavity){.node = node, .head = head};
}

void boiling_step(struct kernel *kernel, struct kernel_pipe *pipe)
{
    int64_t first = pipe->first + 1; /* the ends belong to points */
    int64_t inside = pipe->reaches - 1;
    bool is_soft = pipe->memory != NULL && pipe->memory->strain != NULL;
    if (!is_soft && pipe->cavity_count == 0 &&
        count_below(inside, row_right(kernel) + first, row_left(kernel) + first,
                    kernel->vapour + first) == 0) {
        return;
    }
    pipe->cavity_count = 0;
    for (int64_t i = 0; i < inside; i++) {
        step_node(kernel, pipe, first + i);
    }
}
