/* Boiling: cavities of vapour at the nodes inside pipes (solver/surge/kernel.h tells the model). */
#ifndef SOLVER_SURGE_BOILING_H
#define SOLVER_SURGE_BOILING_H

#include "solver/surge/row.h"

/* Head over boiling, m, below which gas counts as a cavity. */
extern const double boiling_margin;

/* Opens, keeps and closes the cavities inside one pipe after the waves have moved; those that are
 * open, or closed in this step, are added to kernel->cavities. */
void boiling_step(struct kernel *kernel, struct kernel_pipe *pipe);

#endif
