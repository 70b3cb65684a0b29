/* Judge: measures against what a site demands of a valve. */
#ifndef SOLVER_CHOOSE_JUDGE_H
#define SOLVER_CHOOSE_JUDGE_H

#include "models/site.h"
#include "solver/choose/candidate.h"

/* The site's limits with the default rule in every place where the case said nothing. */
struct limits judge_limits(const struct site *site);

/* The requirements that need no surge run; fills judgements and failed_count. `reference` is the
 * same place with a valve without loss or inertia. */
void judge_steady(const struct site *site, const struct valve_place *place,
                  const struct measures *reference, struct candidate *candidate);

/* The requirements after a surge run, added to the former. */
void judge_surge(const struct site *site, const struct measures *reference,
                 struct candidate *candidate);

#endif
