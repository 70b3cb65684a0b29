/* Octave: a sheet as a text file that GNU Octave's `load` reads (its own text format, told by what
 * Octave 7.3's `save -text` writes): Octave cannot read texts of variable length from HDF5.
 * Each field and attribute becomes a variable of its name: numbers a column, a grid a matrix of the
 * slow dimension by the fast one, texts a cell array. */
#ifndef IO_RESULTS_OCTAVE_H
#define IO_RESULTS_OCTAVE_H

#include "io/results/sheet.h"

#include <stdio.h>

/* All fields, then all attributes whose names no field has. */
void octave_sheet(const struct sheet *sheet, FILE *out);

/* One field. */
void octave_field(const struct sheet *sheet, const struct field *field, FILE *out);

#endif
