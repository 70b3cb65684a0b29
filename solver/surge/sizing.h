/* Sizing: the smallest air vessel, flywheel or relief valve with which a surge keeps its limits.
 *
 * Each size is tried by a whole run of the plan. First a few sizes spread evenly in their logarithm
 * over the range; if none keeps all limits, more beside the nearest (golden section). Then, between
 * the smallest that keeps all and the next below it, a root of the margin by interpolation that
 * never needs more tries than halving (ITP: Oliveira & Takahashi, ACM Transactions on Mathematical
 * Software 47(1), 2020). Whether the margin grows with the size is not taken for granted: all tried
 * sizes are kept; of several rows of kept sizes the uppermost counts, and it is told where a
 * smaller one also kept the limits or a larger one broke them.
 *
 * The search runs on one grid. What it finds is then run on finer grids, too, and must keep the
 * limits there with the whole of its error bands: else larger sizes are tried on them, and between
 * the last that did not and the first that did the same root is sought again. */
#ifndef SOLVER_SURGE_SIZING_H
#define SOLVER_SURGE_SIZING_H

#include "solver/surge/sizing_judge.h"

enum { SIZING_TRY_MAX = 48 };

enum sizing_ending {
    SIZING_FOUND,
    SIZING_SMALLEST_SUFFICES, /* even the smallest of the range keeps the limits */
    SIZING_NONE_SUFFICES,     /* none of those tried does */
    SIZING_STOPPED            /* the progress callback said so */
};

struct sizing {
    enum sizing_ending ending;
    double size; /* the smallest of the uppermost row of tried sizes that keep the limits; NAN: none
                  */
    double first_size;    /* what one grid said, before finer ones were asked; NAN: none */
    double doubtful_size; /* where none is kept on the finer grids: the smallest whose values alone
                             keep them; NAN: none */
    double broken_above;  /* the smallest tried above `size` that breaks a limit; NAN: none */
    bool is_confirmed;    /* `size` keeps them on the finer grids, too */
    bool is_monotone;     /* no tried size below it kept the limits */
    int try_count;
    struct sizing_try tries[SIZING_TRY_MAX]; /* in order of size, of one size by grid_count */
};

/* The first link that is such a part, or NETWORK_NONE, and how many there are. */
int sizing_find_part(const struct network *network, enum sizing_part part, int *count);

/* Whether a link is such a part. */
bool sizing_is_part(const struct link *link, enum sizing_part part);

/* The present size, SI: of a flywheel that is not there, the pump's own inertia; and the range that
 * is searched where none was asked for: a vessel's volume times 1/1000 to 1000, a pump's inertia
 * times 1/100 to 10,000, a relief valve's bore times 1/20 to 5. */
void sizing_default_range(const struct link *link, enum sizing_part part, double *smallest,
                          double *largest);

/* A copy of the link's data with this size, in `arena`; NULL: memory ended. */
const void *sizing_data(const struct link *link, enum sizing_part part, double size,
                        struct arena *arena);

/* The try of a size on the finer grids; NULL: none. */
const struct sizing_try *sizing_confirmation(const struct sizing *result, double size);

/* The try on one grid that comes nearest to keeping the limits, or keeps them best; NULL: none. */
const struct sizing_try *sizing_nearest(const struct sizing *result);

/* Searches. False: memory ended, or a run cannot be made at all. */
MUST_CHECK bool sizing_find(const struct site *site, const struct sizing_wish *wish,
                            const struct surge_options *options, struct sizing *result,
                            struct failure *failure);

#endif
