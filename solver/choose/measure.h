/* Measure: what the steady and the surge solver say of a site with a set of valves in place. */
#ifndef SOLVER_CHOOSE_MEASURE_H
#define SOLVER_CHOOSE_MEASURE_H

#include "models/arena.h"
#include "models/site.h"
#include "solver/choose/candidate.h"
#include "solver/choose/envelope.h"

/* Everything one worker needs; not to be shared between threads. */
struct workbench;

/* `places` [place_count] are the places in question, indices in site.valves; at the others the
 * case's own valves stand. All are borrowed. NULL: failure tells. Free with workbench_free. */
struct workbench *workbench_new(const struct envelope *envelope, int place_count,
                                const int places[], struct failure *failure);
void workbench_free(struct workbench *bench);

/* The steady answer of one condition with candidate picks[i] at place i; measures[place_count]
 * without back head. False: memory. */
MUST_CHECK bool measure_steady(struct workbench *bench, int condition,
                               const struct candidate *const picks[], struct measures measures[],
                               struct failure *failure);

/* Back heads [place_count] with every pump of one site stopped. False: memory. */
MUST_CHECK bool measure_rest(struct workbench *bench, int site,
                             const struct candidate *const picks[], double back_head[],
                             struct failure *failure);

/* The surge run of one trip, from its condition's steady answer, with a time step so many times
 * finer than usual (1: as usual). False: memory. */
MUST_CHECK bool measure_surge(struct workbench *bench, int trip, int refinement,
                              const struct candidate *const picks[], struct measures measures[],
                              struct failure *failure);

#endif
