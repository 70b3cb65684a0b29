#include "solver/surge/memory.h"

#include <math.h>
#include <stddef.h>

/* Nodes worked on at a time: their numbers stay in the nearest cache. */
enum { BLOCK = 64 };

static bool take_friction(struct memory *memory, const struct memory_wishes *wishes,
                          struct arena *arena, struct failure *failure)
{
    const struct friction *friction = &wishes->pipe->friction;
    double area = pipe_area(wishes->pipe);
    double reynolds = fabs(wishes->steady_flow) / area * friction->bore / wishes->water->viscosity;
    struct unsteady_weight weight = unsteady_weight_of(reynolds);
    struct unsteady_reach reach = {
        .length = friction->length / wishes->reaches,
        .bore = friction->bore,
        .area = area,
        .viscosity = wishes->water->viscosity,
        .gravity = wishes->water->gravity,
        .step = wishes->step,
    };
    memory->friction = unsteady_of(&weight, &reach);
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
    double ratio = pipe->friction.bore / pipe->wall;
    double factor = wave_speed_thick_factor(ratio, pipe->material->poisson, pipe->restraint);
    double gravity = wishes->water->gravity;
    memory->wall = creep_of(pipe->material, wishes->step);
    memory->stress = 0.5 * factor * wishes->water->density * gravity * ratio;
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
    const struct pipe *pipe = wishes->pipe;
    bool has_wall = wishes->wall && pipe->material != NULL && pipe->material->creep_count > 0 &&
                    pipe->wall > 0.0;
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

/* Friction of a block of nodes: `loss` gets what the steady law and the memory take together. */
static void lose_friction(const struct kernel_pipe *pipe, int64_t node, int count,
                          const double difference[], double loss[])
{
    const struct memory *memory = pipe->memory;
    if (memory->lagging == NULL) {
        loss_row(&pipe->loss, count, difference, loss);
        return;
    }
    double *restrict lagging = memory->lagging + node;
    double *restrict old = memory->flow + node;
    double per_flow = 0.5 / memory_impedance(pipe);
    double rest[BLOCK];
    double change[BLOCK];
    for (int i = 0; i < count; i++) {
        rest[i] = difference[i] - lagging[i];
    }
    loss_row(&pipe->loss, count, rest, loss);
    for (int i = 0; i < count; i++) {
        double flow = (rest[i] - loss[i]) * per_flow;
        loss[i] = difference[i] - 2.0 * pipe->impedance * flow;
        change[i] = flow - old[i];
        old[i] = flow;
        lagging[i] = -memory->friction.lag * flow;
    }
    for (int k = 0; k < UNSTEADY_TERMS; k++) {
        double *restrict term = memory->term + (size_t)k * ((size_t)pipe->reaches + 1) + node;
        double fade = memory->friction.fade[k];
        double gain = memory->friction.gain[k];
        for (int i = 0; i < count; i++) {
            term[i] = fade * term[i] + gain * change[i];
            lagging[i] += fade * term[i];
        }
    }
}

/* The wall of a block of nodes takes these heads and remembers. */
static void creep_on(const struct kernel_pipe *pipe, int64_t node, int count, const double head[])
{
    const struct memory *memory = pipe->memory;
    const struct creep *wall = &memory->wall;
    double *restrict strain = memory->strain + node;
    const double *restrict level = memory->level + node;
    double stress[BLOCK];
    for (int i = 0; i < count; i++) {
        stress[i] = memory->stress * (head[i] - level[i]);
        strain[i] = memory->softness * level[i];
    }
    for (int k = 0; k < wall->count; k++) {
        double *restrict part = memory->part + (size_t)k * ((size_t)pipe->reaches + 1) + node;
        double near = wall->near[k];
        double far = wall->far[k];
        double fade = wall->fade[k];
        double weight = memory->give * wall->often[k];
        for (int i = 0; i < count; i++) {
            part[i] = far * stress[i] + fade * (near * stress[i] + part[i]);
            strain[i] += weight * part[i];
        }
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

static void step_block(const struct kernel *kernel, const struct kernel_pipe *pipe, int64_t node,
                       int count)
{
    const struct memory *memory = pipe->memory;
    double *restrict right = row_right(kernel) + pipe->first + node;
    double *restrict left = row_left(kernel) + pipe->first + node;
    double *restrict highest = kernel->highest + pipe->first + node;
    double *restrict lowest = kernel->lowest + pipe->first + node;
    double difference[BLOCK];
    double mean[BLOCK];
    double head[BLOCK];
    double loss[BLOCK];
    for (int i = 0; i < count; i++) {
        difference[i] = right[i] - left[i];
        mean[i] = 0.5 * (right[i] + left[i]);
        head[i] = mean[i];
    }
    if (memory->strain != NULL) {
        const double *restrict strain = memory->strain + node;
        for (int i = 0; i < count; i++) {
            head[i] = (mean[i] + strain[i]) / (1.0 + memory->softness);
        }
    }
    if (pipe->gas > 0.0 || kernel->cavity_count > 0) {
        mend_cavities(kernel, pipe, node, count, mean, head);
    }
    lose_friction(pipe, node, count, difference, loss);
    for (int i = 0; i < count; i++) {
        double given = 2.0 * (mean[i] - head[i]);
        highest[i] = head[i] > highest[i] ? head[i] : highest[i];
        lowest[i] = head[i] < lowest[i] ? head[i] : lowest[i];
        right[i] -= loss[i] + given;
        left[i] += loss[i] - given;
        if (memory->strain != NULL) {
            memory->grown[node + i] += given;
        }
    }
    if (memory->strain != NULL) {
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
