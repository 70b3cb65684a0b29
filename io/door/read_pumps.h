/* Section pumps: the machines as their makers describe them. */
#ifndef IO_DOOR_READ_PUMPS_H
#define IO_DOOR_READ_PUMPS_H

#include "io/door/draft.h"

extern const struct section pump_section;

/* Takes the section's node, or NULL; faults go to the list. */
void read_pumps(struct draft *draft, const struct tree *node);

/* The pump of this name, or NULL; then *nearest is the nearest name or NULL. */
const struct pump *find_pump(const struct draft *draft, const char *name, const char **nearest);

#endif
