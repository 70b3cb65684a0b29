/* What `check` tells of parts other than pipes, pumps, fittings and non-return valves. */
#ifndef IO_DOOR_EXPLAIN_PARTS_H
#define IO_DOOR_EXPLAIN_PARTS_H

#include "io/terminal/prose.h"
#include "models/site.h"

/* Its kind and the numbers that were understood, in the units of the trade. */
void explain_part(const struct site *site, const struct link *link, struct prose *out);

#endif
