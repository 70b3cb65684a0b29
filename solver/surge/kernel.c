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
    kernel->vapour = arena_take(arena, nodes, sizeof *kernel->vapour);
    kernel->volume = arena_take(arena, nodes, sizeof *kernel->volume);
    kernel->cavities = arena_take(arena, nodes, sizeof *kernel->cavities);
    if (kernel->right == NULL || kernel->left == NULL || kernel->highest == NULL ||
        kernel->lowest == NULL || kernel->vapour == NULL || kernel->volume == NULL ||
        kernel->cavities == NULL) {
        return fail_memory(failure, "surge grid");
    }
    for (int64_t i = 0; i < kernel->node_count; i++) {
        kernel->vapour[i] = -(double)INFINITY;
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
    /* At a cavity the mean of the two waves is not the head: put right after the sweep. */
    for (int64_t i = 0; i < kernel->cavity_count; i++) {
        struct kernel_cavity *cavity = &kernel->cavities[i];
        cavity->highest = fmax(kernel->highest[cavity->node], cavity->head);
        cavity->lowest = fmin(kernel->lowest[cavity->node], cavity->head);
    }
    note_extremes(kernel->node_count, row_right(kernel), row_left(kernel), kernel->highest,
                  kernel->lowest);
    for (int64_t i = 0; i < kernel->cavity_count; i++) {
        const struct kernel_cavity *cavity = &kernel->cavities[i];
        kernel->highest[cavity->node] = cavity->highest;
        kernel->lowest[cavity->node] = cavity->lowest;
    }
}

/* Nodes whose two waves meet below the head at which water boils. */
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
static void step_cavity(struct kernel *kernel, struct kernel_pipe *pipe, int64_t node)
{
    double *right = &row_right(kernel)[node];
    double *left = &row_left(kernel)[node];
    double mean = 0.5 * (*right + *left);
    double *volume = &kernel->volume[node];
    double vapour = kernel->vapour[node];
    if (*volume <= 0.0 && mean >= vapour) {
        return;
    }
    /* The head if what is left of the cavity is filled in this step. */
    double head = mean - 0.5 * pipe->impedance * *volume / kernel->step;
    if (head >= vapour) {
        *volume = 0.0;
    } else {
        *volume += kernel->step * 2.0 * (vapour - mean) / pipe->impedance;
        head = vapour;
        pipe->cavity_count++;
    }
    double arrived = *right;
    *right = 2.0 * head - *left;
    *left = 2.0 * head - arrived;
    kernel->cavities[kernel->cavity_count++] = (struct kernel_cavity){.node = node, .head = head};
}

static void step_cavities(struct kernel *kernel)
{
    kernel->cavity_count = 0;
    for (int i = 0; i < kernel->pipe_count; i++) {
        struct kernel_pipe *pipe = &kernel->pipes[i];
        int64_t first = pipe->first + 1; /* the ends belong to points */
        int64_t below = count_below(pipe->reaches - 1, row_right(kernel) + first,
                                    row_left(kernel) + first, kernel->vapour + first);
        if (below == 0 && pipe->cavity_count == 0) {
            continue;
        }
        pipe->cavity_count = 0;
        for (int j = 0; j < pipe->reaches - 1; j++) {
            step_cavity(kernel, pipe, first + j);
        }
    }
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
    step_cavities(kernel);
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

/* Mean of the two waves that leave a node: its head, but where a cavity is. */
static double mean_head(const struct kernel *kernel, int64_t node)
{
    return 0.5 * (row_right(kernel)[node] + row_left(kernel)[node]);
}

double kernel_head(const struct kernel *kernel, int pipe, int node)
{
    int64_t i = kernel->pipes[pipe].first + node;
    for (int64_t j = 0; j < kernel->cavity_count; j++) {
        if (kernel->cavities[j].node == i) {
            return kernel->cavities[j].head;
        }
    }
    return mean_head(kernel, i);
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

double kernel_stored(const struct kernel *kernel, int pipe)
{
    const struct kernel_pipe *here = &kernel->pipes[pipe];
    int last = here->reaches;
    double sum = 0.5 * (mean_head(kernel, here->first) + mean_head(kernel, here->first + last));
    double cavities = 0.0;
    for (int i = 1; i < last; i++) {
        sum += mean_head(kernel, here->first + i);
        cavities += kernel->volume[here->first + i];
    }
    /* End correction of the trapezoidal rule as the scheme has it: friction's share of the slope of
     * head at the ends. With it the balance closes to round-off. */
    sum -= 0.25 * (loss_of(kernel, pipe, 0) - loss_of(kernel, pipe, last));
    return sum * kernel->step / here->impedance - cavities; /* g A/a^2 dx = dt/B */
}
