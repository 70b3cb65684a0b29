/* Surge cycles: what is said of PVC pipe whose pressure comes and goes. */
#ifndef IO_COMMAND_SURGE_CYCLES_H
#define IO_COMMAND_SURGE_CYCLES_H

#include "io/command/work.h"
#include "io/results/sheet.h"

/* Cautions where it tires, and, where the case says how often a day, that it does not. `sheet` is
 * that of surge_sheet. */
void surge_cycles_tell(const struct work *work, const struct sheet *sheet);

#endif
