/* Kit: small networks for tests of the steady solver, put together by hand.
 * Units are whatever the test says; the solver does not care. */
#ifndef TESTS_SOLVER_KIT_H
#define TESTS_SOLVER_KIT_H

#include "models/network.h"
#include "models/pipe.h"
#include "solver/steady/steady.h"
#include "tests/solver/kit_law.h"

#include <criterion/criterion.h>
#include <string.h>

enum { KIT_MAX = 64 };

struct kit {
    struct network network;
    struct point points[KIT_MAX];
    struct link links[KIT_MAX];
    struct kit_law laws[KIT_MAX];
    struct pipe pipes[KIT_MAX];
    struct water water;
    struct arena *arena;
    struct steady answer;
};

static const struct water kit_water = {
    .gravity = 9.81, .density = 1000, .viscosity = 1e-6, .temperature_c = 20};

static inline void kit_init(struct kit *kit)
{
    memset(kit, 0, sizeof *kit);
    kit->water = kit_water;
    kit->network.points = kit->points;
    kit->network.links = kit->links;
}

static inline int kit_held(struct kit *kit, double head)
{
    const int point = kit->network.point_count++;
    kit->points[point] =
        (struct point){.name = "held", .held_head = head, .is_held = true, .tank = NETWORK_NONE};
    return point;
}

static inline int kit_free(struct kit *kit, double draw)
{
    const int point = kit->network.point_count++;
    kit->points[point] = (struct point){.name = "free", .draw = draw, .tank = NETWORK_NONE};
    return point;
}

static inline int kit_link(struct kit *kit, int from, int to, struct kit_law law)
{
    const int link = kit->network.link_count++;
    kit->laws[link] = law;
    kit->links[link] = (struct link){.name = "link",
                                     .from = from,
                                     .to = to,
                                     .run = NETWORK_NONE,
                                     .area = 0.01,
                                     .element = &kit_element,
                                     .data = &kit->laws[link]};
    return link;
}

/* A real pipe instead of a law; its area is that of the bore. */
static inline int kit_pipe(struct kit *kit, int from, int to, struct friction friction)
{
    const int link = kit_link(kit, from, to, kit_resistance(0));
    kit->pipes[link] = (struct pipe){.friction = friction};
    kit->links[link].element = &pipe_element;
    kit->links[link].data = &kit->pipes[link];
    kit->links[link].area = pipe_area(&kit->pipes[link]);
    return link;
}

/* Solves with given options into kit->answer, made at the first call. */
static inline void kit_solve_with(struct kit *kit, const struct steady_options *options)
{
    struct failure failure = {0};
    if (!kit->arena) {
        kit->arena = arena_new();
        cr_assert(steady_init(&kit->answer, &kit->network, kit->arena, &failure));
    }
    struct steady_solver *solver = steady_solver_new(&kit->network, &failure);
    cr_assert(solver, "%s", failure.message);
    cr_assert(steady_solve(solver, &kit->network, &kit->water, options, &kit->answer, &failure),
              "%s", failure.message);
    steady_solver_free(solver);
}

static inline void kit_solve(struct kit *kit)
{
    kit_solve_with(kit, &steady_defaults);
    cr_assert_eq(kit->answer.ending, STEADY_CONVERGED, "%s",
                 steady_ending_text(kit->answer.ending));
}

static inline void kit_clear(struct kit *kit)
{
    arena_free(kit->arena);
}

#endif
