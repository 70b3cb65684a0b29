/* Motion of a non-return valve's part: one degree of freedom between two stops, integrated with the
 * flow of the step by a two-stage diagonally implicit Runge-Kutta rule (Alexander, SIAM J. Numer.
 * Anal. 14 (1977) 1006-1021: second order, stays quiet when the part is very light). */
#ifndef MODELS_NON_RETURN_MOTION_H
#define MODELS_NON_RETURN_MOTION_H

#include "models/element.h"

extern const struct motion non_return_motion;

#endif
