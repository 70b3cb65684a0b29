/* Cavities sheet: where the water boiled in a surge, and how hard its cavities shut, as attributes
 * of the group /surge. */
#ifndef IO_RESULTS_CAVITIES_SHEET_H
#define IO_RESULTS_CAVITIES_SHEET_H

#include "io/results/sheet.h"
#include "models/network.h"
#include "solver/surge/surge.h"

void cavities_sheet_put(struct sheet *sheet, const struct network *network,
                        const struct surge *surge);

/* Name of the pipe or point where the water first boiled; "" when it did not. */
const char *surge_vapour_place(const struct network *network, const struct surge *surge);

/* Name of the pipe or point with the largest cavity; "" when there was none. */
const char *surge_largest_place(const struct network *network, const struct surge *surge);

/* Name of the pipe or point where a cavity shut hardest; "" when none shut. */
const char *surge_collapse_place(const struct network *network, const struct surge *surge);

#endif
