/* Reach: where the water of one point goes, following the flows of a solved network. */
#ifndef SOLVER_FINDINGS_REACH_H
#define SOLVER_FINDINGS_REACH_H

#include "models/arena.h"
#include "models/network.h"
#include "solver/steady/steady.h"

/* The network as seen downstream: for each point the links that carry water away from it. */
struct reach {
    const struct network *network;
    const double *flow; /* [link_count] m3/s */
    int *first;         /* [point_count + 1] into next */
    int *next;          /* points the water goes to */
    int *queue;         /* [point_count] */
    int *visit;         /* [point_count] number of the last search that came by */
    int searches;
};

/* Flows smaller than `least` m3/s count as none. Arrays in `arena`. */
MUST_CHECK bool reach_init(struct reach *reach, const struct network *network,
                           const struct steady *steady, double least, struct arena *arena,
                           struct failure *failure);

/* Visits every point that water from `point` comes to; after it reach_came_by tells of each. Water
 * does not go on through a held point: a tank takes it in. */
void reach_from(struct reach *reach, int point);
bool reach_came_by(const struct reach *reach, int point);

#endif
