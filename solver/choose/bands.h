/* Bands: how far the slam, and with it the handicap, of the best sets may be off because the grid
 * of a surge run is as coarse as it is.
 *
 * Each valve's hardest case is run once more at half the time step. At first order (valves and
 * pumps move by implicit steps) the coarse value is off by twice what that changes (Richardson);
 * times Roache's safety of 1.25 (J. Fluids Engineering 116, 1994) the band is 2.5 times the change.
 * A change can vanish by chance, so none counts for less than half the root mean square one (as in
 * solver/surge/precision.h). Values and ranks stay those of the coarse grid, by which all sets were
 * compared. Flow lost, dirt and service hang on no grid. */
#ifndef SOLVER_CHOOSE_BANDS_H
#define SOLVER_CHOOSE_BANDS_H

#include "solver/choose/team.h"

/* Fills slam_band and handicap_band of the ranked sets; NAN where a run found no answer.
 * *run_count: how many runs that took. False: memory (team->failure). */
MUST_CHECK bool bands_make(struct team *team, int set_count, struct valve_set sets[],
                           int *run_count, struct arena *arena);

#endif
