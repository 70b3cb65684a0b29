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

/* Laws that allow runs of pipes when the first ones did not, or forbid them, make a solver plan
 * anew (solver/steady/steady.h): where memory ends in that it says so, and solves when there is
 * some. */
Test(steady_memory, planning_anew_is_whole_or_refused)
{
    static const double factor[] = {0.02, 0.0, 0.02}; /* of the first pipe, from solve to solve */
    for (int first = 0; first < 2; first++) {
        int refused = 0;
        kit_init(&kit);
        int before = kit_held(&kit, 10);
        for (int i = 0; i < 8; i++) {
            const int after = i == 7 ? kit_held(&kit, 0) : kit_free(&kit, 1e-4);
            (void)kit_pipe(&kit, before, after, (struct friction){.length = 10, .bore = 0.1});
            (void)kit_pipe(&kit, after, kit_free(&kit, 1e-4),
                           (struct friction){.length = 10, .bore = 0.1});
            before = after;
        }
        struct arena *arena = arena_new();
        struct failure failure = {0};
        cr_assert(steady_init(&kit.answer, &kit.network, arena, &failure));
        for (long limit = 0; limit < 1000; limit++) {
            kit.pipes[0].friction.factor = factor[first];
            struct steady_solver *solver = steady_solver_new(&kit.network, &failure);
            kit.pipes[0].friction.factor = factor[first + 1];
            failure = (struct failure){0};
            calls_left = limit;
            const bool is_done = steady_solve(solver, &kit.network, &kit.water, &steady_defaults,
                                              &kit.answer, &failure);
            calls_left = -1;
            cr_expect(is_done || failure.kind == FAILURE_MEMORY);
            cr_expect(steady_solve(solver, &kit.network, &kit.water, &steady_defaults, &kit.answer,
                                   &failure));
            cr_expect_eq(kit.answer.ending, STEADY_CONVERGED);
            steady_solver_free(solver);
            if (is_done) {
                break;
            }
            refused++;
        }
        cr_expect_gt(refused, 2);
        cr_expect_lt(refused, 1000);
        arena_free(arena);
    }
}
