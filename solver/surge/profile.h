/* Profile: the highest and lowest heads along the runs of a site. */
#ifndef SOLVER_SURGE_PROFILE_H
#define SOLVER_SURGE_PROFILE_H

#include "solver/surge/record.h"

/* Fills result->runs after the last step. False: memory ended. */
MUST_CHECK bool profile_make(const struct record *record, struct arena *arena,
                             struct failure *failure);

#endif
