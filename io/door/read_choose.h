/* Section choose: between which waters and levels a choice of valves must hold, and which valves
 * are in question; and the sites that come of it, one for each water with each set of levels. */
#ifndef IO_DOOR_READ_CHOOSE_H
#define IO_DOOR_READ_CHOOSE_H

#include "io/door/draft.h"
#include "solver/choose/envelope.h"

extern const struct section choose_section;

/* Into draft->site->choose; tanks and runs must have been read. `node` NULL: nothing is said. */
void read_choose(struct draft *draft, const struct tree *node);

/* sites[0] is the case itself; then, when it names waters or levels, all their combinations, each
 * read from the case's own text with its values put in, as if a person had written them. -1: told
 * in `faults`. */
int read_choose_sites(const struct site *site, struct arena *arena,
                      const struct envelope_site **sites, struct faults *faults);

#endif
