/* Section runs: rows of parts between two ends, turned into points and links. */
#ifndef IO_DOOR_READ_RUNS_H
#define IO_DOOR_READ_RUNS_H

#include "io/door/draft.h"

extern const struct section run_section;

/* Takes the section's node, or NULL; faults go to the list. */
void read_runs(struct draft *draft, const struct tree *node);

#endif
