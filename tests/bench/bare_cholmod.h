/* What a bare sparse Cholesky code needs for the linear systems of a network: CHOLMOD, nothing
 * around it. Rows and links as the network has them and the permutation left to CHOLMOD, as anybody
 * would write it first: triplets once, the slots of each link once, then for each system values put
 * in, factors, solution. Or rows and links sorted beforehand in the order that suits the factors,
 * as somebody may who has many systems to solve: assembly then runs through memory from end to end
 * and the factors need no permutation. The sorting is not counted, the analysis is. */
#ifndef TESTS_BENCH_BARE_CHOLMOD_H
#define TESTS_BENCH_BARE_CHOLMOD_H

#include "models/network.h"

#include <stdbool.h>

enum bare_order { BARE_AS_IT_COMES, BARE_SORTED };

/* Seconds of the processor. */
struct bare_times {
    double whole; /* analysis and all systems, with the memory that the first one has to be given */
    double analyse;
    double assemble; /* of the last system, like the two below */
    double factorise;
    double solve; /* one back-substitution */
    bool is_super;
};

/* `systems` one after another, by simplicial factors or supernodal ones, as CHOLMOD chooses. */
bool bare_cholmod(const struct network *network, enum bare_order order, int systems,
                  struct bare_times *times);

#endif
