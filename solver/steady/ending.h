/* Ending: what a steady solution is asked to keep to, and how it can end. */
#ifndef SOLVER_STEADY_ENDING_H
#define SOLVER_STEADY_ENDING_H

#include <stdbool.h>

enum steady_ending {
    STEADY_CONVERGED,
    STEADY_STALLED,          /* no further progress above round-off: the residuals tell how near */
    STEADY_TOO_MANY,         /* step limit reached */
    STEADY_CUT_OFF_DRAW,     /* a zone without any held head is asked to give water it cannot get */
    STEADY_NO_COUPLED_ANSWER /* laws that are no monotone graph (regulators, tees, rising pump
                                curves) were not met: there may be no answer. Heads and flows are
                                the nearest found; the residuals tell how near */
};

struct steady_options {
    int step_limit; /* linear systems solved, default 200 */
    bool is_warm;   /* start from the heads and flows already in the result */
};

extern const struct steady_options steady_defaults;

#endif
