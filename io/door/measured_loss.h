/* A valve's measured losses, flow against head lost, turned into the two numbers of its law. */
#ifndef IO_DOOR_MEASURED_LOSS_H
#define IO_DOOR_MEASURED_LOSS_H

#include "io/door/draft.h"

struct measured_loss {
    struct numbers flow; /* m3/s, rising; count 0: nothing was measured */
    struct numbers loss; /* m, as many */
};

struct fitted_loss {
    double opening_head;   /* m */
    double full_open_loss; /* K in the valve's bore */
};

/* Fits opening head and full-open loss to the rows (h = opening head + K v^2/2g, the opening head
 * paid on, as makers' tables of sprung valves show; least squares of the relative error) and tells
 * the fit with its worst row as an assumption. False: told at `place`. */
MUST_CHECK bool fit_measured_loss(struct draft *draft, const struct non_return *valve,
                                  struct place place, const struct measured_loss *rows,
                                  struct fitted_loss *fitted);

#endif
