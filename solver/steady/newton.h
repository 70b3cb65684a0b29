/* Newton: the outer iteration of the steady solver on flows.
 * Each step linearises every law at the present flows, solves that network exactly (inner.h) and
 * goes to its flows, or part of the way when the content (content.h) says so. Heads and flows stay
 * separate unknowns, so that near the end only their small errors are computed. */
#ifndef SOLVER_STEADY_NEWTON_H
#define SOLVER_STEADY_NEWTON_H

#include "solver/steady/ending.h"
#include "solver/steady/state.h"

/* From the laws (laws.h), heads and flows in the state (worth nothing when not warm) to the answer.
 */
MUST_CHECK bool newton_solve(struct state *state, const struct water *water,
                             const struct steady_options *options, enum steady_ending *ending,
                             struct failure *failure);

#endif
