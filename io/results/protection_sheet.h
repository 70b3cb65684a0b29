/* Protection sheet: what air vessels and air valves did, as part of the group /surge. */
#ifndef IO_RESULTS_PROTECTION_SHEET_H
#define IO_RESULTS_PROTECTION_SHEET_H

#include "io/results/sheet.h"
#include "models/network.h"
#include "solver/surge/protection.h"

/* Adds them along the dimension `time` of the sheet; nothing where there are none. False: memory
 * ended. */
bool protection_sheet_put(struct sheet *sheet, int time, const struct network *network,
                          const struct surge_protection *protection, struct arena *arena);

#endif
