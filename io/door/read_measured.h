/* Measured: heads that somebody measured at a gauge, from a table beside the case. */
#ifndef IO_DOOR_READ_MEASURED_H
#define IO_DOOR_READ_MEASURED_H

#include "io/door/draft.h"

extern const struct section measured_section;

/* Takes the map at 'measured' of the section surge, or NULL, into the plan, whose gauges must be
 * known; faults go to the list. */
void read_measured(struct draft *draft, const struct tree *node);

#endif
