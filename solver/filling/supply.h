/* Supply: the tanks' mouths that a pump's water comes from, and whether any of them still stands
 * under water. */
#ifndef SOLVER_FILLING_SUPPLY_H
#define SOLVER_FILLING_SUPPLY_H

#include "solver/filling/works.h"

/* What feeds one pump. */
struct supply_row {
    int count;
    int *mouths; /* [count] index in works.mouths */
};

struct supply {
    const struct works *works;
    struct supply_row *rows; /* [machine_count] */
};

/* Goes from each pump's inlet against the way of the runs, as far as the next pump. The time
 * grows with pumps times links. */
MUST_CHECK bool supply_init(struct supply *supply, const struct works *works, struct arena *arena,
                            struct failure *failure);

/* Every mouth that feeds the pump has come out of the water, so that it draws air; false where none
 * of its water comes from a tank whose level moves. */
bool supply_is_dry(const struct supply *supply, int machine);

#endif
