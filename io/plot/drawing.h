/* Drawing: what every picture needs: where results come from, where pictures go, title and file. */
#ifndef IO_PLOT_DRAWING_H
#define IO_PLOT_DRAWING_H

#include "io/plot/gnuplot.h"
#include "io/results/reader.h"
#include "models/site.h"

enum { FIGURE_NAME_SIZE = 300, FIGURE_TITLE_SIZE = 600, FIGURE_PATH_SIZE = 1400 };

enum figure_kind {
    FIGURE_SKETCH,
    FIGURE_PUMP,   /* what it gives and what the site asks */
    FIGURE_CURVES, /* the same with all candidates of a place */
    FIGURE_PROFILE,
    FIGURE_TIME,
    FIGURE_VALVES,
    FIGURE_CHOICE,
    FIGURE_FILLING,
    FIGURE_FRONT,
    FIGURE_ALONE,
    FIGURE_SLAM,
    FIGURE_FAILURES
};

struct figures {
    const struct reader *reader; /* borrowed; NULL: only a sketch */
    const struct site *site;     /* borrowed; the case of the results; NULL: no sketch */
    const struct bench *bench;   /* borrowed */
    struct arena *arena;         /* borrowed */
    const char *format;          /* "svg", "png" or "pdf" */
    const char *stem;            /* path that every picture's name begins with: "out/site" */
    void (*tell)(void *user, const char *path); /* called for each picture made; may be NULL */
    void *user;
    bool without_pumps;            /* leaves out FIGURE_PUMP: it is in a picture made before */
    int count;                     /* made so far */
    enum figure_kind kind;         /* of the one just made */
    char title[FIGURE_TITLE_SIZE]; /* of the one just made */
};

/* Closes a data file of the bench. */
MUST_CHECK bool figures_close_data(FILE *file, struct failure *failure);

/* Lays the field `name` of a sheet on the bench as columns, empty when the sheet has none. */
MUST_CHECK bool figures_write_field(const struct figures *figures, const struct sheet *sheet,
                                    const char *name, const char *file_name,
                                    struct failure *failure);

/* Sets the title of the next picture: "<site>: <what>". */
void figures_title(struct figures *figures, const char *what);

/* <stem>-<name>.<format> */
void figures_path(const struct figures *figures, const char *name, char path[FIGURE_PATH_SIZE]);

/* Counts a picture that was made at `path`, and tells of it. */
void figures_note(struct figures *figures, enum figure_kind kind, const char *path);

/* Runs the kind's script; "picture" in the bench becomes <stem>-<name>.<format>. */
MUST_CHECK bool figures_draw(struct figures *figures, enum figure_kind kind,
                             const char *const words[], const char *name, struct failure *failure);

#endif
