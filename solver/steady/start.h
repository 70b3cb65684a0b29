/* Start: flows to begin with, when nothing is known.
 * From rest every law is taken as its chord to a usual velocity, and one linear system with every
 * link open gives heads of the right size and every flow its direction. Most losses go with the
 * square of the flow, for which the chord's answer q_1 and the usual flow q_0 bracket the true one
 * for the same head difference, their geometric mean: that is the flow to linearise at. Without it
 * the first step overshoots by orders of magnitude and the next ones come back by halves. */
#ifndef SOLVER_STEADY_START_H
#define SOLVER_STEADY_START_H

#include "solver/steady/state.h"

/* Flow, m3/s, at a usual velocity in the link's bore. */
double start_usual_flow(const struct link *link);

/* Sets the state's flows, within the spans: those of the state when `is_warm`, else
 * all at rest. */
void start_flows(struct state *state, bool is_warm);

/* The mean by products of a linearised flow away from rest and the usual one, m3/s. */
double start_fitted(double flow, double usual);

/* After inner_guess on the chords at rest: replaces `flow` by the geometric means. */
void start_fit(struct state *state);

#endif
