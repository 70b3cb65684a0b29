/* Series: pipes one behind another, whose flows follow from that of the first and the draws.
 * Where two pipes and nothing else meet at a point whose head is not held, the flow of the second
 * is that of the first less what is drawn there, whatever the heads are. So a run of such pipes is
 * one law of one flow, the sum of theirs, which is a monotone graph as each of them is; only the
 * points between runs are iterated (contraction of a network to its true junctions: Boulos &
 * Altman 1991; Diao et al. 2014), and the points inside get their heads once, from the answer.
 * Taken are pipes whose whole law is friction by a roughness; any other part stays, as do the
 * points beside it. Where one pipe of these runs has another law, no run is taken. */
#ifndef SOLVER_STEADY_SERIES_H
#define SOLVER_STEADY_SERIES_H

#include "models/network.h"
#include "solver/steady/forest.h"

struct series_pipe {
    int link;  /* of the network; ~link where it points against the run */
    int ahead; /* the point at its far end */
};

struct series {
    int count;                /* runs, each of at least two pipes between different points */
    int *start;               /* [count + 1] of each run in `pipe` */
    struct series_pipe *pipe; /* [start[count]] along each run */
    int first;                /* a pipe of the first run by the network's shape, NETWORK_NONE: there
                                 is none; runs are taken only if its law is friction by a roughness */
};

/* Whether its whole law is friction by a roughness. */
bool series_is_plain(const struct link *link);

/* The number in the network of a pipe of a run. */
static inline int series_link(const struct series *series, int pipe)
{
    const int link = series->pipe[pipe].link;
    return link < 0 ? ~link : link;
}

/* Finds them by the network's shape: all, or none where `first` has another law. `left`
 * [point_count] is what forest_plan has left and is used up. False when memory ended: nothing is to
 * be given back. */
MUST_CHECK bool series_plan(struct series *series, const struct network *network,
                            struct forest_left left[], struct failure *failure);
void series_free(struct series *series);

#endif
