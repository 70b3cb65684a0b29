/* Valve curves: how fast the water runs backward as each of some non-return valves shuts, over a
 * row of decelerations, as a sheet (/valve) and as a table for people. */
#ifndef IO_COMMAND_VALVE_CURVES_H
#define IO_COMMAND_VALVE_CURVES_H

#include "io/results/sheet.h"
#include "io/terminal/terminal.h"
#include "models/arena.h"
#include "models/non_return.h"

enum { VALVE_LABEL_SIZE = 120 };

/* A valve to be told of. */
struct valve_entry {
    const struct non_return *valve;
    const struct water *water;
    char label[VALVE_LABEL_SIZE]; /* "swing flap DN50" */
};

/* One row for each valve and deceleration; the field stated_reverse_velocity is there when a
 * valve's maker states a curve. `entries` must outlive the sheet. False: memory ended. */
MUST_CHECK bool valve_curves_fill(int count, const struct valve_entry entries[],
                                  struct sheet *sheet, struct arena *arena);

/* The sheet as a table, and from what it comes. False: memory ended. */
MUST_CHECK bool valve_curves_print(int count, const struct valve_entry entries[],
                                   const struct sheet *sheet, const struct terminal *terminal,
                                   struct arena *arena);

#endif
