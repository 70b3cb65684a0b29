/* Table: rows of text and numbers in aligned columns, heads over them, no rules or boxes.
 * Text stands left, numbers right with a fixed count of decimals, so that decimal points stand
 * under one another. */
#ifndef IO_TERMINAL_TABLE_H
#define IO_TERMINAL_TABLE_H

#include "io/terminal/terminal.h"
#include "models/arena.h"

enum { TABLE_TEXT = -1, TABLE_COLUMN_MAX = 24 };

/* A column ends the list with a head of NULL. */
struct column {
    const char *head;
    const char *unit; /* "" or NULL: none */
    int decimals;     /* TABLE_TEXT: a column of text */
};

struct table;

/* An empty table; `columns` (borrowed) ends with a NULL head. NULL when memory ended. Everything
 * lives in `arena`. */
struct table *table_new(const struct column *columns, struct arena *arena);

/* Next cell, left to right, then the next row. NAN shows as "-". A cell that no memory could be
 * found for is left out and table_print says so. */
void table_text(struct table *table, const char *text);
void table_number(struct table *table, double value);

/* How many rows are complete. */
int table_rows(const struct table *table);

/* Heads, units and rows, two spaces between columns; nothing when there are no rows. A table wider
 * than the terminal comes in pieces, one under another, each of which begins with the columns up to
 * the first one of text. */
void table_print(const struct table *table, const struct terminal *terminal);

#endif
