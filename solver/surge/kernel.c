#include "solver/surge/kernel.h"

#include "solver/surge/ahead.h"
#include "solver/surge/boiling.h"
#include "solver/surge/fold.h"
#include "solver/surge/limits.h"
#include "solver/surge/memory.h"
#include "solver/surge/sweep.h"
#include "solver/workers.h"

#include <math.h>
#include <string.h>

/* Moving the row back costs one pass; it is done at most every this many steps. */
enum { LEAST_SLACK = 1024, SLACK_SHARE = 16 };

/* Fewest nodes of all pipes that several threads share, and of those that one step has to take. */
enum { SHARED_NODES = 50000, SHARED_STEP = 50000 };

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
        kernel->pipes[i].highest_vapour = -INFINITY;
        limits_forget(&kernel->pipes[i]);
        kernel->node_count += reaches[i] + 1;
        if (!fold_init(&kernel->pipes[i], arena, failure)) {
            return false;
        }
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
    kernel->head = arena_take(arena, nodes, sizeof *kernel->head);
    kernel->cavities = arena_take(arena, nodes, sizeof *kernel->cavities);
    if (kernel->right == NULL || kernel->left == NULL || kernel->highest == NULL ||
        kernel->lowest == NULL || kernel->vapour == NULL || kernel->volume == NULL ||
        kernel->cavities == NULL || kernel->head == NULL) {
        return fail_memory(failure, "surge grid");
    }
    for (int64_t i = 0; i < kernel->node_count; i++) {
        kernel->vapour[i] = -(double)INFINITY;
    }
    kernel_share(kernel, kernel->node_count >= SHARED_NODES ? workers_free() : 1);
    return true;
}

void kernel_share(struct kernel *kernel, int workers)
{
    kernel->workers = workers;
}

void kernel_set_vapour(struct kernel *kernel, int pipe, const double vapour[])
{
    struct kernel_pipe *here = &kernel->pipes[pipe];
    here->highest_vapour = -INFINITY;
    for (int i = 0; i <= here->reaches; i++) {
        kernel->vapour[here->first + i] = vapour[i];
        here->highest_vapour = fmax(here->highest_vapour, vapour[i]);
    }
}

void kernel_set_gas(struct kernel *kernel, int pipe, double gas)
{
    struct kernel_pipe *here = &kernel->pipes[pipe];
    here->gas = gas;
    for (int i = 0; i <= here->reaches; i++) {
        int64_t node = here->first + i;
        double head = memory_head(here, i, row_mean(kernel, node));
        kernel->head[node] = head;
        kernel->volume[node] = gas / fmax(head - kernel->vapour[node], boiling_margin);
    }
}

void kernel_start(struct kernel *kernel, int pipe, double head, double flow)
{
    const struct kernel_pipe *here = &kernel->pipes[pipe];
    double *right = row_right(kernel) + here->first;
    double *left = row_left(kernel) + here->first;
    /* 2 B' Q + F = d: a contraction in d, since G' < 1 and G/d is small at any sensible reach. */
    double driven = 2.0 * memory_impedance(here) * flow;
    double rest = driven;
    struct drop drop = loss_at(&here->loss, rest);
    for (int i = 0; i < 200; i++) {
        double next = rest - (rest - drop.head - driven) / (1.0 - drop.slope);
        if (next == rest) {
            break;
        }
        rest = next;
        drop = loss_at(&here->loss, rest);
    }
    const double loss = drop.head;
    double difference = 2.0 * here->impedance * flow + loss;
    for (int i = 0; i <= here->reaches; i++) {
        double node_head = head - loss * i;
        right[i] = node_head + 0.5 * difference;
        left[i] = node_head - 0.5 * difference;
        kernel->highest[here->first + i] = node_head;
        kernel->lowest[here->first + i] = node_head;
    }
    if (here->memory != NULL) {
        memory_start(here->memory, here->reaches + 1, head, loss, flow);
    }
}

/* The heads at the ends of a pipe with gas, which hold none of it themselves. */
static void note_ends(struct kernel *kernel, const struct kernel_pipe *pipe)
{
    int64_t last = pipe->first + pipe->reaches;
    kernel->head[pipe->first] = memory_head(pipe, 0, row_mean(kernel, pipe->first));
    kernel->head[last] = memory_head(pipe, pipe->reaches, row_mean(kernel, last));
}

static void sweep_stretch(struct kernel *kernel, struct kernel_pipe *pipe, int64_t from, int count,
                          struct bounds between)
{
    int64_t node = pipe->first + from;
    if (pipe->memory != NULL) {
        memory_step(kernel, pipe, from, count);
        return;
    }
    const struct sweep sweep = {
        .count = count,
        .right = row_right(kernel) + node,
        .left = row_left(kernel) + node,
        .head = pipe->gas > 0.0 ? kernel->head + node : NULL,
        .highest = kernel->highest + node,
        .lowest = kernel->lowest + node,
        .least = between.least,
        .most = between.most,
        .near = &pipe->near,
    };
    sweep_take(&sweep, &pipe->loss);
}

/* Notes the extremes and takes friction in a pipe. */
static void sweep_pipe(struct kernel *kernel, struct kernel_pipe *pipe)
{
    if (pipe->gas > 0.0) {
        const struct bounds unknown = {-INFINITY, INFINITY};
        note_ends(kernel, pipe);
        sweep_stretch(kernel, pipe, 0, pipe->reaches + 1, unknown);
        return;
    }
    int end = ahead_end(kernel, pipe);
    if (end < 0 || pipe->is_unbounded) {
        limits_renew(kernel, pipe);
    }
    const struct bounds between = limits_differences(pipe);
    if (fold_is_on(pipe)) {
        fold_sweep(pipe, end, between);
    } else if (end < 0) {
        sweep_stretch(kernel, pipe, 0, pipe->reaches + 1, between);
    } else {
        sweep_stretch(kernel, pipe, 0, end, between);
        sweep_stretch(kernel, pipe, pipe->reaches + 1 - end, end, between);
    }
    limits_loosen(pipe, 1);
    if (end < 0 && pipe->lowest_next < pipe->highest_vapour) {
        limits_find_moving(kernel, pipe);
    }
}

/* Whether this step has nodes enough for several threads: middles that are ahead have none. */
static bool is_shared(const struct kernel *kernel)
{
    int64_t due = 0;
    for (int i = 0; kernel->workers > 1 && i < kernel->pipe_count; i++) {
        const int end = ahead_end(kernel, &kernel->pipes[i]);
        due += end < 0 ? kernel->pipes[i].reaches + 1 : 2 * end;
    }
    return due >= SHARED_STEP;
}

/* Notes the extremes and takes friction, all pipes. */
static void sweep_pipes(struct kernel *kernel)
{
    if (kernel->pipe_count > 1 && is_shared(kernel)) {
#pragma omp parallel for schedule(static) num_threads(kernel->workers)
        for (int i = 0; i < kernel->pipe_count; i++) {
            sweep_pipe(kernel, &kernel->pipes[i]);
        }
        return;
    }
    for (int i = 0; i < kernel->pipe_count; i++) {
        sweep_pipe(kernel, &kernel->pipes[i]);
    }
}

static bool has_gas(const struct kernel_pipe *pipe, int64_t node)
{
    return pipe->gas > 0.0 && node > 0 && node < pipe->reaches;
}

/* At a cavity the mean of the two values is not the head, whatever a sweep notes there. */
static void save_extremes(struct kernel *kernel)
{
    for (int64_t i = 0; i < kernel->cavity_count; i++) {
        struct kernel_cavity *cavity = &kernel->cavities[i];
        const struct kernel_pipe *pipe = &kernel->pipes[cavity->pipe];
        const int64_t node = cavity->node - pipe->first;
        cavity->highest = fmax(*node_highest(kernel, pipe, node), cavity->head);
        cavity->lowest = fmin(*node_lowest(kernel, pipe, node), cavity->head);
    }
}

static void restore_extremes(struct kernel *kernel)
{
    for (int64_t i = 0; i < kernel->cavity_count; i++) {
        const struct kernel_cavity *cavity = &kernel->cavities[i];
        const struct kernel_pipe *pipe = &kernel->pipes[cavity->pipe];
        *node_highest(kernel, pipe, cavity->node - pipe->first) = cavity->highest;
        *node_lowest(kernel, pipe, cavity->node - pipe->first) = cavity->lowest;
    }
}

static void note_nodes(struct kernel *kernel, const struct kernel_pipe *pipe, int64_t from,
                       int64_t count)
{
    for (int64_t j = from; j < from + count; j++) {
        const double head = has_gas(pipe, j) ? kernel->head[pipe->first + j]
                                             : memory_head(pipe, j, node_mean(kernel, pipe, j));
        double *highest = node_highest(kernel, pipe, j);
        double *lowest = node_lowest(kernel, pipe, j);
        *highest = fmax(*highest, head);
        *lowest = fmin(*lowest, head);
    }
}

void kernel_note_extremes(struct kernel *kernel)
{
    save_extremes(kernel);
    for (int i = 0; i < kernel->pipe_count; i++) {
        const struct kernel_pipe *pipe = &kernel->pipes[i];
        int end = ahead_end(kernel, pipe);
        if (fold_is_on(pipe)) {
            fold_note(pipe, end);
        } else if (end < 0) {
            note_nodes(kernel, pipe, 0, pipe->reaches + 1);
        } else {
            note_nodes(kernel, pipe, 0, end);
            note_nodes(kernel, pipe, pipe->reaches + 1 - end, end);
        }
    }
    restore_extremes(kernel);
    for (int i = 0; i < kernel->pipe_count; i++) {
        fold_undo(kernel, &kernel->pipes[i]);
    }
}

/* The row has room to move by one reach. */
static void make_room(struct kernel *kernel)
{
    if (kernel->shift == kernel->slack) {
        size_t bytes = (size_t)kernel->node_count * sizeof *kernel->right;
        memmove(kernel->right + kernel->slack, row_right(kernel), bytes);
        memmove(kernel->left, row_left(kernel), bytes);
        kernel->shift = 0;
    }
}

/* Cavities of a pipe after the waves have moved; those of a middle that is ahead are not due. */
static void boil(struct kernel *kernel, struct kernel_pipe *pipe)
{
    int64_t inside = pipe->reaches - 1; /* the ends belong to points */
    int end = ahead_end(kernel, pipe);
    if (end < 0) {
        fold_undo(kernel, pipe);
    }
    bool had_cavities = pipe->cavity_count > 0;
    pipe->cavity_count = 0;
    if (end < 0) {
        boiling_step(kernel, pipe, 1, inside, had_cavities);
    } else {
        boiling_step(kernel, pipe, 1, end, had_cavities);
        boiling_step(kernel, pipe, inside + 1 - end, end, had_cavities);
    }
    pipe->is_unbounded = pipe->is_unbounded || had_cavities || pipe->cavity_count > 0;
}

void kernel_promise(struct kernel *kernel, int steps)
{
    kernel->promised = steps;
}

void kernel_step(struct kernel *kernel)
{
    make_room(kernel);
    for (int i = 0; i < kernel->pipe_count; i++) {
        fold_begin(kernel, &kernel->pipes[i]);
    }
    ahead_begin(kernel);
    save_extremes(kernel);
    sweep_pipes(kernel);
    restore_extremes(kernel);
    kernel->shift++;
    kernel->promised -= kernel->promised > 0;
    kernel->cavity_count = 0;
    for (int i = 0; i < kernel->pipe_count; i++) {
        struct kernel_pipe *pipe = &kernel->pipes[i];
        if (fold_is_on(pipe)) {
            fold_move(pipe);
        }
        if (pipe->gas > 0.0 || pipe->cavity_count > 0 || pipe->lowest_next < pipe->highest_vapour) {
            boil(kernel, pipe);
        }
    }
    kernel->ahead -= kernel->ahead > 0;
    for (int i = 0; kernel->promised == 0 && i < kernel->pipe_count; i++) {
        if (ahead_end(kernel, &kernel->pipes[i]) < 0) {
            fold_undo(kernel, &kernel->pipes[i]);
        }
    }
}

double kernel_arrived(const struct kernel *kernel, int pipe, enum kernel_side side)
{
    const struct kernel_pipe *here = &kernel->pipes[pipe];
    return side == KERNEL_START ? *node_left(kernel, here, 0)
                                : *node_right(kernel, here, here->reaches);
}

struct inflow kernel_inflow(const struct kernel *kernel, int pipe, enum kernel_side side,
                            double head)
{
    const struct kernel_pipe *here = &kernel->pipes[pipe];
    int node = side == KERNEL_START ? 0 : here->reaches;
    double sign = side == KERNEL_START ? -1.0 : 1.0;
    double mean = memory_mean(here, node, head);
    double difference = sign * 2.0 * (kernel_arrived(kernel, pipe, side) - mean);
    double slope = 0.0;
    double flow = sign * memory_flow(here, node, difference, &slope);
    double softness = here->memory == NULL ? 0.0 : here->memory->wall.total;
    return (struct inflow){flow, 2.0 * slope * (1.0 + softness)};
}

void kernel_enter(struct kernel *kernel, int pipe, enum kernel_side side, double head)
{
    struct kernel_pipe *here = &kernel->pipes[pipe];
    const int node = side == KERNEL_START ? 0 : here->reaches;
    const double mean = memory_mean(here, node, head);
    double *right = node_right(kernel, here, node);
    double *left = node_left(kernel, here, node);
    if (side == KERNEL_START) {
        *right = 2.0 * mean - *left;
        limits_enter_right(here, *right);
    } else {
        *left = 2.0 * mean - *right;
        limits_enter_left(here, *left);
    }
}

double kernel_head(const struct kernel *kernel, int pipe, int node)
{
    int64_t i = kernel->pipes[pipe].first + node;
    if (has_gas(&kernel->pipes[pipe], node)) {
        return kernel->head[i];
    }
    for (int64_t j = 0; j < kernel->cavity_count; j++) {
        if (kernel->cavities[j].node == i) {
            return kernel->cavities[j].head;
        }
    }
    return memory_head(&kernel->pipes[pipe], node, node_mean(kernel, &kernel->pipes[pipe], node));
}

double kernel_flow(const struct kernel *kernel, int pipe, int node)
{
    const struct kernel_pipe *here = &kernel->pipes[pipe];
    return memory_flow(here, node, node_difference(kernel, here, node), NULL);
}

/* All that friction takes in one reach at the flow of a node, m. */
static double loss_of(const struct kernel *kernel, const struct kernel_pipe *pipe, int node)
{
    double difference = node_difference(kernel, pipe, node);
    return difference - 2.0 * pipe->impedance * memory_flow(pipe, node, difference, NULL);
}

/* Head that stands for what a node stores: its own and what its wall has given way by. */
static double stored_head(const struct kernel *kernel, const struct kernel_pipe *pipe, int node)
{
    return node_mean(kernel, pipe, node) + memory_grown(pipe, node);
}

double kernel_stored(const struct kernel *kernel, int pipe)
{
    const struct kernel_pipe *here = &kernel->pipes[pipe];
    int last = here->reaches;
    double sum = 0.5 * (stored_head(kernel, here, 0) + stored_head(kernel, here, last));
    double cavities = 0.0;
    for (int i = 1; i < last; i++) {
        sum += stored_head(kernel, here, i);
        cavities += kernel->volume[here->first + i];
    }
    /* End correction of the trapezoidal rule as the scheme has it: friction's share of the slope of
     * head at the ends. With it the balance closes to round-off. */
    sum -= 0.25 * (loss_of(kernel, here, 0) - loss_of(kernel, here, last));
    return sum * kernel->step / here->impedance - cavities; /* g A/a^2 dx = dt/B */
}
