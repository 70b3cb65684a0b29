/* A network dense enough for factors in dense blocks. */
#include "tests/solver/kit.h"

#include <math.h>

enum { SIDE = 150 };

static struct kit_law law;
static struct point points[SIDE * SIDE];
static struct link links[2 * SIDE * SIDE];

static void join(struct network *network, int from, int to)
{
    links[network->link_count++] = (struct link){.name = "link",
                                                 .from = from,
                                                 .to = to,
                                                 .run = NETWORK_NONE,
                                                 .area = 0.01,
                                                 .element = &kit_element,
                                                 .data = &law};
}

/* A square of equal resistances between two held sides: heads fall evenly from one side to the
 * other and nothing flows across (Kirchhoff 1847; the discrete Laplace equation has the linear
 * function as its only answer). */
Test(steady_dense, heads_fall_evenly_across_a_square_grid)
{
    struct network network = {.points = points, .links = links};
    law = kit_resistance(1e4);
    for (int i = 0; i < SIDE * SIDE; i++) {
        const int column = i % SIDE;
        const bool is_held = column == 0 || column == SIDE - 1;
        points[i] = (struct point){.name = "point", .is_held = is_held, .tank = NETWORK_NONE};
        points[i].held_head = column == 0 ? SIDE - 1 : 0;
        if (column > 0) {
            join(&network, i - 1, i);
        }
        if (i >= SIDE) {
            join(&network, i - SIDE, i);
        }
    }
    network.point_count = SIDE * SIDE;
    struct failure failure = {0};
    struct steady answer;
    struct arena *arena = arena_new();
    struct steady_solver *solver = steady_solver_new(&network, &failure);
    cr_assert(solver && steady_init(&answer, &network, arena, &failure));
    cr_assert(steady_solve(solver, &network, &kit_water, &steady_defaults, &answer, &failure));
    cr_assert_eq(answer.ending, STEADY_CONVERGED);
    for (int i = 0; i < SIDE * SIDE; i++) {
        cr_assert_float_eq(answer.head[i], SIDE - 1 - i % SIDE, 1e-9);
    }
    steady_solver_free(solver);
    arena_free(arena);
}
