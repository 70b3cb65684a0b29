/* Linearise: each law as a straight line through where its flow now is.
 * Any slope above zero is allowed: it shapes the step, not the answer. */
#ifndef SOLVER_STEADY_LINEARISE_H
#define SOLVER_STEADY_LINEARISE_H

#include "solver/steady/state.h"

/* Conductance of every link from the chord between its flow and the usual one beyond it (back from
 * the upper end of its span, and no farther than the other end): the right size for a law that
 * stands at rest and has no slope there. At least 1e-6 m is lost over the usual flow. */
void linearise_chords(struct state *state, const struct water *water);

/* The same from the tangents. At an end of its span a law takes that chord if it is steeper; a flow
 * whose distance from rest became 0.3 to 0.6 of what it was takes the chord to rest. A law has at
 * least 1e-8 m over the usual flow, times floor_raise, and one without a slope at least gap_head:
 * neither more than 1e-6 m. */
void linearise(struct state *state, const struct water *water);

#endif
