/* Measure: what the steady and the surge solver say of a site with one valve in place. */
#ifndef SOLVER_CHOOSE_MEASURE_H
#define SOLVER_CHOOSE_MEASURE_H

#include "models/arena.h"
#include "models/site.h"
#include "solver/choose/candidate.h"

/* Everything one worker needs; not to be shared between threads. */
struct workbench;

/* `plan` is the surge plan to run. NULL: failure tells. Free with workbench_free. */
struct workbench *workbench_new(const struct site *site, const struct surge_plan *plan,
                                struct failure *failure);
void workbench_free(struct workbench *bench);

/* Puts `valve` at place number `place` of site.valves, solves steady and rest. False: memory. */
MUST_CHECK bool measure_steady(struct workbench *bench, int place, const struct non_return *valve,
                               struct measures *measures, struct failure *failure);

/* Goes on with the surge run from the steady answer of the last measure_steady. */
MUST_CHECK bool measure_surge(struct workbench *bench, int place, struct measures *measures,
                              struct failure *failure);

#endif
