/* Strands: the middle of a long pipe cut into pieces that lie side by side in memory while many
 * steps are taken.
 *
 * Where a pipe's nodes stand one after another, p and m move past each other by one number a step,
 * so that vectors of one of them (or of the extremes) straddle lines of the cache. So a tile of the
 * pipe is cut into as many strands as the widest vector has places and laid out with all first
 * nodes side by side, then all second ones: now each step moves them by one whole vector. The last
 * nodes of a strand follow from the first of the next, so each carries a margin at both ends, of
 * one node for each step, which is thrown away. All digits are as without it. */
#ifndef SOLVER_SURGE_STRANDS_H
#define SOLVER_SURGE_STRANDS_H

#include "models/arena.h"
#include "solver/surge/row.h"

/* Most steps at a time, and fewest nodes of a pipe for which there are strands. */
enum { STRANDS_STEPS = 64, STRANDS_LEAST = 2048 };

/* Workspace for so many threads of a kernel whose longest pipe has `nodes` nodes; NULL if that is
 * too short for strands. False: memory ended. */
MUST_CHECK bool strands_init(struct strands **strands, int workers, int nodes, struct arena *arena,
                             struct failure *failure);

/* Takes `depth` steps in the middle of a pipe (solver/surge/ahead.h): one thread, in the workspace
 * of its number; or all threads of the kernel together. */
void strands_go(const struct kernel *kernel, const struct kernel_pipe *pipe, int depth, int worker);
void strands_go_shared(const struct kernel *kernel, const struct kernel_pipe *pipe, int depth);

#endif
