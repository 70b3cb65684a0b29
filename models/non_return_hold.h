/* A non-return part that is held open and then shuts at once: one that sticks until the flow
 * backward is fast enough to tear it loose (the worst case), or one that shuts a stated time after
 * its flow has turned (the plainest model of a late valve). It opens by its steady law and never
 * follows the flow back. */
#ifndef MODELS_NON_RETURN_HOLD_H
#define MODELS_NON_RETURN_HOLD_H

#include "models/non_return.h"

/* Drop of a step in which the part, not on its seat, is held where it was or opens further; `next`
 * is a copy of `old` and gets the opening. */
struct drop non_return_hold_drop(const struct non_return *valve, const struct instant *now,
                                 const double old[], double flow, double next[]);

/* The step's flow is found: has the part shut in this step? Then `next` says when and at which
 * flow, and the step must be solved again. */
bool non_return_hold_settle(const struct non_return *valve, const struct instant *now,
                            const double old[], double flow, double next[]);

#endif
