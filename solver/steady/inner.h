/* Inner: the linearised network with its uprights, solved exactly.
 *
 * With every drop replaced by drop + (q - q_k)/g, the heads minimise the convex piecewise quadratic
 *     sum of psi_e(head difference) + sum of draw x head,
 *     psi_e' = clamp(q_k + g (excess + change of head difference), span),
 * the dual of the linearised content. Semismooth Newton (Qi & Sun 1993) with the line search of
 * ray.h; heads are carried as changes from the step's start, so that flows keep their last digits
 * however large the conductances are. Ends when every sum of flows at a point is round-off. */
#ifndef SOLVER_STEADY_INNER_H
#define SOLVER_STEADY_INNER_H

#include "solver/steady/state.h"

/* In `shift` the right side of the linear system of the present flows and excesses, with the
 * links open that `is_open` says. */
void inner_set_right(struct state *state);

/* One linear system as a first guess of the heads, with the links now within their span (or every
 * link) open. */
MUST_CHECK bool inner_guess(struct state *state, bool every_link, struct failure *failure);

/* Solves; false only when memory ends. On return `target` is the flows, and `shift` the changes of
 * head. Stops early when `step_limit` linear systems have been factorised in all; or, `is_rough`,
 * behind the guess, when then but few links turn open or shut and no zone is cut off: `is_balanced`
 * becomes false as sums of flows are left over. */
MUST_CHECK bool inner_solve(struct state *state, int step_limit, bool is_rough, bool *is_balanced,
                            struct failure *failure);

#endif
