/* Correction: a step's second half with the factors of its first.
 * With the laws evaluated anew at the new flows and the conductances left as they are, one more
 * back-substitution makes the order of Newton's iteration three instead of two (Potra & Ptak 1984;
 * Traub 1964, sec. 8.2). It is a descent of the content too:
 *     E'(0) = sum of (drop - head difference) dq = -sum of dq^2/g,
 * so that the line search of content.h guards it like any other step. */
#ifndef SOLVER_STEADY_CORRECTION_H
#define SOLVER_STEADY_CORRECTION_H

#include "solver/steady/state.h"

/* From balanced flows with their drops: moves heads, flows and drops, and says in `gap` how far the
 * heads then are from meeting the laws. `*has_moved` false: some flow would leave its span, nothing
 * was changed. */
MUST_CHECK bool correction_make(struct state *state, const struct water *water, bool *has_moved,
                                struct gap *gap, struct failure *failure);

#endif
