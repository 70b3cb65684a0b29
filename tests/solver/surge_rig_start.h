/* The steady flow that a rig's surge begins from. */
#ifndef TESTS_SOLVER_SURGE_RIG_START_H
#define TESTS_SOLVER_SURGE_RIG_START_H

#include "tests/solver/surge_rig.h"

static inline void rig_solve_start(struct rig *rig)
{
    struct steady_solver *solver = steady_solver_new(&rig->network, &rig->failure);
    cr_assert_not_null(solver, "%s", rig->failure.message);
    cr_assert(steady_init(&rig->start, &rig->network, rig->arena, &rig->failure));
    bool done = steady_solve(solver, &rig->network, &rig->site.water, &steady_defaults, &rig->start,
                             &rig->failure);
    cr_assert(done, "%s", rig->failure.message);
    cr_assert_eq(rig->start.ending, STEADY_CONVERGED);
    steady_solver_free(solver);
}

#endif
