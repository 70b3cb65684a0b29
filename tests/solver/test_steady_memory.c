/* A solver that exists solves without our code asking for memory (calls inside the shared CHOLMOD
 * are not seen here), and says when there is none for it. */
#include "tests/solver/ending_memory.h"
#include "tests/solver/kit.h"

static struct kit kit;

static void ladder(void)
{
    kit_init(&kit);
    int before = kit_held(&kit, 10);
    for (int i = 0; i < 30; i++) {
        const int after = i == 29 ? kit_held(&kit, 0) : kit_free(&kit, 1e-4);
        kit_link(&kit, before, after, i % 5 ? kit_resistance(1e3 * i) : kit_valve(0.1, 1e3));
        if (i > 2) {
            kit_link(&kit, after, after - 3, kit_resistance(5e4));
        }
        before = after;
    }
}

Test(steady_memory, solving_asks_for_none)
{
    struct failure failure = {0};
    ladder();
    struct arena *arena = arena_new();
    cr_assert(steady_init(&kit.answer, &kit.network, arena, &failure));
    struct steady_solver *solver = steady_solver_new(&kit.network, &failure);
    calls = 0;
    const bool is_done =
        steady_solve(solver, &kit.network, &kit.water, &steady_defaults, &kit.answer, &failure);
    const long asked = calls;
    cr_assert(is_done);
    cr_assert_eq(kit.answer.ending, STEADY_CONVERGED);
    cr_assert_eq(asked, 0, "%ld", asked);
    steady_solver_free(solver);
    arena_free(arena);
}

/* With memory ending at every call in turn, a solver is either whole or refused with a reason. */
Test(steady_memory, a_solver_is_whole_or_refused)
{
    int refused = 0;
    ladder();
    for (long limit = 0; limit < 10000; limit++) {
        struct failure failure = {0};
        calls_left = limit;
        struct steady_solver *solver = steady_solver_new(&kit.network, &failure);
        calls_left = -1;
        if (solver) {
            steady_solver_free(solver);
            break;
        }
        refused++;
        cr_assert_eq(failure.kind, FAILURE_MEMORY);
    }
    cr_assert_gt(refused, 5);
    cr_assert_lt(refused, 10000);
}
