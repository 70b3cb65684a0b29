/* Explain: what `check` tells of a case: the network as it was understood, what was derived or
 * assumed, and what is doubtful. */
#ifndef IO_DOOR_EXPLAIN_H
#define IO_DOOR_EXPLAIN_H

#include "io/door/faults.h"
#include "io/terminal/prose.h"
#include "models/site.h"

/* Writes the whole explanation of a site read by read_site. */
void explain_site(const struct site *site, const struct faults *faults, struct prose *out);

/* Adds to `faults` what a person should look at again (doubts): read_site has already called it. */
void explain_doubts(const struct site *site, struct faults *faults);

#endif
