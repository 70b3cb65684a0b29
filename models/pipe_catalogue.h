/* Pipe catalogue: sizes of plastic pressure pipe with bore and wall from the standards' tables.
 * Bores come from outside diameter and wall, never from a size's name.
 * A size is asked for by the words of the trade: series, size, class: "pvc-u 63 pn10",
 * "pvc-u 2in class c", "pvc schedule 40 2in", "pe100 63 sdr11", "abs 2in class e". */
#ifndef MODELS_PIPE_CATALOGUE_H
#define MODELS_PIPE_CATALOGUE_H

#include "models/catalogue/pipe_table.h"

int pipe_catalogue_count(void);
const struct pipe_size *pipe_catalogue_at(int index);

/* Size of this name (words in any of the accepted spellings and any order; case and spacing do
 * not matter), or
 * NULL; then, if `nearest` is not NULL, *nearest is the closest name to offer, of the material that
 * is named ("hdpe 63 pn10": "pe100 63 sdr17"), or NULL where no size of that is known. */
const struct pipe_size *pipe_catalogue_find(const char *name, const char **nearest);

#endif
