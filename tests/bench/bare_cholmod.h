/* What a bare sparse Cholesky code needs for the linear systems of a network: CHOLMOD, nothing
 * around it. Its peer's rows and links stand in the order that suits the factors, as anybody would
 * sort them who has more than one system to solve: so assembly runs through memory from end to end
 * and the factors need no permutation. The sorting is not counted, the analysis is. */
#ifndef TESTS_BENCH_BARE_CHOLMOD_H
#define TESTS_BENCH_BARE_CHOLMOD_H

#include "models/network.h"

#include <stdbool.h>

enum bare_factors { BARE_AUTO, BARE_SIMPLICIAL, BARE_SUPERNODAL };

/* Seconds of the processor. */
struct bare_times {
    double analyse;
    double assemble;
    double factorise;
    double solve; /* one back-substitution */
    bool is_super;
};

bool bare_cholmod(const struct network *network, enum bare_factors factors,
                  struct bare_times *times);

#endif
