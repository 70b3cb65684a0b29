/* Trade table: fields of a sheet as a table on a terminal, in the units of the trade.
 * The table is data: which fields, under which head, in which unit. */
#ifndef IO_RESULTS_TRADE_TABLE_H
#define IO_RESULTS_TRADE_TABLE_H

#include "io/results/sheet.h"
#include "io/terminal/terminal.h"
#include "models/arena.h"

/* One column; a list ends with a field of NULL. The value shown is factor x SI value. */
struct trade_column {
    const char *field;
    const char *head;
    const char *unit;
    double factor;
    int decimals; /* TABLE_TEXT for a field of text */
};

/* Prints the rows for which `mask` (a field along the same dimension) is not 0; NULL: all. Nothing
 * when there are no rows. A title in bold stands over it and an empty line after it. False: memory
 * ended. */
bool trade_table(const struct sheet *sheet, const char *title, const struct trade_column *columns,
                 const char *mask, const struct terminal *terminal, struct arena *arena);

#endif
