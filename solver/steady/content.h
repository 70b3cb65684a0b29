/* Content: the convex function whose minimum under balanced sums is the steady flow, searched along
 * one step of flows through its derivative
 *     E'(t) = sum over links of (drop(q + t dq) - head difference) dq,
 * which never falls with t (Cherry & Millar 1951; Collins et al. 1978). */
#ifndef SOLVER_STEADY_CONTENT_H
#define SOLVER_STEADY_CONTENT_H

#include "solver/steady/state.h"

/* Drops and slopes of all laws at `flow`, and the excesses of heads over them. */
void content_evaluate(struct state *state, const struct water *water);

/* The same right behind start_fit, see runs_add_fitted. */
void content_evaluate_start(struct state *state, const struct water *water);

/* The same where `flow` is at rest wherever rest is within the span. */
void content_evaluate_rest(struct state *state, const struct water *water);

/* Goes from `flow` to flow + t (target - flow) with t = 1 or, `may_search`, one that lowers the
 * content enough; `drop`, `slope` and `excess` become those of the laws there, `gap->head` and
 * `gap->head_units` what they miss. `head` is at the end of the step. On return `target` holds the
 * flows at its start; what `trial` holds means nothing. */
void content_step(struct state *state, const struct water *water, bool may_search, struct gap *gap);

/* The same where the end of the step is what the linearised laws with the links open that `is_open`
 * says ask for at `shift`, within the spans. */
void content_step_linear(struct state *state, const struct water *water, struct gap *gap);

#endif
