/* Gate: an element with a stop around it: shut one way or both, or with a head to be lifted over.
 * Put around a link's own element while something outside it keeps water back: an outlet that
 * stands above the water, an air-locked pump, a passage that a timer has shut. */
#ifndef SOLVER_FILLING_GATE_H
#define SOLVER_FILLING_GATE_H

#include "models/network.h"

struct gate {
    const struct element *element; /* the link's own */
    const void *data;
    bool is_shut_forward;
    bool is_shut_backward;
    double lift; /* m added to the drop: a mouth that pours into lower water */
};

extern const struct element gate_element;

/* Whether the gate does anything at all. */
bool gate_is_needed(const struct gate *gate);

#endif
