/* Pipe catalogue: sizes of plastic pressure pipe with bore and wall from the standards' tables.
 * Bores come from outside diameter and wall, never from a size's name.
 * A size is asked for by the words of the trade: series, size, class: "pvc-u 63 pn10",
 * "pvc-u 2in class c", "pvc schedule 40 2in", "pe100 63 sdr11", "abs 2in class e". */
#ifndef MODELS_PIPE_CATALOGUE_H
#define MODELS_PIPE_CATALOGUE_H

#include <stdbool.h>
#include <stddef.h>

struct pipe_size {
    const char *name;      /* canonical: "pvc-u 63 pn10" */
    const char *material;  /* for wall_find */
    double outside;        /* m, mean outside diameter */
    double wall;           /* m, nominal (minimum) */
    double bore;           /* m, as the table gives or derives it */
    double pressure_class; /* Pa at reference temperature */
    const char *source;    /* standard and mark */
};

int pipe_catalogue_count(void);
const struct pipe_size *pipe_catalogue_at(int index);

/* Size of this name (words in any of the accepted spellings, case and spacing do not matter), or
 * NULL; then, if `nearest` is not NULL, *nearest is the closest name to offer. */
const struct pipe_size *pipe_catalogue_find(const char *name, const char **nearest);

#endif
