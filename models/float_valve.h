/* Float valve: a throttling valve that the level of its own tank shuts.
 * Opening falls linearly from 1 at `open_level` to 0 at `shut_level`. The level is that of the
 * case; whoever lets levels change commands the new one as the setting. */
#ifndef MODELS_FLOAT_VALVE_H
#define MODELS_FLOAT_VALVE_H

#include "models/throttling.h"

struct float_valve {
    struct throttling valve; /* its `opening` is not used */
    double open_level;       /* m, at or below: fully open */
    double shut_level;       /* m, > open_level; at or above: shut */
    double level;            /* m, of its tank now */
};

/* State while things move: the setting is the level of its tank, m. */
enum { FLOAT_VALVE_STATE_OPENING, FLOAT_VALVE_STATE_COUNT };

/* Kind "float valve". Lets nothing back: it ends above the water. */
extern const struct element float_valve_element;

/* Share open at a level, m. */
double float_valve_opening(const struct float_valve *valve, double level);

/* Every number finite and in its range; the first fault is told. */
MUST_CHECK bool float_valve_check(const struct float_valve *valve, struct place place,
                                  struct failure *failure);

#endif
