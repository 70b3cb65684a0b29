/* Intervals: which parts of a table of friction each strand needs, for a while. */
#ifndef SOLVER_SURGE_INTERVALS_H
#define SOLVER_SURGE_INTERVALS_H

#include "models/each_width.h"
#include "solver/surge/loss.h"

/* Between which some numbers lie; infinite, the wrong way round, if there are none. */
struct bounds {
    double least;
    double most;
};

/* Most intervals of a strand; and strands that are worked on at a time, so that all that is known
 * of them finds a register. */
enum { INTERVALS_MOST = 4, INTERVALS_HALF = WIDEST / 2 };

/* An interval of a table (struct loss_interval) of each strand of a half. */
struct interval_half {
    double border[INTERVALS_HALF]; /* m, it holds from this |p - m| on; infinite: nowhere */
    double start[INTERVALS_HALF];
    double cubic[4][INTERVALS_HALF];
};

/* For each strand the interval or the few side by side in which all its differences p - m lie. */
struct intervals {
    int most[2]; /* of any strand of each half: 1, 2 or INTERVALS_MOST; 0: none are known */
    struct interval_half half[2][INTERVALS_MOST]; /* of a strand with fewer the last one again */
};

extern const struct intervals intervals_none;

/* From the bounds of each strand. Where any of a half needs too many, none of it are known. */
void intervals_find(struct intervals *intervals, const struct loss *loss,
                    const struct bounds between[WIDEST]);

#endif
