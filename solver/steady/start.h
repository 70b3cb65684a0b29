/* Start: flows to begin with, when nothing is known.
 * First every link carries a usual velocity. One linear system then gives heads of the right size;
 * where a link's law is far from what these heads ask of it (a short wide pipe between tanks far
 * apart in level), its flow is found anew from its own law, so that the first Newton step does not
 * overshoot by orders of magnitude and come back by halves. */
#ifndef SOLVER_STEADY_START_H
#define SOLVER_STEADY_START_H

#include "solver/steady/state.h"

/* Flow, m3/s, at a usual velocity in the link's bore. */
double start_usual_flow(const struct link *link);

/* Sets the state's flows and trial flows, within the spans: those of the state when `is_warm`. */
void start_flows(struct state *state, const struct network *network, bool is_warm);

/* After inner_guess on the laws at the start: replaces `flow` where it is far off what the heads
 * ask. Returns how many were; then the state must be linearised again. */
int start_fit(struct state *state, const struct network *network, const struct water *water);

#endif
