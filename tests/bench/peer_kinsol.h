/* The steady flow of a network of pipes by a general-purpose solver of nonlinear equations:
 * SUNDIALS KINSOL, Newton's method with a line search, its systems by KLU. Unknowns: flow of each
 * link, head of each free point; equations: head lost by the pipe's law, and flows that meet at a
 * point. */
#ifndef TESTS_BENCH_PEER_KINSOL_H
#define TESTS_BENCH_PEER_KINSOL_H

#include "models/network.h"
#include "models/water.h"

#include <stdbool.h>

struct peer_kinsol {
    double seconds; /* of the processor: set up and solve */
    long steps;
    long factorisations;
    double residual; /* largest, m and m3/s */
};

/* Every link a pipe. `setups`: most steps with the same Jacobian. False: it found no answer. */
bool peer_kinsol(const struct network *network, const struct water *water, long setups,
                 double *head, double *flow, struct peer_kinsol *told);

#endif
