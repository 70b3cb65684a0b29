/* Rest: the head that stands on a shut non-return valve when every pump is stopped. */
#ifndef SOLVER_REST_H
#define SOLVER_REST_H

#include "models/arena.h"
#include "models/site.h"
#include "solver/steady/steady.h"

/* Every pump of `network`, a copy of the site's, at rest. `stopped` [pump_place_count] is the
 * caller's and must live as long as the network. */
void rest_stop_pumps(const struct site *site, struct network *network, struct pump_unit stopped[]);

/* A workspace for one network; arrays live in its arena. */
struct rest;

/* NULL: failure tells. */
struct rest *rest_new(const struct site *site, struct arena *arena, struct failure *failure);

/* Back head, m, on the valve of link `link` when it alone holds: all pumps stopped, the other
 * non-return valves in line with it, of its run and of others, taken as open both ways (they may
 * leak; the one in question must not rely on them). Positive: it presses the valve shut. Negative:
 * the water runs on by itself. Where the pipe behind it ends above water, the water stands up to
 * the lowest place where it spills. NAN when no head is defined on one side. `network` may differ
 * from the site's in element data. */
MUST_CHECK bool rest_back_head(struct rest *rest, struct steady_solver *solver,
                               const struct network *network, int link, double *back_head,
                               struct failure *failure);

#endif
