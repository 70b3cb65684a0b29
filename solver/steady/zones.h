/* Zones: parts of a network that no open link joins to a held head.
 * A zone's heads are defined only up to a constant, so one of its points is pinned in the linear
 * system; and nothing but its own draws and the links at an end of their span feed it, so these
 * must sum to nothing. Where they do not, all heads of the zone move together until a link opens
 * (exact minimisation of the dual along the zone's own direction). When none ever does, the
 * direction proves that no flow meets the draws (Farkas' lemma): the draw is then lessened to what
 * the zone can get, and the state remembers it. */
#ifndef SOLVER_STEADY_ZONES_H
#define SOLVER_STEADY_ZONES_H

#include "solver/steady/state.h"

/* Unites what no shut link can ever part: rows joined by links without an end to their span. Asked
 * once in a solution, when the limited links are known. Sets has_loose_zone. */
void zones_part(struct state *state);

/* Unites these parts over the links whose linearised flow is off its ends or, `by_factors`, over
 * those open in the factors, and pins one row of each zone. */
void zones_find(struct state *state, bool by_factors);

/* Zones over the links now open, moved until their sums vanish. Leaves free_flow and target as
 * of the new shifts. Returns whether anything moved or a draw was lessened. */
bool zones_balance(struct state *state);

/* Zone numbers of the network's points, from 0, or NETWORK_NONE where a held head is reached or the
 * point is of the forest. Returns how many zones. */
int zones_number(struct state *state, int point_count, int zone[]);

#endif
