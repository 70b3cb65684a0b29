/* System curve: the head a site asks of one pump at each flow through it, all else as it is: other
 * pumps run, tanks stand at their levels. (The pump is taken out and its flow drawn at its inlet
 * and fed in at its outlet; every point of the curve is then a steady answer of its own.) */
#ifndef SOLVER_STEADY_SYSTEM_CURVE_H
#define SOLVER_STEADY_SYSTEM_CURVE_H

#include "solver/steady/steady.h"

/* head[i], m, that the pump in `link` would have to add for flow[i] m3/s; NAN where there is no
 * answer, or none that joins both its ends to a tank or outlet. False: memory ended. */
MUST_CHECK bool system_curve(const struct network *network, const struct water *water, int link,
                             int count, const double flow[], double head[],
                             struct failure *failure);

#endif
