/* Elevation: how high each end of each part of a run lies, from the few that are said. */
#ifndef IO_DOOR_ELEVATION_H
#define IO_DOOR_ELEVATION_H

#include "io/door/part.h"

/* Fills elevation_from and elevation_to of the parts. `first` and `last`, m, are those of the run's
 * ends, NAN: not known. Between known ones the pipes share the rise by their lengths; other parts
 * lie level; beyond the last known one it stays there. */
void elevation_settle(int count, struct part parts[], double first, double last);

#endif
