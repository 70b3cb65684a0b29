#include "solver/surge/ends.h"

#include <math.h>
#include <stddef.h>

bool ends_init(struct ends *ends, const struct network *network, const struct grid *grid,
               struct arena *arena, struct failure *failure)
{
    size_t points = (size_t)network->point_count;
    ends->first = arena_take(arena, points + 2, sizeof *ends->first);
    ends->end = arena_take(arena, 2 * (size_t)grid->pipe_count, sizeof *ends->end);
    if (ends->first == NULL || ends->end == NULL) {
        return fail_memory(failure, "pipe ends");
    }
    /* Counted two places on, so that filling moves every start to its own place. */
    int *next = ends->first + 1;
    for (int i = 0; i < grid->pipe_count; i++) {
        const struct link *link = &network->links[grid->link[i]];
        next[link->from + 1]++;
        next[link->to + 1]++;
    }
    for (int i = 0; i < network->point_count; i++) {
        next[i + 1] += next[i];
    }
    for (int i = 0; i < grid->pipe_count; i++) {
        const struct link *link = &network->links[grid->link[i]];
        ends->end[next[link->from]++] = (struct pipe_end){i, KERNEL_START};
        ends->end[next[link->to]++] = (struct pipe_end){i, KERNEL_END};
    }
    return true;
}

struct inflow ends_inflow(const struct ends *ends, const struct kernel *kernel, int point,
                          double head)
{
    struct inflow inflow = {0.0, 0.0};
    for (int i = ends->first[point]; i < ends->first[point + 1]; i++) {
        struct inflow here = kernel_inflow(kernel, ends->end[i].pipe, ends->end[i].side, head);
        inflow.flow += here.flow;
        inflow.conductance += here.conductance;
    }
    return inflow;
}

void ends_enter(const struct ends *ends, struct kernel *kernel, int point, double head)
{
    for (int i = ends->first[point]; i < ends->first[point + 1]; i++) {
        kernel_enter(kernel, ends->end[i].pipe, ends->end[i].side, head);
    }
}

double ends_impedance(const struct ends *ends, const struct kernel *kernel, int point)
{
    double largest = 0.0;
    for (int i = ends->first[point]; i < ends->first[point + 1]; i++) {
        largest = fmax(largest, kernel->pipes[ends->end[i].pipe].impedance);
    }
    return largest;
}

double ends_gas(const struct ends *ends, const struct kernel *kernel, int point)
{
    double gas = 0.0;
    for (int i = ends->first[point]; i < ends->first[point + 1]; i++) {
        gas += 0.5 * kernel->pipes[ends->end[i].pipe].gas;
    }
    return gas;
}
