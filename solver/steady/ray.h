/* Ray: the piecewise quadratic dual along one direction.
 * Its derivative by the step length t is piecewise linear and never falls:
 *     f(t) = start + linear t + sum over limited links of (clamp(u + v t) - clamp(u)) d
 * with u the linearised flow, v its rate and d the change of head difference per unit of t. */
#ifndef SOLVER_STEADY_RAY_H
#define SOLVER_STEADY_RAY_H

#include "models/element.h"

struct ray {
    double start;            /* f(0), < 0 */
    double linear;           /* what links without an end contribute, >= 0 */
    int count;               /* limited links */
    const double *flow;      /* [count] u */
    const double *rate;      /* [count] v, of the sign of d */
    const double *drop;      /* [count] d */
    const struct span *span; /* [count] */
};

double ray_slope(const struct ray *ray, double t);

/* f at infinity; negative: the dual has no lower bound this way. */
double ray_limit(const struct ray *ray);

/* The t where f vanishes, to within 1e-12 of |f(0)|; infinite when f stays negative. */
double ray_root(const struct ray *ray);

#endif
