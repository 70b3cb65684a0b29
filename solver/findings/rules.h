/* Rules: each looks at one kind of thing in a solved site and adds its findings. */
#ifndef SOLVER_FINDINGS_RULES_H
#define SOLVER_FINDINGS_RULES_H

#include "solver/findings/view.h"

void rules_suction(const struct view *view); /* lift, foot valve, prime */
void rules_valves(const struct view *view);  /* opens, fully, seats, mounting, service, debris */
void rules_pipes(const struct view *view);   /* velocity, gradient, class, dead legs, high points */
void rules_points(const struct view *view);  /* wanted pressure, air drawn in, cut-off zones */

/* Which tank feeds which when the pumps stop, and which valve then finds no head to seat it.
 * `arena` is for scratch; false: memory. */
MUST_CHECK bool rules_rest(const struct view *view, struct arena *arena, struct failure *failure);

/* Duty, suction, start, motor, what a pump can fill. `arena` is for scratch; false: memory. */
MUST_CHECK bool rules_pumps(const struct view *view, struct arena *arena, struct failure *failure);

/* Mains that run dry beyond a summit when the pumps stop. `arena` is for scratch; false: memory. */
MUST_CHECK bool rules_summits(const struct view *view, struct arena *arena,
                              struct failure *failure);

/* Several duty points, regulators out of their range. `arena` is for scratch; false: memory. */
MUST_CHECK bool rules_coupled(const struct view *view, struct arena *arena,
                              struct failure *failure);

#endif
