/* Bootstrap: how far Sobol's indices may be off because the samples are so many and no more.
 * The base samples are drawn anew, with repetition, again and again, and the indices found of each
 * draw; 95 of 100 of them lie in the interval (percentile interval: Efron & Tibshirani, An
 * Introduction to the Bootstrap, 1993, ch. 13; for these indices: Archer, Saltelli & Sobol, J.
 * Stat. Comput. Simul. 58, 1997). Sobol points are more even than chance, so it is rather too wide.
 */
#ifndef SOLVER_STUDY_BOOTSTRAP_H
#define SOLVER_STUDY_BOOTSTRAP_H

#include "solver/study/statistics.h"

#include <stdint.h>

enum { BOOTSTRAP_DRAWS = 400 };

/* Ends of the 95 % intervals of what indices_find gives for the same arguments, into `low` and
 * `high` [input_count]; the same for the same seed. NAN where there are no indices, or fewer than
 * two base samples. False: memory ended. */
MUST_CHECK bool bootstrap_indices(int input_count, int samples, const double values[],
                                  uint64_t seed, struct indices low[], struct indices high[],
                                  struct failure *failure);

#endif
