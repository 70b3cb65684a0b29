/* Slopes: how much p and m change from node to node, and which heads therefore only rise or only
 * fall for a while.
 *
 * What friction takes from p at a node it gives to m, so their sum, twice the head, is the same
 * before and after; then p moves on from one neighbour and m from the other. From one step to the
 * next twice the head of a node therefore grows by
 *     (m of this node - m of the one before) - (p of the next node - p of this one)
 * as they are after the move. Where all slopes of m on the way are above all slopes of p, each head
 * rises in every step, and only the first and the last one can be an extreme; the other way round
 * they fall. Friction changes slopes from step to step by no more than its steepest slope times the
 * slope of p - m. */
#ifndef SOLVER_SURGE_SLOPES_H
#define SOLVER_SURGE_SLOPES_H

#include "models/each_width.h"

#include <stdbool.h>

/* Least and most slopes, m from one node to the next, of some nodes of WIDEST strands. */
struct slopes {
    double least_right[WIDEST];
    double most_right[WIDEST];
    double least_left[WIDEST];
    double most_left[WIDEST];
};

/* Slopes at `count` nodes of strands that lie side by side, from each node to the next one:
 * right, left [(count + 1) WIDEST] m, p and m. */
void slopes_find(int count, const double right[], const double left[], struct slopes *slopes);

/* What slopes are judged by. */
struct slopes_law {
    int steps;
    double steepest; /* no loss grows by more than this for each metre of p - m */
    double rounding; /* m, most that rounding moves a value by in all steps */
};

/* Strands, a bit each, in which each head only rises, or only falls, in all steps but for
 * `slopes_tolerance` in all; where water stands still it does both. */
struct slopes_ways {
    unsigned rising;
    unsigned falling;
};

/* From the slopes now of all nodes from which a wave reaches a head, in so many pieces: first that
 * from which m comes. */
struct slopes_ways slopes_find_ways(int pieces, const struct slopes piece[],
                                    const struct slopes_law *law);

/* The strands of one half, 0 or 1. */
static inline unsigned slopes_half(int half)
{
    return ((1U << WIDEST / 2) - 1U) << half * (WIDEST / 2);
}

/* Whether in every strand of a half each head only rises or only falls. */
static inline bool slopes_are_one_way(struct slopes_ways ways, int half)
{
    return (~(ways.rising | ways.falling) & slopes_half(half)) == 0;
}

/* Whether heads that pass from one stretch into the other keep their way in every strand of a half.
 */
static inline bool slopes_go_on(struct slopes_ways one, struct slopes_ways other, int half)
{
    return (~((one.rising & other.rising) | (one.falling & other.falling)) & slopes_half(half)) ==
           0;
}

extern const double slopes_tolerance; /* m */

/* The least growth of twice a head in each of so many steps that counts as rising, m, which is a
 * little below 0. */
static inline double slopes_allowed(int steps)
{
    return -2.0 * slopes_tolerance / steps;
}

#endif
