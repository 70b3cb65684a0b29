/* Sizing judge: what a size must keep, and how a surge with it stands to that. */
#ifndef SOLVER_SURGE_SIZING_JUDGE_H
#define SOLVER_SURGE_SIZING_JUDGE_H

#include "solver/surge/precision.h"

enum { SIZING_LIMIT_MAX = 8 };

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
    double band[SIZING_LIMIT_MAX];  /* it may be so much worse; NAN: one grid, or a maker's value */
    double margin;      /* the worst limit's at the far end of its band, in shares of itself or of
                           10 m; below 0: not kept */
    bool has_run_empty; /* the vessel: counts as broken */
    bool is_kept;       /* with the whole of the bands */
    bool is_doubtful;   /* the values keep the limits, the bands reach beyond */
};

/* Judges `surge`, run on `try->grid_count` grids: all of `try` but its size and its grid_count. */
void sizing_judge(const struct sizing_wish *wish, const struct surge *surge,
                  struct sizing_try *try);

#endif
