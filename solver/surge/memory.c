#include "solver/surge/memory.h"

#include "models/each_width.h"
#include "solver/surge/sweep.h"

#include <math.h>
#include <stddef.h>

/* Nodes worked on at a time: their numbers stay in the nearest cache. */
enum { BLOCK = 128 };

/* Terms of the memory are taken by twos. */
_Static_assert(UNSTEADY_TERMS % 2 == 0, "an even number of terms");

static bool take_friction(struct memory *memory, const struct memory_wishes *wishes,
                          struct arena *arena, struct failure *failure)
{
    memory->friction = unsteady_of_pipe(wishes->pipe, wishes->reaches, wishes->water,
                                        wishes->steady_flow, wishes->step);
    size_t nodes = (size_t)wishes->reaches + 1;
    memory->lagging = arena_take(arena, nodes, sizeof(double));
    memory->flow = arena_take(arena, nodes, sizeof(double));
    memory->term = arena_take(arena, UNSTEADY_TERMS * nodes, sizeof(double));
    return (memory->lagging != NULL && memory->flow != NULL && memory->term != NULL) ||
           fail_memory(failure, "unsteady friction");
}

static bool take_wall(struct memory *memory, const struct memory_wishes *wishes,
                      struct arena *arena, struct failure *failure)
{
    const struct pipe *pipe = wishes->pipe;
    double gravity = wishes->water->gravity;
    memory->wall = creep_of(pipe->material, wishes->step);
    memory->stress = creep_stress(pipe, wishes->water);
    memory->give = wishes->wave_speed * wishes->wave_speed * wishes->step / gravity;
    memory->softness = memory->give * memory->wall.rate * memory->stress;
    size_t nodes = (size_t)wishes->reaches + 1;
    memory->strain = arena_take(arena, nodes, sizeof(double));
    memory->level = arena_take(arena, nodes, sizeof(double));
    memory->grown = arena_take(arena, nodes, sizeof(double));
    memory->part = arena_take(arena, (size_t)memory->wall.count * nodes, sizeof(double));
    return (memory->strain != NULL && memory->level != NULL && memory->grown != NULL &&
            memory->part != NULL) ||
           fail_memory(failure, "creep of walls");
}

bool memory_new(struct memory **memory, const struct memory_wishes *wishes, struct arena *arena,
                struct failure *failure)
{
    const bool has_wall = wishes->wall && creep_is_known(wishes->pipe);
    *memory = NULL;
    if (!wishes->friction && !has_wall) {
        return true;
    }
    struct memory *made = arena_take(arena, 1, sizeof *made);
    if (made == NULL) {
        return fail_memory(failure, "surge pipes");
    }
    *memory = made;
    return (!wishes->friction || take_friction(made, wishes, arena, failure)) &&
           (!has_wall || take_wall(made, wishes, arena, failure));
}

void memory_start(const struct memory *memory, int nodes, double head, double loss, double flow)
{
    for (int i = 0; i < nodes; i++) {
        if (memory->lagging != NULL) {
            memory->flow[i] = flow;
            memory->lagging[i] = -memory->friction.lag * flow;
        }
        if (memory->strain != NULL) {
            memory->level[i] = head - loss * i;
            memory->strain[i] = memory->softness * memory->level[i];
        }
    }
}

double memory_impedance(const struct kernel_pipe *pipe)
{
    return pipe->impedance + (pipe->memory == NULL ? 0.0 : 0.5 * pipe->memory->friction.lag);
}

double memory_flow(const struct kernel_pipe *pipe, int64_t node, double difference, double *slope)
{
    const struct memory *memory = pipe->memory;
    double impedance = memory_impedance(pipe);
    bool is_lagging = memory != NULL && memory->lagging != NULL;
    double rest = is_lagging ? difference - memory->lagging[node] : difference;
    struct drop loss = loss_at(&pipe->loss, rest);
    if (slope != NULL) {
        *slope = (1.0 - loss.slope) / (2.0 * impedance);
    }
    return (rest - loss.head) / (2.0 * impedance);
}

double memory_mean(const struct kernel_pipe *pipe, int64_t node, double head)
{
    const struct memory *memory = pipe->memory;
    bool is_soft = memory != NULL && memory->strain != NULL;
    return is_soft ? head + (memory->softness * head - memory->strain[node]) : head;
}

double memory_head(const struct kernel_pipe *pipe, int64_t node, double mean)
{
    const struct memory *memory = pipe->memory;
    bool is_soft = memory != NULL && memory->strain != NULL;
    return is_soft ? (mean + memory->strain[node]) / (1.0 + memory->softness) : mean;
}

/* Two terms of the memory: each fades, takes the change of flow, and adds to what lags. */
EACH_WIDTH
static void fade_pair(int count, const double fade[2], const double gain[2],
                      const double *restrict change, double *restrict first,
                      double *restrict second, double *restrict lagging)
{
    const double fade_first = fade[0];
    const double fade_second = fade[1];
    const double gain_first = gain[0];
    const double gain_second = gain[1];
    for (int i = 0; i < count; i++) {
        double next_first = fade_first * first[i] + gain_first * change[i];
        double next_second = fade_second * second[i] + gain_second * change[i];
        first[i] = next_first;
        second[i] = next_second;
        lagging[i] = lagging[i] + fade_first * next_first + fade_second * next_second;
    }
}

EACH_WIDTH
static void subtract(int count, const double *restrict from, const double *restrict what,
                     double *restrict rest)
{
    for (int i = 0; i < count; i++) {
        rest[i] = from[i] - what[i];
    }
}

struct flow_rates {
    double per_flow; /* 1/(2 B') */
    double twice_impedance;
    double lag;
};

/* Flows from the differences less what lags (`rest`) and the losses; `loss` then holds all that
 * friction takes, `lagging` what the present flow alone says of it. */
EACH_WIDTH
static void change_flows(const struct flow_rates *rates, int count,
                         const double *restrict difference, const double *restrict rest,
                         double *restrict loss, double *restrict flow, double *restrict change,
                         double *restrict lagging)
{
    const struct flow_rates here = *rates;
    for (int i = 0; i < count; i++) {
        double next = (rest[i] - loss[i]) * here.per_flow;
        loss[i] = difference[i] - here.twice_impedance * next;
        change[i] = next - flow[i];
        flow[i] = next;
        lagging[i] = -here.lag * next;
    }
}

/* Friction of a block of nodes: `loss` gets what the steady law and the memory take together. */
static void lose_friction(const struct kernel_pipe *pipe, int64_t node, int count,
                          const double difference[], double loss[])
{
    const struct memory *memory = pipe->memory;
    if (memory->lagging == NULL) {
        loss_row(&pipe->loss, count, difference, loss);
        return;
    }
    double *lagging = memory->lagging + node;
    double rest[BLOCK];
    double change[BLOCK];
    subtract(count, difference, lagging, rest);
    loss_row(&pipe->loss, count, rest, loss);
    const struct flow_rates rates = {0.5 / memory_impedance(pipe), 2.0 * pipe->impedance,
                                     memory->friction.lag};
    change_flows(&rates, count, difference, rest, loss, memory->flow + node, change, lagging);
    size_t stride = (size_t)pipe->reaches + 1;
    for (int k = 0; k < UNSTEADY_TERMS; k += 2) {
        double *term = memory->term + (size_t)k * stride + node;
        fade_pair(count, &memory->friction.fade[k], &memory->friction.gain[k], change, term,
                  term + stride, lagging);
    }
}

/* One part of the wall's creep under a stress, with its share of the strain. */
EACH_WIDTH
static void creep_part(int count, double near, double far, double fade, double weight,
                       const double *restrict stress, double *restrict part,
                       double *restrict strain)
{
    for (int i = 0; i < count; i++) {
        double next = far * stress[i] + fade * (near * stress[i] + part[i]);
        part[i] = next;
        strain[i] += weight * next;
    }
}

EACH_WIDTH
static void begin_creep(int count, double rate, double softness, const double *restrict head,
                        const double *restrict level, double *restrict stress,
                        double *restrict strain)
{
    for (int i = 0; i < count; i++) {
        stress[i] = rate * (head[i] - level[i]);
        strain[i] = softness * level[i];
    }
}

/* The wall of a block of nodes takes these heads and remembers. */
static void creep_on(const struct kernel_pipe *pipe, int64_t node, int count, const double head[])
{
    const struct memory *memory = pipe->memory;
    const struct creep *wall = &memory->wall;
    double *strain = memory->strain + node;
    const double *level = memory->level + node;
    double stress[BLOCK];
    begin_creep(count, memory->stress, memory->softness, head, level, stress, strain);
    for (int k = 0; k < wall->count; k++) {
        double *part = memory->part + (size_t)k * ((size_t)pipe->reaches + 1) + node;
        creep_part(count, wall->near[k], wall->far[k], wall->fade[k], memory->give * wall->often[k],
                   stress, part, strain);
    }
}

/* Puts the true heads and means of nodes with gas or cavities in place of what their values would
 * say. */
static void mend_cavities(const struct kernel *kernel, const struct kernel_pipe *pipe, int64_t node,
                          int count, double mean[], double head[])
{
    for (int i = 0; i < count && pipe->gas > 0.0; i++) {
        head[i] = kernel->head[pipe->first + node + i];
        mean[i] = memory_mean(pipe, node + i, head[i]);
    }
    for (int64_t j = 0; j < kernel->cavity_count; j++) {
        int64_t i = kernel->cavities[j].node - pipe->first - node;
        if (i >= 0 && i < count) {
            head[i] = kernel->cavities[j].head;
            mean[i] = memory_mean(pipe, node + i, head[i]);
        }
    }
}

EACH_WIDTH
static void find_heads(int count, const double *restrict right, const double *restrict left,
                       double *restrict difference, double *restrict mean, double *restrict head)
{
    for (int i = 0; i < count; i++) {
        difference[i] = right[i] - left[i];
        mean[i] = 0.5 * (right[i] + left[i]);
        head[i] = mean[i];
    }
}

EACH_WIDTH
static void soften_heads(int count, double softness, const double *restrict strain,
                         double *restrict head)
{
    for (int i = 0; i < count; i++) {
        head[i] = (head[i] + strain[i]) / (1.0 + softness);
    }
}

EACH_WIDTH
static void take(int count, const double *restrict mean, const double *restrict head,
                 const double *restrict loss, double *restrict right, double *restrict left)
{
    for (int i = 0; i < count; i++) {
        double given = 2.0 * (mean[i] - head[i]);
        right[i] -= loss[i] + given;
        left[i] += loss[i] - given;
    }
}

EACH_WIDTH
static void grow(int count, const double *restrict mean, const double *restrict head,
                 double *restrict grown)
{
    for (int i = 0; i < count; i++) {
        grown[i] += 2.0 * (mean[i] - head[i]);
    }
}

static void step_block(const struct kernel *kernel, const struct kernel_pipe *pipe, int64_t node,
                       int count)
{
    const struct memory *memory = pipe->memory;
    double *right = row_right(kernel) + pipe->first + node;
    double *left = row_left(kernel) + pipe->first + node;
    double difference[BLOCK];
    double mean[BLOCK];
    double head[BLOCK];
    double loss[BLOCK];
    find_heads(count, right, left, difference, mean, head);
    if (memory->strain != NULL) {
        soften_heads(count, memory->softness, memory->strain + node, head);
    }
    if (pipe->gas > 0.0 || kernel->cavity_count > 0) {
        mend_cavities(kernel, pipe, node, count, mean, head);
    }
    lose_friction(pipe, node, count, difference, loss);
    sweep_note_heads(count, head, kernel->highest + pipe->first + node,
                     kernel->lowest + pipe->first + node);
    take(count, mean, head, loss, right, left);
    if (memory->strain != NULL) {
        grow(count, mean, head, memory->grown + node);
        creep_on(pipe, node, count, head);
    }
}

void memory_step(const struct kernel *kernel, const struct kernel_pipe *pipe)
{
    int nodes = pipe->reaches + 1;
    for (int node = 0; node < nodes; node += BLOCK) {
        step_block(kernel, pipe, node, nodes - node < BLOCK ? nodes - node : BLOCK);
    }
}
