/* Tables: points and pipes of large networks from CSV files beside the case. */
#ifndef IO_DOOR_READ_TABLES_H
#define IO_DOOR_READ_TABLES_H

#include "io/door/draft.h"

extern const struct section tables_section;

/* What stands under "tables". */
struct tables {
    const char *points; /* paths from the case's folder, or NULL */
    const char *pipes;
    struct place points_place, pipes_place;
};

/* Reads the words under `node` (NULL: none are said). False: told. */
MUST_CHECK bool read_tables(struct draft *draft, const struct tree *node, struct tables *tables);

/* Points with the columns name, elevation and, if there, draw; before the runs. */
void read_point_table(struct draft *draft, const struct tables *tables);

/* Pipes with the columns name, from, to, length, bore and roughness, between points and tanks;
 * after the runs. */
void read_pipe_table(struct draft *draft, const struct tables *tables);

#endif
