/* Certificate: how well heads and flows meet a network's laws, from nothing but themselves.
 * Shares no number with the solver that found them. */
#ifndef SOLVER_STEADY_CERTIFICATE_H
#define SOLVER_STEADY_CERTIFICATE_H

#include "models/network.h"

struct certificate {
    double mass_residual;   /* m3/s, largest |inflow - outflow - draw| over free points */
    double energy_residual; /* m, largest |head(from) - head(to) - drop(flow)| over links inside
                               their span, or |law| of links with a coupling */
    double complementarity; /* m, largest head on the wrong side at an end of a span */
    double outside;         /* m3/s, largest flow outside its span; 0 for every answer */
    int worst_point;        /* NETWORK_NONE: no free point */
    int worst_link;         /* of energy or complementarity; NETWORK_NONE: no link */
};

/* `sum` is workspace [point_count]; head [point_count] m, flow [link_count] m3/s. */
struct certificate certificate_find(const struct network *network, const struct water *water,
                                    const double head[], const double flow[], double sum[]);

#endif
