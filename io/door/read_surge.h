/* Section surge: what happens, for how long, and what is watched. */
#ifndef IO_DOOR_READ_SURGE_H
#define IO_DOOR_READ_SURGE_H

#include "io/door/draft.h"

extern const struct section surge_section;
extern const struct section event_section;

/* Takes the section's node, or NULL; faults go to the list. The network must be complete. */
void read_surge(struct draft *draft, const struct tree *node);

#endif
