/* Group chain: a group whose plain parts stand in a row between pipes, as most do: a valve between
 * two pipes, a pump with what is screwed to it, a fitting before a tank; and a point at which
 * pipes only meet, a row of no parts.
 *
 * One flow Q goes through all its parts, for nothing is drawn between them. So instead of heads at
 * all points (group.h) only Q and the heads at the two ends are unknown:
 *   sum of drops(Q) = H_first - H_last,  inflow(H_first) = Q,  inflow(H_last) = -Q
 * with the first or the last head told where a held point stands there. Newton's step: drops and
 * pipe ends are linearised, Q kept to the flows that all parts let pass. The heads between follow
 * from the drops, from both ends towards the part that is shut, if one is. Where two are shut,
 * heads between are known to nobody (enclosed.h); then, and where the error does not fall fast or
 * parts and pipes together need less for more flow, the chain leaves the group to group_solve. */
#ifndef SOLVER_SURGE_GROUP_CHAIN_H
#define SOLVER_SURGE_GROUP_CHAIN_H

#include "solver/surge/group.h"

struct group_chain {
    int part_count;
    struct lumped **part; /* [part_count] in their order */
    double *sign;         /* [part_count] 1: its flow is Q; -1: -Q */
    int *point;           /* [part_count + 1] in the network, between the parts and at both ends;
                             GROUP_HELD: a held point, at an end only */
    double held[2];       /* m, at the first and the last point where held */
};

/* A group, its cavities the last of its links, as a chain; NULL: it is none. False: memory ended.
 */
MUST_CHECK bool group_chain_find(const struct group_chain **found, const struct group *group,
                                 const struct network *network, const struct ends *ends,
                                 struct arena *arena, struct failure *failure);

/* As group_solve for the group without its cavities; `missed`: by how much, m, it misses its laws
 * at most. No point of it is enclosed. False: nothing found, heads and flows are as they were. */
bool group_chain_solve(const struct group_chain *chain, const struct group_place *place,
                       double impedance, double *missed);

#endif
