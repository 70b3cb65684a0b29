/* Texts: what a results file holds of them, of fixed or any length, and how much is held at all.
 * They may be any bytes; what a terminal would obey, or no other program could read, becomes '?'.
 */
#ifndef IO_RESULTS_TEXTS_H
#define IO_RESULTS_TEXTS_H

#include "io/results/sheet.h"
#include "models/arena.h"

#include <hdf5.h>

/* Whether `count` things of `size` bytes more (not 0) are within what is held of files, 2 GiB: one
 * of few bytes can claim any number of fields, values and texts. */
bool texts_have_room(const struct arena *arena, size_t count, size_t size);

/* A copy of a text in `arena`; NULL: memory ended. */
char *texts_keep(struct arena *arena, const char *text);

/* Text of a text attribute of one value, in `arena`; NULL: there is none such, or memory ended. */
const char *texts_of_attribute(hid_t attribute, struct arena *arena);

/* Texts of a field, field->count of them, into field->texts in `arena`. False: memory or room
 * ended, or HDF5 could not read them. */
bool texts_read(hid_t dataset, hid_t type, struct field *field, struct arena *arena);

#endif
