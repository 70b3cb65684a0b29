/* Ahead: many steps at once in the middle of long pipes, while their numbers are in the nearest
 * cache.
 *
 * What enters at a pipe's ends needs a step for each reach on its way inward. So at a step k after
 * some instant all nodes from the k-th to the k-th from the end follow from that instant alone, and
 * can be stepped before the ends are. Each stretch of nodes is taken through all steps, leaning
 * back by one node a step so that it needs nothing of the next one. The nodes near the ends, k of
 * them at each, are left to the steps themselves; of a folded pipe those near the ends of each
 * strand. All digits are as without it but for extremes, which are within slopes_tolerance
 * (solver/surge/slopes.h).
 *
 * Only while nothing in the middle can boil, which the limits of the pipe's values tell
 * (solver/surge/limits.h), and as far as the kernel's caller has said that nobody will look at
 * nodes inside (kernel_promise). */
#ifndef SOLVER_SURGE_AHEAD_H
#define SOLVER_SURGE_AHEAD_H

#include "solver/surge/row.h"

/* Begins a step: goes ahead if no middle is ahead any more and it is worth it. */
void ahead_begin(struct kernel *kernel);

/* Nodes at each end of the pipe, or of a folded pipe's strands, that the present step has yet to
 * take; negative: all of them. */
int ahead_end(const struct kernel *kernel, const struct kernel_pipe *pipe);

#endif
