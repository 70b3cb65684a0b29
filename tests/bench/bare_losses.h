/* Bare losses: what plain loops do for waves in one long pipe with the very law of friction that
 * the kernel takes (solver/surge/loss.h), in place, waves travelling by a change of offset, and
 * nothing else kept: no extremes (or, where said, extremes), no boiling, no look at what is known
 * of the values. The like peer of the surge kernel; not part of the program.
 *
 * Each law is written in several ways, and the quickest counts. */
#ifndef TESTS_BENCH_BARE_LOSSES_H
#define TESTS_BENCH_BARE_LOSSES_H

#include "solver/surge/loss.h"

#include <stdbool.h>

/* What each way of writing it reached, node-steps a second of processor time; 0: not tried. */
enum { BARE_WAYS = 8 };
struct bare_losses {
    int count;
    const char *name[BARE_WAYS];
    double rate[BARE_WAYS];
    double best;
};

/* Values p and m [nodes] to begin with; quadratic friction or friction by table. `is_long`: tiles
 * of several sizes are tried too. `keeps`: the highest and lowest head of each node are kept. */
struct bare_losses bare_losses(const struct loss *loss, int nodes, int rounds, const double *right,
                               const double *left, bool is_long, bool keeps);

#endif
