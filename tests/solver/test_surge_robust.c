/* Every kind of valve of the catalogue at every place of the demonstration site, on a coarse grid
 * where each step is a large part of a valve's closing: an answer is found at every step, no water
 * is lost, and a bounce changes neither. */
#include "io/door/door.h"
#include "models/circle.h"
#include "solver/surge/surge.h"

#include <criterion/criterion.h>
#include <math.h>

/* The site's surge with `valve` at place number `place`. */
static void check_run(const struct site *site, int place, const struct non_return *valve)
{
    struct failure failure = {0};
    struct arena *arena = arena_new();
    struct network *network = network_copy(site->network, arena);
    struct link *link = &network->links[site->valves[place].link];
    struct site tried = *site;
    struct steady steady;
    struct surge surge;
    link->data = valve;
    link->area = circle_area(valve->bore);
    tried.network = network;
    struct steady_solver *solver = steady_solver_new(network, &failure);
    cr_assert(solver && steady_init(&steady, network, arena, &failure));
    cr_assert(steady_solve(solver, network, &site->water, &steady_defaults, &steady, &failure));
    steady_solver_free(solver);
    cr_assert(surge_run_plan(&tried, network, &steady, &surge_defaults, &surge, arena, &failure));
    cr_expect_eq(surge.ending, SURGE_DONE, "%s at place %d: no answer at %g s", valve->type, place,
                 surge.time_reached);
    cr_expect_lt(fabs(surge.mass_residual), 1e-10, "%s at place %d", valve->type, place);
    arena_free(arena);
}

static void check_site(double restitution, double rotation)
{
    struct arena *arena = arena_new();
    struct faults faults;
    struct site *site = NULL;
    faults_init(&faults, arena);
    cr_assert(read_site(SOURCE_DIR "/cases/alder-beck.yaml", arena, &site, &faults));
    site->surge.duration = 3.0;
    site->surge.reaches = 1;
    for (int place = 0; place < site->valve_count; place++) {
        const struct non_return *present = site->network->links[site->valves[place].link].data;
        for (int i = SHORT_RUNS ? place % 4 : 0; i < non_return_type_count();
             i += SHORT_RUNS ? 4 : 1) {
            struct non_return valve;
            non_return_make(non_return_type_at(i), 0.05, present->mounting, &site->water, &valve);
            valve.restitution = restitution;
            valve.own.rotation = rotation;
            check_run(site, place, &valve);
        }
    }
    arena_free(arena);
}

Test(surge_robust, every_valve_at_every_place_finds_an_answer_on_a_coarse_grid)
{
    check_site(0.0, 0.0);
}

Test(surge_robust, bouncing_valves_find_an_answer_too)
{
    check_site(0.5, 0.0);
}

Test(surge_robust, valves_that_push_their_water_out_find_an_answer_too)
{
    check_site(0.0, 1.0);
}
