/* Flow limiter: a part with a loss that lets no more than a given flow pass.
 * At the limit it takes away whatever head is left: the upright at the upper end of its span. */
#ifndef MODELS_FLOW_LIMITER_H
#define MODELS_FLOW_LIMITER_H

#include "models/element.h"

struct flow_limiter {
    double area;     /* m2, bore area its K refers to */
    double loss;     /* K below the limit, > 0 */
    double laminar;  /* K1 of K1/Re; 0: none */
    double limit;    /* m3/s, > 0 */
    bool is_one_way; /* nothing back; else backward flow has no limit */
};

extern const struct element flow_limiter_element; /* kind "flow limiter" */

/* Every number finite and in its range; the first fault is told. */
MUST_CHECK bool flow_limiter_check(const struct flow_limiter *limiter, struct place place,
                                   struct failure *failure);

#endif
