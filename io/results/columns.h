/* Columns: a sheet as lines of text, for gnuplot, a spreadsheet or a person.
 * Fields that share their dimensions stand side by side; a grid (two dimensions) becomes the slow
 * dimension and one column for each value of the fast one. */
#ifndef IO_RESULTS_COLUMNS_H
#define IO_RESULTS_COLUMNS_H

#include "io/results/sheet.h"

#include <stdio.h>

enum columns_form {
    COLUMNS_BLANK, /* blanks between, heads in the first line, text with blanks in double quotes,
                      NAN as "nan" */
    COLUMNS_COMMA  /* RFC 4180: commas between, CR LF, heads in the first line, nothing for NAN, an
                      apostrophe before a text that begins as a formula does (= + - @) */
};

/* Fields along one dimension and grids whose slow dimension it is: those named (`only`) or all.
 * One head line: name and unit; for a column of a grid "head lift-1 [m]". */
void columns_along(const struct sheet *sheet, int dimension, const struct field *only,
                   enum columns_form form, FILE *out);

/* Every dimension in turn, two empty lines between (gnuplot's `index`; one with COLUMNS_COMMA),
 * then single values. */
void columns_sheet(const struct sheet *sheet, enum columns_form form, FILE *out);

/* One field, with its scale before it. */
void columns_field(const struct sheet *sheet, const struct field *field, enum columns_form form,
                   FILE *out);

#endif
