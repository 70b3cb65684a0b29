#include "solver/surge/memory.h"

#include "solver/surge/creep.h"
#include "solver/surge/unsteady.h"

#include <math.h>
#include <stddef.h>

/* Steps after which memories are looked at anew. */
enum { LOOK_EVERY = 32 };

/* From one array of all nodes to the next: whole lines of the caches, which is where vectors begin;
 * and of long pipes so many that stretches of all arrays share the places of the nearest cache, of
 * which those a page apart have the same. */
static int64_t stride_of(int64_t nodes)
{
    enum { LINE = 8, PAGE = 64, APART = 8 };
    int64_t lines = (nodes + LINE - 1) / LINE;
    while (lines > PAGE && lines % PAGE != APART) {
        lines++;
    }
    return lines * LINE;
}

bool memory_new(struct memory **memory, const struct memory_wishes *wishes, struct arena *arena,
                struct failure *failure)
{
    struct fading friction = {.count = 0};
    struct fading wall = {.count = 0};
    if (wishes->friction) {
        friction = unsteady_of_pipe(wishes->pipe, wishes->reaches, wishes->water,
                                    wishes->steady_flow, wishes->step);
    }
    if (wishes->wall && creep_is_known(wishes->pipe)) {
        wall = creep_of_pipe(wishes->pipe, wishes->water, wishes->wave_speed, wishes->step,
                             wishes->step);
    }
    *memory = NULL;
    if (friction.count + wall.count == 0) {
        return true;
    }
    const int64_t stride = stride_of((int64_t)wishes->reaches + 1);
    const int arrays =
        wall.count + (wall.count > 0 ? 1 : 0) + friction.count + (friction.count > 0 ? 1 : 0);
    struct memory *made = arena_take(arena, 1, sizeof *made);
    double *room = arena_take(arena, (size_t)arrays * (size_t)stride, sizeof *room);
    if (made == NULL || room == NULL) {
        return fail_memory(failure, "what pipes remember");
    }
    double *flows = room + (wall.count > 0 ? wall.count + 1 : 0) * stride;
    *made = (struct memory){
        .friction = friction,
        .wall = wall,
        .stiffness = 1.0 / (1.0 + wall.total),
        .stride = stride,
        .heads = room,
        .strain = room + wall.count * stride,
        .flows = flows,
        .lagging = flows + friction.count * stride,
    };
    *memory = made;
    return true;
}

/* Notes a value that has always been so at a node. */
static double fill(const struct fading *fading, double value, double *term, int64_t stride)
{
    double each[FADING_TERMS];
    const double sum = fading_start(fading, value, each);
    for (int k = 0; k < fading->count; k++) {
        term[k * stride] = each[k];
    }
    return sum;
}

static double level_at(const struct memory *memory, int64_t node)
{
    return memory->head - memory->loss * (double)node;
}

void memory_start(struct memory *memory, int nodes, double head, double loss, double flow)
{
    memory->head = head;
    memory->loss = loss;
    const double last = level_at(memory, nodes - 1);
    memory->flow = (struct bounds){flow, flow};
    memory->kept = (struct bounds){fmin(head, last), fmax(head, last)};
    for (int i = 0; i < nodes; i++) {
        const double strain =
            fill(&memory->wall, level_at(memory, i), memory->heads + i, memory->stride);
        const double sum = fill(&memory->friction, flow, memory->flows + i, memory->stride);
        if (memory->friction.count > 0) {
            memory->lagging[i] = sum;
        }
        if (memory->wall.count > 0) {
            memory->strain[i] = strain;
        }
    }
}

double memory_impedance(const struct kernel_pipe *pipe)
{
    return pipe->impedance + (pipe->memory == NULL ? 0.0 : 0.5 * pipe->memory->friction.total);
}

static bool lags(const struct kernel_pipe *pipe)
{
    return pipe->memory != NULL && pipe->memory->friction.count > 0;
}

double memory_flow(const struct kernel_pipe *pipe, int64_t node, double difference, double *slope)
{
    const double share = 0.5 / memory_impedance(pipe);
    const double rest = lags(pipe) ? difference + pipe->memory->lagging[node] : difference;
    const struct drop loss = loss_at(&pipe->loss, rest);
    if (slope != NULL) {
        *slope = (1.0 - loss.slope) * share;
    }
    return (rest - loss.head) * share;
}

double memory_driven_share(const struct kernel_pipe *pipe)
{
    return pipe->impedance / memory_impedance(pipe);
}

double memory_driven(const struct kernel_pipe *pipe, double rest)
{
    const double share = memory_driven_share(pipe);
    const double size = fabs(rest);
    struct loss_interval interval;
    if (pipe->loss.kind == LOSS_TABLE && loss_interval_at(&pipe->loss, size, &interval)) {
        const struct loss_interval driven = loss_driven_in(&interval, share);
        return copysign(loss_in_interval(&driven, size), rest);
    }
    return (rest - loss_at(&pipe->loss, rest).head) * share;
}

bool memory_gives(const struct kernel_pipe *pipe)
{
    return pipe->memory != NULL && pipe->memory->wall.count > 0;
}

double memory_mean(const struct kernel_pipe *pipe, int64_t node, double head)
{
    const struct memory *memory = pipe->memory;
    return memory_gives(pipe) ? head + (memory->wall.total * head - memory->strain[node]) : head;
}

double memory_head(const struct kernel_pipe *pipe, int64_t node, double mean)
{
    const struct memory *memory = pipe->memory;
    return memory_gives(pipe) ? (mean + memory->strain[node]) * memory->stiffness : mean;
}

/* What is given in a step is 2 (total H - sum of terms); with term' = fade term + push H the sum of
 * it over all steps is 2/(1 - fade) of what each term has grown by, whatever the heads were. */
double memory_grown(const struct kernel_pipe *pipe, int64_t node)
{
    const struct memory *memory = pipe->memory;
    double sum = 0.0;
    if (!memory_gives(pipe)) {
        return sum;
    }
    const struct fading *wall = &memory->wall;
    for (int k = 0; k < wall->count; k++) {
        const double term = memory->heads[k * memory->stride + node];
        const double grown = term - wall->share[k] * level_at(memory, node);
        sum += 2.0 * grown * wall->share[k] / wall->push[k];
    }
    return sum;
}

/* --- limits --- */

/* Between which values all lie as the terms keep them. */
static struct bounds look_at(const struct fading *fading, int nodes, const double *term,
                             int64_t stride)
{
    struct bounds all = {(double)INFINITY, -(double)INFINITY};
    for (int k = 0; k < fading->count; k++) {
        const struct bounds here = sweep_bounds(nodes, term + k * stride);
        all.least = fmin(all.least, here.least / fading->share[k]);
        all.most = fmax(all.most, here.most / fading->share[k]);
    }
    return all;
}

void memory_look(const struct kernel_pipe *pipe)
{
    struct memory *memory = pipe->memory;
    const int nodes = pipe->reaches + 1;
    if (memory == NULL || memory->age < LOOK_EVERY) {
        return;
    }
    memory->flow = look_at(&memory->friction, nodes, memory->flows, memory->stride);
    memory->kept = look_at(&memory->wall, nodes, memory->heads, memory->stride);
    memory->age = 0;
}

static void widen(struct bounds *bounds, double least, double most)
{
    bounds->least = fmin(bounds->least, least);
    bounds->most = fmax(bounds->most, most);
}

/* R is total times a mean of the flows as the terms keep them, so p - m + R, and with it the flow,
 * lies between what the least and the most of them give; friction takes G + total Q - R. */
double memory_most_loss(const struct kernel_pipe *pipe, double least, double most)
{
    if (!lags(pipe)) {
        return loss_at(&pipe->loss, fmax(most, -least)).head;
    }
    struct memory *memory = pipe->memory;
    const double total = memory->friction.total;
    const double per_flow = 0.5 / memory_impedance(pipe);
    const double low = least + total * memory->flow.least;
    const double high = most + total * memory->flow.most;
    const double law_low = loss_at(&pipe->loss, low).head;
    const double law_high = loss_at(&pipe->loss, high).head;
    const double flow_low = (low - law_low) * per_flow;
    const double flow_high = (high - law_high) * per_flow;
    const double lagging =
        total * fmax(flow_high - memory->flow.least, memory->flow.most - flow_low);
    widen(&memory->flow, flow_low, flow_high);
    return fmax(-law_low, law_high) + fmax(lagging, 0.0);
}

/* H is a mean of M and of the heads as the terms keep them, and what is given is 2 total times the
 * difference between H and a mean of the latter. Where water boils H is above what M says, but not
 * above boiling. */
double memory_most_given(const struct kernel_pipe *pipe)
{
    struct memory *memory = pipe->memory;
    if (!memory_gives(pipe)) {
        return 0.0;
    }
    const double total = memory->wall.total;
    const double lowest =
        (0.5 * (pipe->least_right + pipe->least_left) + total * memory->kept.least) *
        memory->stiffness;
    const double highest =
        (0.5 * (pipe->most_right + pipe->most_left) + total * memory->kept.most) *
        memory->stiffness;
    const double above = fmax(highest, pipe->highest_vapour);
    const double most = fmax(above - memory->kept.least, memory->kept.most - lowest);
    widen(&memory->kept, lowest, above);
    return 2.0 * total * most;
}
