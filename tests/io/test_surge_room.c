/* Each piece of memory that a solver asks its arena for is refused in turn, all others are granted:
 * the run is refused with memory as the reason, whichever piece it was, and else comes to its end.
 * (Calls of malloc alone would not show it: most pieces lie in a block that is there already.) */
#include "io/door/door.h"
#include "solver/surge/surge.h"

#include <criterion/criterion.h>
#include <stdio.h>

static long pieces_left = -1; /* until one is refused; below 0: none is */

void *__real_arena_take(struct arena *arena, size_t count, size_t size);
void *__wrap_arena_take(struct arena *arena, size_t count, size_t size);

void *__wrap_arena_take(struct arena *arena, size_t count, size_t size)
{
    return pieces_left-- == 0 ? NULL : __real_arena_take(arena, count, size);
}

/* Steady answer and 0.1 s of surge with piece number `refused` refused; true: whole. Pieces of the
 * network and of the answer's arrays are the same in all runs. */
static bool run_without(const struct site *site, long refused, struct failure *failure)
{
    struct arena *arena = arena_new();
    struct steady steady;
    struct surge surge;
    pieces_left = refused;
    struct steady_solver *solver = steady_solver_new(site->network, failure);
    const bool is_whole =
        solver && steady_init(&steady, site->network, arena, failure) &&
        steady_solve(solver, site->network, &site->water, &steady_defaults, &steady, failure) &&
        surge_run_plan(site, site->network, &steady, &surge_defaults, &surge, arena, failure);
    pieces_left = -1;
    if (is_whole) {
        cr_expect_eq(surge.ending, SURGE_DONE);
    }
    steady_solver_free(solver);
    arena_free(arena);
    return is_whole;
}

/* Friction that remembers, a pump, valves and stubs; a creeping wall; boiling; a tee; a vessel. */
Test(surge_room, each_piece_that_is_refused_refuses_the_run)
{
    static const char *const cases[] = {"alder-beck",  "pe-rig",     "copper-cavity",
                                        "garden-pond", "lesson-tee", "lesson-air-vessel"};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        char path[512];
        struct arena *arena = arena_new();
        struct faults faults;
        struct site *site = NULL;
        long refused = 0;
        snprintf(path, sizeof path, "%s/cases/%s.yaml", SOURCE_DIR, cases[i]);
        faults_init(&faults, arena);
        cr_assert(read_site(path, arena, &site, &faults), "%s", cases[i]);
        site->surge.duration = 0.1;
        for (bool is_whole = false; !is_whole; refused++) {
            struct failure failure = {0};
            is_whole = run_without(site, refused, &failure);
            cr_expect(is_whole || failure.kind == FAILURE_MEMORY, "%s, piece %ld: %s", cases[i],
                      refused, failure.message);
        }
        cr_expect_gt(refused, 100, "%s: %ld", cases[i], refused);
        arena_free(arena);
    }
}
