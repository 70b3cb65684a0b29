/* Table: a CSV file whose first row names the columns with their units: "distance [m]".
 * Comma or semicolon between cells (the head decides), quotes around cells that need them, blank
 * lines and lines that begin with # are skipped. */
#ifndef IO_DOOR_TABLE_H
#define IO_DOOR_TABLE_H

#include "io/door/keys.h"

enum { TABLE_COLUMNS_MOST = 32, TABLE_ROWS_MOST = 200000, TABLE_SIZE_MOST = 32 * 1024 * 1024 };

/* A column asked for. */
struct column {
    const char *name;
    enum quantity quantity;
    bool is_optional; /* where the file has none, its values are NAN */
    enum plausible plausible;
};

struct table {
    int row_count;
    double *values; /* [row_count][column_count asked for] SI */
    int *lines;     /* [row_count] line of the file */
};

/* Reads the asked columns of the file at `path` (further columns are let be). False: told. */
MUST_CHECK bool table_read(const struct reader *reader, const char *path, int column_count,
                           const struct column columns[], struct table *table);

/* The same from a text in memory. */
MUST_CHECK bool table_read_text(const struct reader *reader, const char *file, const char *text,
                                size_t size, int column_count, const struct column columns[],
                                struct table *table);

/* The path of `file` beside the case at `case_path`, or NULL (told at `place`): only a relative
 * path that does not climb out of the case's folder is taken, and only where a file is. */
const char *table_path(const struct reader *reader, const char *case_path, const char *file,
                       struct place place);

#endif
