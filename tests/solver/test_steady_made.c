/* Networks as large as those of the bench, with hundreds of non-return valves, solved from nothing:
 * in how few factorisations, and with what proof. */
#include "solver/steady/steady.h"
#include "tests/bench/made_network.h"

#include <criterion/criterion.h>
#include <stdlib.h>

static struct made_network made;

static bool solve(struct steady *answer, struct arena *arena)
{
    struct failure failure = {0};
    struct steady_solver *solver = steady_solver_new(&made.network, &failure);
    const bool is_done =
        solver && arena && steady_init(answer, &made.network, arena, &failure) &&
        steady_solve(solver, &made.network, &made_water, &steady_defaults, answer, &failure);
    steady_solver_free(solver);
    return is_done;
}

static void check_proof(const struct steady *answer)
{
    cr_expect_eq(answer->ending, STEADY_CONVERGED);
    cr_expect_lt(answer->mass_residual, 1e-14);
    cr_expect_lt(answer->energy_residual, 1e-9);
    cr_expect_lt(answer->complementarity, 1e-9);
}

/* Factorisations that a network takes. */
static int solve_made(int points, uint64_t seed)
{
    struct steady answer = {.steps = 0};
    struct arena *arena = arena_new();
    made_network_init(&made, points, 1.2, seed, MADE_WITH_VALVES);
    cr_assert(solve(&answer, arena), "seed %d", (int)seed);
    check_proof(&answer);
    arena_free(arena);
    free(made.network.points);
    free(made.network.links);
    free(made.pipes);
    return answer.steps;
}

/* Valves left undecided in rough steps must not lead them astray. */
Test(steady_made, valves_by_the_hundred_come_quickly)
{
    enum { NETWORKS = 20 };
    int steps = 0;
    int most = 0;
    for (uint64_t seed = 1; seed <= NETWORKS; seed++) {
        const int now = solve_made(10000, seed);
        steps += now;
        most = now > most ? now : most;
    }
    /* 7.75 and 9 as measured */
    cr_expect_lt((double)steps / NETWORKS, 8.1, "%g", (double)steps / NETWORKS);
    cr_expect_leq(most, 10, "%d", most);
}
