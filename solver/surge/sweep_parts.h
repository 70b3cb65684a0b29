/* Parts of a sweep (solver/surge/sweep.h), for its own files. */
#ifndef SOLVER_SURGE_SWEEP_PARTS_H
#define SOLVER_SURGE_SWEEP_PARTS_H

#include "solver/surge/sweep.h"

#include <string.h>

/* Nodes of a chunk, which is worked on as if its nodes lay in one interval of a table. */
enum { SWEEP_CHUNK = 32 };

/* By a table: nodes one after another, and strands side by side. */
void sweep_take_table(const struct sweep *sweep, const struct loss *loss);
void sweep_take_each(const struct sweep *sweep, const struct loss *loss);

/* Losses of at most a chunk of differences, wherever in the table they lie. */
void sweep_lose_mixed(const struct loss *loss, int count, const double difference[], double lost[]);

/* The one or the other by their bits: compilers make a branch of the plain question, and no vectors
 * of a branch. */
static inline double sweep_choose(bool is_first, double first, double second)
{
    uint64_t one;
    uint64_t other;
    uint64_t mask = is_first ? UINT64_MAX : 0;
    memcpy(&one, &first, sizeof one);
    memcpy(&other, &second, sizeof other);
    one = (one & mask) | (other & ~mask);
    memcpy(&first, &one, sizeof first);
    return first;
}

#endif
