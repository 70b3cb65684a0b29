#include "solver/surge/ends.h"

#include <math.h>
#include <stddef.h>

/* Sorts the ends of `count` pipes, pipe i being link number link[i], by their points. */
static bool sort_ends(int **first, struct pipe_end **end, const struct network *network, int count,
                      const int link[], struct arena *arena, struct failure *failure)
{
    *first = arena_take(arena, (size_t)network->point_count + 2, sizeof **first);
    *end = arena_take(arena, 2 * (size_t)count, sizeof **end);
    if (*first == NULL || *end == NULL) {
        return fail_memory(failure, "pipe ends");
    }
    /* Counted two places on, so that filling moves every start to its own place. */
    int *next = *first + 1;
    for (int i = 0; i < count; i++) {
        next[network->links[link[i]].from + 1]++;
        next[network->links[link[i]].to + 1]++;
    }
    for (int i = 0; i < network->point_count; i++) {
        next[i + 1] += next[i];
    }
    for (int i = 0; i < count; i++) {
        (*end)[next[network->links[link[i]].from]++] = (struct pipe_end){i, KERNEL_START};
        (*end)[next[network->links[link[i]].to]++] = (struct pipe_end){i, KERNEL_END};
    }
    return true;
}

bool ends_init(struct ends *ends, const struct network *network, const struct grid *grid,
               const struct stub stubs[], struct arena *arena, struct failure *failure)
{
    ends->stubs = stubs;
    return sort_ends(&ends->first, &ends->end, network, grid->pipe_count, grid->link, arena,
                     failure) &&
           sort_ends(&ends->stub_first, &ends->stub_end, network, grid->stub_count, grid->stub,
                     arena, failure);
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
    for (int i = ends->stub_first[point]; i < ends->stub_first[point + 1]; i++) {
        const struct pipe_end *end = &ends->stub_end[i];
        struct inflow here = stub_inflow(&ends->stubs[end->pipe], end->side, head);
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
    for (int i = ends->stub_first[point]; i < ends->stub_first[point + 1]; i++) {
        largest = fmax(largest, ends->stubs[ends->stub_end[i].pipe].impedance);
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
