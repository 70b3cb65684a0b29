/* Linearise: each law as a straight line through where its flow now is.
 * Any slope above zero is allowed: it shapes the step, not the answer. */
#ifndef SOLVER_STEADY_LINEARISE_H
#define SOLVER_STEADY_LINEARISE_H

#include "solver/steady/state.h"

/* Conductance of every link from the chord between its flow and the usual one beside it:
 * the right size for a law that stands at rest and has no slope there. */
void linearise_chords(struct state *state, const struct water *water);

/* The same from the tangents, with a floor that keeps links without loss solvable and chords where
 * the tangent would mislead. */
void linearise(struct state *state, const struct water *water);

#endif
