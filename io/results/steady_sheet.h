/* Steady sheet: the group /steady of a steady answer. */
#ifndef IO_RESULTS_STEADY_SHEET_H
#define IO_RESULTS_STEADY_SHEET_H

#include "io/results/sheet.h"
#include "models/arena.h"
#include "models/failure.h"
#include "models/site.h"
#include "solver/steady/steady.h"

/* Points, links, tanks, runs, pumps and non-return valves with what the answer says of each, and
 * the certificate as attributes. */
MUST_CHECK bool steady_sheet(const struct site *site, const struct steady *steady,
                             struct sheet *sheet, struct arena *arena, struct failure *failure);

#endif
