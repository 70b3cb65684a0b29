#include "solver/steady/system_curve.h"

#include <math.h>

/* Stands where the pump was: nothing passes, whatever the heads. */
static struct drop gap_drop(const void *data, const struct water *water, double flow)
{
    (void)data;
    (void)water;
    (void)flow;
    return (struct drop){0.0, 0.0};
}

static struct span gap_span(const void *data, const struct water *water)
{
    (void)data;
    (void)water;
    return (struct span){0.0, 0.0};
}

static const struct element gap = {.kind = "gap", .drop = gap_drop, .span = gap_span};

static double asked_head(const struct steady *steady, const struct link *pump)
{
    const bool is_joined =
        steady->zone[pump->from] == NETWORK_NONE && steady->zone[pump->to] == NETWORK_NONE;
    const bool is_solved = steady->ending == STEADY_CONVERGED;
    return is_solved && is_joined ? steady->head[pump->to] - steady->head[pump->from] : (double)NAN;
}

static bool follow(struct network *network, const struct water *water, int link, int count,
                   const double flow[], double head[], struct arena *arena, struct failure *failure)
{
    struct steady steady;
    struct link *pump = &network->links[link];
    const double inlet = network->points[pump->from].draw;
    const double outlet = network->points[pump->to].draw;
    pump->element = &gap;
    if (!steady_init(&steady, network, arena, failure)) {
        return false;
    }
    struct steady_solver *solver = steady_solver_new(network, failure);
    bool is_good = solver != NULL;
    for (int i = 0; is_good && i < count; i++) {
        network->points[pump->from].draw = inlet + flow[i];
        network->points[pump->to].draw = outlet - flow[i];
        is_good = steady_solve(solver, network, water, &steady_defaults, &steady, failure);
        if (is_good) {
            head[i] = asked_head(&steady, pump);
        }
    }
    steady_solver_free(solver);
    return is_good;
}

bool system_curve(const struct network *network, const struct water *water, int link, int count,
                  const double flow[], double head[], struct failure *failure)
{
    struct arena *arena = arena_new();
    struct network *copy = arena ? network_copy(network, arena) : NULL;
    const bool is_good = copy ? follow(copy, water, link, count, flow, head, arena, failure)
                              : fail_memory(failure, "a system curve");
    arena_free(arena);
    return is_good;
}
