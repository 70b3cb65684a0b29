#include "solver/surge/memory.h"

#include <math.h>
#include <stddef.h>

/* From one array of all nodes to the next: whole lines of the caches, which is where vectors begin;
 * and of long pipes so many that stretches of all arrays share the places of the nearest cache, of
 * which those a page apart have the same. */
static int64_t stride_of(int64_t nodes)
{
    enum { LINE = 8, PAGE = 64, APART = 17 };
    int64_t lines = (nodes + LINE - 1) / LINE;
    while (lines > PAGE && lines % PAGE != APART) {
        lines++;
    }
    return lines * LINE;
}

static bool take_friction(struct memory *memory, const struct memory_wishes *wishes,
                          struct arena *arena, struct failure *failure)
{
    memory->friction = unsteady_of_pipe(wishes->pipe, wishes->reaches, wishes->water,
                                        wishes->steady_flow, wishes->step);
    for (int k = 0; k < UNSTEADY_TERMS; k++) {
        memory->trace[k] = memory->friction.fade[k] * memory->friction.gain[k];
    }
    double *room = arena_take(arena, (2 + UNSTEADY_TERMS) * (size_t)memory->stride, sizeof *room);
    if (room == NULL) {
        return fail_memory(failure, "unsteady friction");
    }
    memory->lag = (struct memory_lag){room, room + memory->stride, room + 2 * memory->stride};
    return true;
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
    memory->stiffness = 1.0 / (1.0 + memory->softness);
    for (int k = 0; k < memory->wall.count; k++) {
        const struct creep *wall = &memory->wall;
        memory->push[k] = memory->give * wall->often[k] *
                          (wall->far[k] + wall->fade[k] * wall->near[k]) * memory->stress;
    }
    const int64_t stride = memory->stride;
    double *room =
        arena_take(arena, (3 + (size_t)memory->wall.count) * (size_t)stride, sizeof *room);
    if (room == NULL) {
        return fail_memory(failure, "creep of walls");
    }
    memory->soft = (struct memory_give){room, room + stride, room + 2 * stride, room + 3 * stride};
    return true;
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
    made->stride = stride_of((int64_t)wishes->reaches + 1);
    return (!wishes->friction || take_friction(made, wishes, arena, failure)) &&
           (!has_wall || take_wall(made, wishes, arena, failure));
}

void memory_start(struct memory *memory, int nodes, double head, double loss, double flow)
{
    double last = head - loss * (nodes - 1);
    memory->least_flow = flow;
    memory->most_flow = flow;
    memory->least_above = 0.0;
    memory->most_above = 0.0;
    memory->least_level = fmin(head, last);
    memory->most_level = fmax(head, last);
    for (int i = 0; i < nodes; i++) {
        if (memory->lag.flow != NULL) {
            memory->lag.flow[i] = flow;
            memory->lag.lagging[i] = -memory->friction.lag * flow;
        }
        if (memory->soft.strain != NULL) {
            memory->soft.level[i] = head - loss * i;
            memory->soft.strain[i] = memory->softness * memory->soft.level[i];
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
    bool is_lagging = memory != NULL && memory->lag.flow != NULL;
    double rest = is_lagging ? difference - memory->lag.lagging[node] : difference;
    struct drop loss = loss_at(&pipe->loss, rest);
    if (slope != NULL) {
        *slope = (1.0 - loss.slope) / (2.0 * impedance);
    }
    return (rest - loss.head) / (2.0 * impedance);
}

bool memory_gives(const struct kernel_pipe *pipe)
{
    return pipe->memory != NULL && pipe->memory->soft.strain != NULL;
}

static double strain_at(const struct kernel_pipe *pipe, int64_t node)
{
    return memory_gives(pipe) ? pipe->memory->soft.strain[node] : 0.0;
}

double memory_grown(const struct kernel_pipe *pipe, int64_t node)
{
    return memory_gives(pipe) ? pipe->memory->soft.grown[node] : 0.0;
}

double memory_mean(const struct kernel_pipe *pipe, int64_t node, double head)
{
    return memory_gives(pipe) ? head + (pipe->memory->softness * head - strain_at(pipe, node))
                              : head;
}

double memory_head(const struct kernel_pipe *pipe, int64_t node, double mean)
{
    return memory_gives(pipe) ? (mean + strain_at(pipe, node)) * pipe->memory->stiffness : mean;
}

/* With all flows within a range r, also the first, each term of the memory is a sum of past flows
 * whose weights are its gain times 1 and, together, its gain times -1: it is at most its gain times
 * r. So W + lag times the flow before is at most lag r, as is lag times the change of flow, and
 * friction takes at most G + 2 lag r; and from 2 B Q = p - m - what it takes follows r. */
double memory_most_loss(const struct kernel_pipe *pipe, double least, double most)
{
    struct memory *memory = pipe->memory;
    const double span = fmax(most, -least);
    if (memory == NULL || memory->lag.flow == NULL) {
        return fabs(loss_at(&pipe->loss, span).head);
    }
    const double lag = memory->friction.lag;
    const double double_impedance = 2.0 * pipe->impedance;
    if (!(lag < 0.125 * double_impedance)) {
        return (double)INFINITY;
    }
    /* The largest flow, then |W| at most three times lag times it; both roughly. */
    const double flow = fmax(span / pipe->impedance, fmax(memory->most_flow, -memory->least_flow));
    const double law = fabs(loss_at(&pipe->loss, span + 3.0 * lag * flow).head);
    const double high = fmax(most + law, double_impedance * memory->most_flow);
    const double low = fmin(least - law, double_impedance * memory->least_flow);
    const double lagging = 2.0 * lag * (high - low) / (double_impedance - 4.0 * lag);
    memory->most_flow = fmax(memory->most_flow, (most + law + lagging) / double_impedance);
    memory->least_flow = fmin(memory->least_flow, (least - law - lagging) / double_impedance);
    return law + lagging;
}

/* Strains are weighted means of past stresses, hence M - H = softness (H - level) - sum of parts is
 * at most softness times the span of all H - level so far, and H - level itself lies between those
 * and the present M - level. Where water boils H is above what M says, but not above boiling. */
double memory_most_given(const struct kernel_pipe *pipe)
{
    struct memory *memory = pipe->memory;
    if (memory == NULL || memory->soft.strain == NULL) {
        return 0.0;
    }
    const double least = 0.5 * (pipe->least_right + pipe->least_left) - memory->most_level;
    const double most = fmax(0.5 * (pipe->most_right + pipe->most_left), pipe->highest_vapour) -
                        memory->least_level;
    memory->least_above = fmin(memory->least_above, least);
    memory->most_above = fmax(memory->most_above, most);
    return 2.0 * memory->softness * (memory->most_above - memory->least_above);
}
