#include "solver/surge/kernel.h"

#include <math.h>
#include <string.h>

/* Moving the row back costs one pass; it is done at most every this many steps. */
enum { LEAST_SLACK = 1024, SLACK_SHARE = 16 };

bool kernel_init(struct kernel *kernel, int pipe_count, const int reaches[], struct arena *arena,
                 struct failure *failure)
{
    *kernel = (struct kernel){.pipe_count = pipe_count};
    kernel->pipes = arena_take(arena, (size_t)pipe_count, sizeof *kernel->pipes);
    if (kernel->pipes == NULL) {
        return fail_memory(failure, "surge pipes");
    }
    for (int i = 0; i < pipe_count; i++) {
        kernel->pipes[i].first = kernel->node_count;
        kernel->pipes[i].reaches = reaches[i];
        kernel->node_count += reaches[i] + 1;
    }
    kernel->slack = LEAST_SLACK + kernel->node_count / SLACK_SHARE;
    size_t nodes = (size_t)kernel->node_count;
    size_t room = nodes + (size_t)kernel->slack;
    kernel->right = arena_take(arena, room, sizeof *kernel->right);
    kernel->left = arena_take(arena, room, sizeof *kernel->left);
    kernel->highest = arena_take(arena, nodes, sizeof *kernel->highest);
    kernel->lowest = arena_take(arena, nodes, sizeof *kernel->lowest);
    if (kernel->right == NULL || kernel->left == NULL || kernel->highest == NULL ||
        kernel->lowest == NULL) {
        return fail_memory(failure, "surge grid");
    }
    return true;
}

/* p and m of node 0 of the row. */
static double *row_right(const struct kernel *kernel)
{
    return kernel->right + kernel->slack - kernel->shift;
}

static double *row_left(const struct kernel *kernel)
{
    return kernel->left + kernel->shift;
}

void kernel_start(struct kernel *kernel, int pipe, double head, double flow)
{
    const struct kernel_pipe *here = &kernel->pipes[pipe];
    double *right = row_right(kernel) + here->first;
    double *left = row_left(kernel) + here->first;
    /* d = 2 B Q + G(d): a contraction, since G' < 1 and G/d is small at any sensible reach. */
    double difference = 2.0 * here->impedance * flow;
    double loss = 0.0;
    for (int i = 0; i < 200; i++) {
        struct drop drop = loss_at(&here->loss, difference);
        double excess = difference - drop.head - 2.0 * here->impedance * flow;
        double next = difference - excess / (1.0 - drop.slope);
        loss = drop.head;
        if (fabs(next - difference) <= 1e-16 * fabs(difference)) {
            break;
        }
        difference = next;
    }
    for (int i = 0; i <= here->reaches; i++) {
        double node_head = head - loss * i;
        right[i] = node_head + 0.5 * difference;
        left[i] = node_head - 0.5 * difference;
        kernel->highest[here->first + i] = node_head;
        kernel->lowest[here->first + i] = node_head;
    }
}

static void note_extremes(int64_t count, const double *restrict right, const double *restrict left,
                          double *restrict highest, double *restrict lowest)
{
    for (int64_t i = 0; i < count; i++) {
        double head = 0.5 * (right[i] + left[i]);
        highest[i] = head > highest[i] ? head : highest[i];
        lowest[i] = head < lowest[i] ? head : lowest[i];
    }
}

static void take_quadratic(int count, double curvature, double *restrict right,
                           double *restrict left)
{
    for (int i = 0; i < count; i++) {
        double difference = right[i] - left[i];
        double size = fabs(difference);
        double divisor = 1.0 + sqrt(1.0 + curvature * size);
        double loss = curvature * size * difference / (divisor * divisor);
        right[i] -= loss;
        left[i] += loss;
    }
}

static void take_table(int count, const struct loss *table, double *restrict right,
                       double *restrict left)
{
    for (int i = 0; i < count; i++) {
        double loss = loss_at(table, right[i] - left[i]).head;
        right[i] -= loss;
        left[i] += loss;
    }
}

static void take_losses(struct kernel *kernel)
{
    for (int i = 0; i < kernel->pipe_count; i++) {
        const struct kernel_pipe *pipe = &kernel->pipes[i];
        double *right = row_right(kernel) + pipe->first;
        double *left = row_left(kernel) + pipe->first;
        if (pipe->loss.kind == LOSS_QUADRATIC) {
            take_quadratic(pipe->reaches + 1, pipe->loss.curvature, right, left);
        } else if (pipe->loss.kind == LOSS_TABLE) {
            take_table(pipe->reaches + 1, &pipe->loss, right, left);
        }
    }
}

void kernel_note_extremes(struct kernel *kernel)
{
    note_extremes(kernel->node_count, row_right(kernel), row_left(kernel), kernel->highest,
                  kernel->lowest);
}

void kernel_step(struct kernel *kernel)
{
    kernel_note_extremes(kernel);
    take_losses(kernel);
    if (kernel->shift == kernel->slack) {
        size_t bytes = (size_t)kernel->node_count * sizeof *kernel->right;
        memmove(kernel->right + kernel->slack, row_right(kernel), bytes);
        memmove(kernel->left, row_left(kernel), bytes);
        kernel->shift = 0;
    }
    kernel->shift++;
}

int64_t kernel_find_below(const struct kernel *kernel, const double limit[])
{
    const double *right = row_right(kernel);
    const double *left = row_left(kernel);
    int count = 0; /* counted first: that loop can use vectors, one with a way out cannot */
    for (int64_t i = 0; i < kernel->node_count; i++) {
        count += 0.5 * (right[i] + left[i]) < limit[i];
    }
    for (int64_t i = 0; i < kernel->node_count && count > 0; i++) {
        if (0.5 * (right[i] + left[i]) < limit[i]) {
            return i;
        }
    }
    return -1;
}

double kernel_arrived(const struct kernel *kernel, int pipe, enum kernel_side side)
{
    const struct kernel_pipe *here = &kernel->pipes[pipe];
    return side == KERNEL_START ? row_left(kernel)[here->first]
                                : row_right(kernel)[here->first + here->reaches];
}

void kernel_enter(struct kernel *kernel, int pipe, enum kernel_side side, double head)
{
    const struct kernel_pipe *here = &kernel->pipes[pipe];
    double *right = row_right(kernel);
    double *left = row_left(kernel);
    if (side == KERNEL_START) {
        right[here->first] = 2.0 * head - left[here->first];
    } else {
        int64_t last = here->first + here->reaches;
        left[last] = 2.0 * head - right[last];
    }
}

double kernel_head(const struct kernel *kernel, int pipe, int node)
{
    int64_t i = kernel->pipes[pipe].first + node;
    return 0.5 * (row_right(kernel)[i] + row_left(kernel)[i]);
}

static double loss_of(const struct kernel *kernel, int pipe, int node)
{
    int64_t i = kernel->pipes[pipe].first + node;
    return loss_at(&kernel->pipes[pipe].loss, row_right(kernel)[i] - row_left(kernel)[i]).head;
}

double kernel_flow(const struct kernel *kernel, int pipe, int node)
{
    int64_t i = kernel->pipes[pipe].first + node;
    double difference = row_right(kernel)[i] - row_left(kernel)[i];
    return (difference - loss_of(kernel, pipe, node)) / (2.0 * kernel->pipes[pipe].impedance);
}

double kernel_stored(const struct kernel *kernel, int pipe, double step)
{
    const struct kernel_pipe *here = &kernel->pipes[pipe];
    int last = here->reaches;
    double sum = 0.5 * (kernel_head(kernel, pipe, 0) + kernel_head(kernel, pipe, last));
    for (int i = 1; i < last; i++) {
        sum += kernel_head(kernel, pipe, i);
    }
    /* End correction of the trapezoidal rule as the scheme has it: friction's share of the slope of
     * head at the ends. With it the balance closes to round-off. */
    sum -= 0.25 * (loss_of(kernel, pipe, 0) - loss_of(kernel, pipe, last));
    return sum * step / here->impedance; /* g A/a^2 dx = dt/B */
}
