/* Boiling: cavities at the nodes inside pipes, of vapour or of a little gas (solver/surge/kernel.h
 * tells the models). Vapour is the default: it meets the exact solution of a single cavity to
 * round-off and leaves every other wave alone. Gas makes small cavities open and shut more
 * smoothly, but where a whole pipe boils it does not settle sooner: on five grids the blow of such
 * a case came out between 190 and 219 m with vapour and between 184 and 221 m with gas (computed).
 */
#ifndef SOLVER_SURGE_BOILING_H
#define SOLVER_SURGE_BOILING_H

#include "solver/surge/row.h"

/* Head over boiling, m, below which gas counts as a cavity. */
extern const double boiling_margin;

/* Opens, keeps and closes the cavities of `count` nodes of one pipe, none of them an end, after the
 * waves have moved; those that are open, or closed in this step, are added to kernel->cavities, the
 * open ones are counted in pipe->cavity_count. Without cavities before, nodes are only visited if
 * one of them is below boiling. */
void boiling_step(struct kernel *kernel, struct kernel_pipe *pipe, int64_t node, int64_t count,
                  bool had_cavities);

#endif
