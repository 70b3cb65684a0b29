/* Sizing: the smallest air vessel, flywheel or relief valve with which a surge keeps its limits.
 *
 * Each size is tried by a whole run of the plan. First a few sizes spread evenly in their logarithm
 * over the range; then, between the largest that breaks a limit and the next that keeps all, a root
 * of the margin by interpolation that never needs more tries than halving (ITP: Oliveira &
 * Takahashi, ACM Transactions on Mathematical Software 47(1), 2020). Whether the margin grows with
 * the size is not taken for granted: all tried sizes are kept, and a smaller one that also kept the
 * limits is told.
 *
 * The search runs on one grid. What it finds is then run on finer grids, too: where these break a
 * limit, larger sizes are tried on them, and between the last broken and the first kept the same
 * root is sought again, so that the answer keeps the limits on the finest grid. */
#ifndef SOLVER_SURGE_SIZING_H
#define SOLVER_SURGE_SIZING_H

#include "solver/surge/precision.h"

enum { SIZING_LIMIT_MAX = 8, SIZING_TRY_MAX = 48 };

/* What is sized. */
enum sizing_part {
    SIZING_VESSEL,   /* m3 of water and gas; the share of gas at rest, the height and the joint stay
                      */
    SIZING_FLYWHEEL, /* kg m2 on a pump's shaft */
    SIZING_RELIEF    /* m, bore of a relief valve's seat */
};

enum sizing_measure {
    SIZING_HIGHEST, /* m of gauge pressure head, anywhere along the runs: at most */
    SIZING_LOWEST,  /* m: at least */
    SIZING_CLASS,   /* share of what the pipes' class allows: at most */
    SIZING_REVERSE, /* m/s, reverse velocity at which any non-return valve shuts: at most */
    SIZING_SLAM     /* m, its slam head: at most */
};

struct sizing_limit {
    enum sizing_measure measure;
    double value;
    int run; /* only along this run (index in network.runs), or NETWORK_NONE: all */
};

struct sizing_wish {
    enum sizing_part part;
    int link; /* of that part */
    int limit_count;
    struct sizing_limit limits[SIZING_LIMIT_MAX];
    double smallest;        /* SI, > 0 */
    double largest;         /* > smallest */
    double precision;       /* share of the size, > 0; usually 0.02 */
    enum precision confirm; /* grids that must confirm it; PRECISION_QUICK: none but the first */
};

struct sizing_try {
    double size;
    enum surge_ending ending;
    int grid_count; /* 1: of the search; more: of a confirmation, values of the finest */
    double value[SIZING_LIMIT_MAX]; /* of each limit's measure; NAN: nothing to measure */
    double band[SIZING_LIMIT_MAX];  /* each is right within this; NAN: one grid only */
    double margin;      /* the worst limit's, in shares of itself or of 10 m; below 0: broken */
    bool has_run_empty; /* the vessel: counts as broken */
    bool is_kept;
};

enum sizing_ending {
    SIZING_FOUND,
    SIZING_SMALLEST_SUFFICES, /* even the smallest of the range keeps the limits */
    SIZING_NONE_SUFFICES,     /* not even the largest does */
    SIZING_STOPPED            /* the progress callback said so */
};

struct sizing {
    enum sizing_ending ending;
    double size; /* the smallest tried that keeps the limits, with all larger ones; NAN: none */
    double first_size; /* what one grid said, before finer ones were asked; NAN: none */
    bool is_confirmed; /* `size` keeps them on the finer grids, too */
    bool is_monotone;  /* no tried size below it kept the limits */
    int try_count;
    struct sizing_try tries[SIZING_TRY_MAX]; /* in order of size, of one size by grid_count */
};

/* The first link that is such a part, or NETWORK_NONE, and how many there are. */
int sizing_find_part(const struct network *network, enum sizing_part part, int *count);

/* Whether a link is such a part. */
bool sizing_is_part(const struct link *link, enum sizing_part part);

/* The present size, SI: of a flywheel that is not there, the pump's own inertia; and the range that
 * is searched where none was asked for: from far below it to far above. */
void sizing_default_range(const struct link *link, enum sizing_part part, double *smallest,
                          double *largest);

/* A copy of the link's data with this size, in `arena`; NULL: memory ended. */
const void *sizing_data(const struct link *link, enum sizing_part part, double size,
                        struct arena *arena);

/* The try that confirmed the size found; NULL: none did. */
const struct sizing_try *sizing_confirmation(const struct sizing *result);

/* Searches. False: memory ended, or a run cannot be made at all. */
MUST_CHECK bool sizing_find(const struct site *site, const struct sizing_wish *wish,
                            const struct surge_options *options, struct sizing *result,
                            struct failure *failure);

#endif
