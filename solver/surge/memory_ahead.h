/* Memory ahead: many steps in the middle of a long pipe with a memory (solver/surge/ahead.h), by
 * stretches that stay in the nearest cache. Stretches in which each head only rises or only falls
 * (solver/surge/memory_slopes.h) have but the first and the last head of each node noted. */
#ifndef SOLVER_SURGE_MEMORY_AHEAD_H
#define SOLVER_SURGE_MEMORY_AHEAD_H

#include "solver/surge/row.h"

/* Takes `depth` steps, at most AHEAD_FAR: at step k the nodes from the k-th to the k-th from the
 * end. The pipe has no gas and no cavity. */
void memory_ahead(const struct kernel *kernel, const struct kernel_pipe *pipe, int depth);

#endif
