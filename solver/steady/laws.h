/* Laws: what the links of a network ask of heads and flows, brought into the order of the state. */
#ifndef SOLVER_STEADY_LAWS_H
#define SOLVER_STEADY_LAWS_H

#include "solver/steady/state.h"

/* Reads law and span of every link, which ones have an end to their span, and the parts of the
 * network that no such link joins (zones_part). Returns whether all are monotone graphs, where one
 * has a coupling its nearest such law being read; and whether every pipe of a run still has a law
 * that its run may be made of. */
bool laws_read(struct state *state, const struct network *network, const struct water *water);

#endif
