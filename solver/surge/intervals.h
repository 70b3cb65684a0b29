/* Intervals: which parts of a table of friction each strand needs, for a while. */
#ifndef SOLVER_SURGE_INTERVALS_H
#define SOLVER_SURGE_INTERVALS_H

#include "models/each_width.h"
#include "solver/surge/loss.h"

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

/* Bounds of p - m from those of p and of m, which are wider by `taken` than those now for all that
 * friction can take meanwhile: it moves p and m towards each other, so that p - m of one sign grows
 * no larger. */
static inline struct bounds intervals_narrow(struct bounds right, struct bounds left, double taken)
{
    const double least = right.least - left.most;
    const double most = right.most - left.least;
    return (struct bounds){most < 0.0 ? least + 2.0 * taken : least,
                           least > 0.0 ? most - 2.0 * taken : most};
}

/* From the bounds of each strand. Where any of a half needs too many, none of it are known. */
void intervals_find(struct intervals *intervals, const struct loss *loss,
                    const struct bounds between[WIDEST]);

#endif
