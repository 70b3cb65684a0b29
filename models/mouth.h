/* Mouth: an open end above water, while things move. Air follows the water back through it: the
 * head there stays that of the mouth, and the mouth pours again once the air has left. The fall of
 * the water's own level in the pipe's end is neglected: it is small against the pipe's length. */
#ifndef MODELS_MOUTH_H
#define MODELS_MOUTH_H

#include "models/element.h"

/* State: m3 of air that followed the water back. */
enum { MOUTH_STATE_AIR, MOUTH_STATE_COUNT };

/* The parts of struct motion: no air at the start, and no limit to the flow. */
void mouth_start(const void *data, const struct water *water, double flow, double head,
                 double state[]);
struct span mouth_span(const void *data, const struct instant *now, const double old[]);

/* `drop` is the law of water that pours out; none is lost while air is in the end. */
struct drop mouth_drop(struct drop (*drop)(const void *data, const struct water *water,
                                           double flow),
                       const void *data, const struct instant *now, const double old[], double flow,
                       double next[]);

#endif
