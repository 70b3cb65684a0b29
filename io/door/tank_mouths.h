/* Tank mouths: where runs end and begin in a tank, held against its floor, brim and level. */
#ifndef IO_DOOR_TANK_MOUTHS_H
#define IO_DOOR_TANK_MOUTHS_H

#include "io/door/draft.h"

/* `node` is the tank's map; elevations in m, NAN where not said, as are the tank's floor and brim.
 */
void check_mouths(struct draft *draft, const struct tree *node, const struct tank *tank,
                  double inlet, double outlet);

/* The end of a run, `mouth` m high, in a tank whose inlets lie under water: a doubt where the water
 * of the case does not reach it. */
void check_end_under_water(struct draft *draft, const char *run, struct place place,
                           const struct tank *tank, double mouth);

#endif
