/* Filling sheet: the group /filling of a filling answer. */
#ifndef IO_RESULTS_FILLING_SHEET_H
#define IO_RESULTS_FILLING_SHEET_H

#include "io/results/sheet.h"
#include "models/arena.h"
#include "models/failure.h"
#include "models/site.h"
#include "solver/filling/filling.h"

/* Levels, flows, pumps and energy over time; sums for each tank, pump and open end; every event;
 * attributes tell of the run itself and of its balance of water. */
MUST_CHECK bool filling_sheet(const struct site *site, const struct filling *filling,
                              struct sheet *sheet, struct arena *arena, struct failure *failure);

#endif
