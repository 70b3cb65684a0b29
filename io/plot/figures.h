/* Figures: the pictures that can be made of a results file, each from columns and a script. */
#ifndef IO_PLOT_FIGURES_H
#define IO_PLOT_FIGURES_H

#include "io/plot/gnuplot.h"
#include "io/results/reader.h"
#include "models/site.h"

enum { FIGURE_TITLE_SIZE = 600 };

enum figure_kind { FIGURE_SKETCH, FIGURE_PROFILE, FIGURE_TIME, FIGURE_CHOICE, FIGURE_FILLING };

struct figures {
    const struct reader *reader; /* borrowed; NULL: only a sketch */
    const struct site *site;     /* borrowed; the case of the results; NULL: no sketch */
    const struct bench *bench;   /* borrowed */
    struct arena *arena;         /* borrowed */
    const char *format;          /* "svg" or "png" */
    const char *stem;            /* path that every picture's name begins with: "out/site" */
    void (*tell)(void *user, const char *path); /* called for each picture made; may be NULL */
    void *user;
    int count;                     /* made so far */
    enum figure_kind kind;         /* of the one just made */
    char title[FIGURE_TITLE_SIZE]; /* of the one just made */
};

/* Makes every picture there are results for: a profile for each run, a time picture when there are
 * gauges or valves, levels and pumps over hours when tanks were filled, a choice for each valve's
 * place. None is not a failure: see count. */
MUST_CHECK bool figures_make(struct figures *figures, struct failure *failure);

/* Makes the sketch of figures->site, with the flows of the results where there are some. */
MUST_CHECK bool figures_sketch(struct figures *figures, struct failure *failure);

#endif
