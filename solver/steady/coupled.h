/* Coupled: steady flow where some laws are no monotone graph: a regulator that holds a head, a leg
 * of a tee, a pump curve with a rising part.
 *
 * First the convex problem with their nearest monotone laws (newton.h). From its answer a
 * semismooth Newton on the whole unsymmetric system (coupled_system.h) with a line search that may
 * go uphill for a few steps (Grippo, Lampariello & Lucidi 1986). Where that fails the laws are led
 * from the nearest monotone to the full ones by steps (continuation; Allgower & Georg 1990), and
 * where that fails heads and flows move as in time with damping that sinks with the residual
 * (pseudo-transient continuation; Kelley & Keyes 1998). Where all fail the best heads and flows are
 * given and the ending says so: such a network may have no answer, one, or several. */
#ifndef SOLVER_STEADY_COUPLED_H
#define SOLVER_STEADY_COUPLED_H

#include "solver/steady/ending.h"
#include "solver/steady/state.h"

struct coupled;

/* True when some link of the network asks for this solver. */
bool coupled_is_needed(const struct network *network);

/* For networks of this shape and these partners; NULL: failure tells. */
struct coupled *coupled_new(const struct network *network, const struct state *state,
                            struct failure *failure);
void coupled_free(struct coupled *coupled);

/* False when the partners of the links are others than at coupled_new. */
bool coupled_fits(const struct coupled *coupled, const struct network *network);

/* Solves from the state's heads, draws and (warm) flows, and leaves heads and flows there. Steps of
 * both solvers are counted. False: memory. */
MUST_CHECK bool coupled_solve(struct coupled *coupled, struct state *state,
                              const struct network *network, const struct water *water,
                              const struct steady_options *options, enum steady_ending *ending,
                              struct failure *failure);

#endif
