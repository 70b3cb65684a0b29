/* Memory that ends anywhere in a filling run ends it with a reason, and gives back what was taken
 * (the watchers of memory see to that). Calls inside shared libraries are not seen here. */
#include "tests/solver/ending_memory.h"
#include "tests/solver/filling_rig_run.h"

#include <criterion/criterion.h>

/* A sump with a float, that also falls to its floor: its point is let go, and the solver is made
 * anew in the middle of the run. */
static void rig_make(struct rig *rig)
{
    rig_init(rig, 9.80665);
    const int sump = rig_tank(rig, tank_shape_upright(1.0, 2.0), 0.0, 0.3);
    rig_feed(rig, sump, 0.001);
    (void)rig_pump(rig, sump, 0.02);
    (void)rig_switch(rig, 0, 0.25, 0.0, 1);
}

Test(filling_memory, a_run_is_whole_or_refused)
{
    enum { LIMIT_MOST = 20000 };
    struct rig rig;
    struct filling_options options = filling_defaults;
    long limit = 0;
    bool is_done = false;
    options.duration = 60.0;
    rig_make(&rig);
    for (; !is_done && limit < LIMIT_MOST; limit++) {
        struct failure failure = {0};
        struct arena *arena = arena_new();
        calls_left = limit;
        is_done = filling_run(&rig.site, &options, &rig.answer, arena, &failure);
        calls_left = -1;
        if (!is_done) {
            cr_expect_eq(failure.kind, FAILURE_MEMORY, "after %ld calls: %s", limit,
                         failure.message);
        } else {
            cr_expect_eq(rig.answer.ending, FILLING_DONE);
            cr_expect(isfinite(rig_time_of(&rig, FILLING_DRY, 0)));
            rig_expect_balance(&rig);
        }
        arena_free(arena);
    }
    cr_expect(is_done);
    cr_expect_gt(limit, 5, "%ld", limit);
    rig_clear(&rig);
}
