/* Reducer: a change of bore between two pipes, sudden or tapered, for both directions of flow.
 * Toward the smaller bore it is a contraction, the other way an enlargement (models/bore_change.h).
 * The K is a loss of total head: like everywhere in the network, velocity heads are not told apart
 * from pressure, so that nothing is won back in the wider pipe. */
#ifndef MODELS_REDUCER_H
#define MODELS_REDUCER_H

#include "models/fitting.h"

struct reducer {
    double bore_from; /* m */
    double bore_to;   /* m */
    double angle;     /* rad, full cone angle, 0 to pi; 0: sudden */

    struct fitting fitting; /* derived by reducer_init: both directions, on the smaller bore */
};

extern const struct element reducer_element; /* kind "reducer" */

/* Checks the bores and the angle and derives the losses; the first fault is told. */
MUST_CHECK bool reducer_init(struct reducer *reducer, struct place place, struct failure *failure);

#endif
