/* Catalogue sheets: what is built in, each part as a sheet and as a table for people. */
#ifndef IO_RESULTS_CATALOGUE_SHEETS_H
#define IO_RESULTS_CATALOGUE_SHEETS_H

#include "io/results/trade_table.h"

struct catalogue_part {
    const char *name;                   /* "fittings" */
    const char *summary;                /* one line */
    const char *remark;                 /* what to know of the numbers; goes under the table */
    const struct trade_column *columns; /* table of it */
    bool (*fill)(struct sheet *sheet, struct arena *arena); /* false: memory ended */
};

extern const struct catalogue_part catalogue_parts[];
extern const int catalogue_part_count;

#endif
