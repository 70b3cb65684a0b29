/* Safeguard: what keeps Newton's method for coupled laws on its way, in steady flow and in surge. A
 * step may let the residual rise as long as it stays below the worst of the last few (Grippo,
 * Lampariello & Lucidi 1986); where that fails, damping that lessens as the residual falls carries
 * the unknowns as in time (switched evolution relaxation, Mulder & van Leer 1985). */
#ifndef SOLVER_STEADY_SAFEGUARD_H
#define SOLVER_STEADY_SAFEGUARD_H

#include <stdbool.h>

enum {
    SAFEGUARD_MEMORY = 6,   /* residuals that are remembered */
    SAFEGUARD_HALVINGS = 12 /* of a step, at most */
};

/* Share by which plain Newton holds each unknown back: far below what slows it, far above round-off
 * in the factors. It matters where two laws ask for the same, as of regulators side by side. */
extern const double safeguard_light_damping;

/* The first and the greatest damping of the way as in time. */
extern const double safeguard_first_damping;
extern const double safeguard_most_damping;

/* The sizes of the last residuals. */
struct safeguard {
    double last[SAFEGUARD_MEMORY];
};

/* As if all had been of this size. */
void safeguard_begin(struct safeguard *safeguard, double size);

/* Remembers the residual after step number `step` (0, 1, ...) in place of the oldest. */
void safeguard_note(struct safeguard *safeguard, int step, double size);

/* The worst that is remembered: the bar for the next step. */
double safeguard_bar(const struct safeguard *safeguard);

/* Whether a residual of `size` after `share` of a step is low enough below the bar. */
bool safeguard_is_good(double size, double bar, double share);

/* The damping after one by which the residual went from `before` to `now`. */
double safeguard_next_damping(double damping, double before, double now);

#endif
