/* Walk: all sets of one candidate a place whose fixed points (see valve_set_fixed) together stay
 * within a bound. */
#ifndef SOLVER_CHOOSE_WALK_H
#define SOLVER_CHOOSE_WALK_H

#include "models/arena.h"
#include "models/failure.h"

#include <stdint.h>

/* The candidates that a place may take. */
struct walk_list {
    int count;
    int *candidate; /* [count] indices, least fixed points first */
    double *fixed;  /* [count] per cent of handicap, rising */
};

struct walk {
    int count;
    uint16_t *chosen;  /* [count][place_count] index of the candidate at each place */
    double least_left; /* per cent; of the sets with more fixed points some were left out as too
                          many, though the bound allows them. NAN: none was */
};

/* Lists the sets of at most `most` per cent (INFINITY: all) in arrays of `arena`. Where there are
 * more than `sets_most`, so many with the least fixed points. place_count is 1 to
 * CHOOSE_PLACES_MOST. False: memory ended. */
MUST_CHECK bool walk_within(int place_count, const struct walk_list lists[place_count], double most,
                            int sets_most, struct walk *walk, struct arena *arena);

#endif
