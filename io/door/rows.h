/* Rows: a long CSV file read row by row, fast enough for a million lines. The first row names the
 * columns, with a unit where they hold quantities: "length [m]". Comma or semicolon between cells
 * (the head decides), quotes around a cell that needs them, blank lines and lines that begin with #
 * are skipped. Texts stay where the file was read to; small tables are read by table.h. */
#ifndef IO_DOOR_ROWS_H
#define IO_DOOR_ROWS_H

#include "io/door/keys.h"

#include <limits.h>

enum { ROWS_COLUMNS_MOST = 16 };

/* A column asked for. */
struct rows_column {
    const char *name;
    enum quantity quantity; /* of a column of numbers */
    bool is_text;
    bool is_optional; /* absent, or its cell empty: NAN, or NULL */
    bool is_positive; /* a number must be above 0 */
    enum plausible plausible;
};

/* A cell of the present row. */
struct rows_cell {
    const char *text; /* lives as long as the arena */
    double value;     /* SI */
};

struct rows {
    const struct reader *reader;
    const char *file;
    char *at;       /* start of the next line */
    int line;       /* of the present row */
    int count_most; /* no more rows than this follow */
    char separator;
    int column_count;
    const struct rows_column *columns;
    int asked[ROWS_COLUMNS_MOST];     /* by place in the file: number of the asked column, or -1 */
    int place_count;                  /* columns in the file */
    double factor[ROWS_COLUMNS_MOST]; /* of asked column c: SI = offset + factor x number */
    double offset[ROWS_COLUMNS_MOST];
    double low[ROWS_COLUMNS_MOST]; /* SI: numbers of asked column c from low to high need no look */
    double high[ROWS_COLUMNS_MOST];
    bool ends_cell[UCHAR_MAX + 1]; /* by byte: the separator, line ends and the end of the text */
    bool is_good;                  /* no row was refused so far */
};

/* Reads the file at `path` and its head. False: told. */
MUST_CHECK bool rows_open(struct rows *rows, const struct reader *reader, const char *path,
                          int column_count, const struct rows_column columns[]);

/* The next row into cell [column_count], in the order asked; a row with a fault is told and passed
 * over. False: the end. */
bool rows_next(struct rows *rows, struct rows_cell cell[]);

/* The place of the present row. */
struct place rows_place(const struct rows *rows);

#endif
