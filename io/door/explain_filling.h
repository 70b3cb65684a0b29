/* Explain filling: what `check` tells of a case's hours and days. */
#ifndef IO_DOOR_EXPLAIN_FILLING_H
#define IO_DOOR_EXPLAIN_FILLING_H

#include "io/terminal/prose.h"
#include "models/site.h"

/* Nothing where the case has no section filling. */
void explain_filling(const struct site *site, struct prose *out);

#endif
