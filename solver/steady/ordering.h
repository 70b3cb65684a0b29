/* Ordering: in which order the rows of a sparse symmetric system are best eliminated.
 * Those of least degree first, which keeps what fills in small. While some row has three neighbours
 * or fewer it is taken at once: its neighbours become each other's, so that there are never more
 * pairs than before. That is half or more of a supply network's rows. For the others, degrees are
 * approximated (AMD; Amestoy, Davis & Duff 1996). */
#ifndef SOLVER_STEADY_ORDERING_H
#define SOLVER_STEADY_ORDERING_H

#include "models/failure.h"
#include "solver/steady/fold.h"

/* `order[row]` becomes the place of each row of `pair_count` different pairs; rows that lead to one
 * another stand near one another. False when memory ended. */
MUST_CHECK bool ordering_find(struct planning *planning, int row_count, int pair_count,
                              const struct fold_pair pair[pair_count], int order[row_count]);

#endif
