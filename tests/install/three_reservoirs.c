/* Three reservoirs that meet in one point, solved from C: heads 20, 100 and 40 m, pipes of 100, 150
 * and 80 m. The case cases/three-reservoirs.yaml tells where it comes from. Built against an
 * installed tree: cc three_reservoirs.c $(pkg-config --cflags --libs downsurge-solver) -o
 * three_reservoirs */
#include "models/network.h"
#include "models/pipe.h"
#include "solver/steady/steady.h"

#include <stdio.h>

int main(void)
{
    struct point points[4] = {{.name = "junction", .tank = NETWORK_NONE},
                              {.name = "low", .is_held = true, .held_head = 20},
                              {.name = "high", .is_held = true, .held_head = 100},
                              {.name = "middle", .is_held = true, .held_head = 40}};
    static const struct pipe pipes[3] = {
        {.friction = {.length = 100, .bore = 0.08, .roughness = 0.24e-3}},
        {.friction = {.length = 150, .bore = 0.06, .roughness = 0.12e-3}},
        {.friction = {.length = 80, .bore = 0.04, .roughness = 0.20e-3}}};
    const struct water water = {.gravity = 9.81, .density = 998, .viscosity = 1.02e-6};
    struct link links[3];
    struct failure failure = {0};
    struct steady answer = {0};
    for (int i = 0; i < 3; i++) {
        const struct pipe *pipe = &pipes[i];
        links[i] = (struct link){.name = "pipe",
                                 .from = i + 1,
                                 .to = 0,
                                 .run = NETWORK_NONE,
                                 .area = pipe_area(pipe),
                                 .element = &pipe_element,
                                 .data = pipe};
    }
    struct network network = {.point_count = 4, .link_count = 3, .points = points, .links = links};
    struct arena *arena = arena_new();
    struct steady_solver *solver = arena ? steady_solver_new(&network, &failure) : NULL;
    bool is_good = solver && steady_init(&answer, &network, arena, &failure) &&
                   steady_solve(solver, &network, &water, &steady_defaults, &answer, &failure);
    if (is_good) {
        printf("%s: junction %.2f m; %.1f, %.1f, %.1f m3/h out of the tanks\n",
               steady_ending_text(answer.ending), answer.head[0], 3600 * answer.flow[0],
               3600 * answer.flow[1], 3600 * answer.flow[2]);
    }
    steady_solver_free(solver);
    arena_free(arena);
    return is_good ? 0 : 1;
}
