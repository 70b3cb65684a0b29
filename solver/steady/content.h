/* Content: the convex function whose minimum under balanced sums is the steady flow, searched along
 * one step of flows through its derivative
 *     E'(t) = sum over links of (drop(q + t dq) - head difference) dq,
 * which never falls with t (Cherry & Millar 1951; Collins et al. 1978). */
#ifndef SOLVER_STEADY_CONTENT_H
#define SOLVER_STEADY_CONTENT_H

#include "solver/steady/state.h"

/* Drops and slopes of all laws at `trial`. */
void content_evaluate(struct state *state, const struct water *water);

/* Sets `trial` to flow + t (target - flow) with a t that lowers the content enough, `drop` and
 * `slope` to the laws there, and returns t. `head` is at the end of the step. */
double content_search(struct state *state, const struct water *water);

#endif
