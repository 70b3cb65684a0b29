/* Profile: the highest and lowest heads along the runs of a site. */
#ifndef SOLVER_SURGE_PROFILE_H
#define SOLVER_SURGE_PROFILE_H

#include "solver/surge/record.h"

/* Fills result->runs after the last step. False: memory ended. */
MUST_CHECK bool profile_make(const struct record *record, struct arena *arena,
                             struct failure *failure);

/* Whether `value`, right within `band` (NAN: unknown), is to be told instead of `worst`, the
 * highest so far, within `worst_band` (NAN: none yet): it is higher, or as high and surer. As where
 * water boils at many places, but one grid finds some of them and the next others. */
bool profile_is_worse(double value, double band, double worst, double worst_band);

#endif
