/* Drops: the heads that some links lose at known flows, friction of many pipes at once. For answers
 * and proofs, which ask every link of a network once; what each step asks stands in state.h. */
#ifndef SOLVER_STEADY_DROPS_H
#define SOLVER_STEADY_DROPS_H

#include "models/network.h"

enum { DROPS_MOST = 128 };

/* Heads lost, m, by `count` links, at most DROPS_MOST of them, at the flows, m3/s. NAN of a link
 * with a coupling (models/element.h), which is not asked: its law hangs on more than its flow. */
void drops_find(int count, const struct link *const link[], const struct water *water,
                const double flow[], double drop[]);

#endif
