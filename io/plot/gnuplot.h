/* Gnuplot: a bench in a temporary folder where data and scripts lie, and gnuplot run on them, or
 * Graphviz `dot` on a graph. Programs are started directly, never through a shell. */
#ifndef IO_PLOT_GNUPLOT_H
#define IO_PLOT_GNUPLOT_H

#include "io/terminal/interrupt.h"
#include "models/failure.h"

#include <stdio.h>

enum { BENCH_PATH_SIZE = 512, BENCH_WORDS_MAX = 8 };

struct bench {
    char folder[BENCH_PATH_SIZE];
    double patience; /* s that a program may take for one picture */
    struct interrupt interrupt;
};

/* Makes the folder and lays the scripts into it. Until bench_close, to be called either way, Ctrl-C
 * and SIGTERM end the program that draws, and this one only once the folder is gone. One that takes
 * longer than `patience` seconds for a picture is ended with all it started, and told. */
MUST_CHECK bool bench_open(struct bench *bench, double patience, struct failure *failure);

/* Removes the folder with all that is in it. */
void bench_close(struct bench *bench);

/* A new data file on the bench, to be closed by the caller; NULL: failure tells. */
FILE *bench_file(const struct bench *bench, const char *name, struct failure *failure);

/* Runs `script` of the bench with up to BENCH_WORDS_MAX words (a NULL ends them; they are ARG1 on
 * in the script), in the bench's folder, then puts the file `picture` it made there at `path`. */
MUST_CHECK bool bench_plot(const struct bench *bench, const char *script, const char *const words[],
                           const char *picture, const char *path, struct failure *failure);

/* Runs `dot` on the file `graph` of the bench and puts the picture ("svg", "png" or "pdf") at
 * `path`. */
MUST_CHECK bool bench_sketch(const struct bench *bench, const char *graph, const char *format,
                             const char *path, struct failure *failure);

#endif
