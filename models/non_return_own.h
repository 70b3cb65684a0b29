/* What a case may state of a non-return valve beyond the numbers of the catalogue, each by itself
 * and nothing by default: the four numbers of the closing force, a table of loss by opening, the
 * force from the part's own movement, a part that is held open, and a maker's curve of reverse
 * velocity. */
#ifndef MODELS_NON_RETURN_OWN_H
#define MODELS_NON_RETURN_OWN_H

#include "models/failure.h"
#include "models/root.h"

#include <stdbool.h>

struct non_return_own {
    /* Closing force at position x (m or rad from the seat): preload + rate x + weight, of a swing
     * preload + rate x + weight sin(x + seat_angle). It rules over opening head and full-open
     * velocity, which follow from it. */
    bool has_force;
    double preload;    /* N, or N m about the pin: spring on the shut part */
    double rate;       /* N/m, or N m/rad */
    double weight;     /* N, submerged and in the mounting; or N m with the arm level */
    double seat_angle; /* rad, of the arm from hanging as the part sits on its seat */

    /* Loss by opening; between the points straight in the logarithms of both, below the first as
     * 1/s^2. The last is at 1 and is the full-open loss. */
    int loss_count;
    const double *loss_opening; /* [loss_count] share of travel, rising, above 0 */
    const double *loss;         /* [loss_count] K, falling */

    /* Share of the water swept by the part as it moves that its force hangs on besides the flow:
     * force of flow Q - rotation x seat area x velocity of the part; 0: of the flow alone. 1 in
     * the catalogue's valves. */
    double rotation;

    /* A part that does not follow the flow: held open until the flow backward reaches
     * stick_velocity, then for shut_delay, then shut at once. Both 0: it moves by its law. */
    double stick_velocity; /* m/s in the bore */
    double shut_delay;     /* s */

    /* Reverse velocity at the seat by deceleration, measured by its maker; rules over the computed
     * one where slam is told. */
    int curve_count;
    const double *curve_deceleration; /* [curve_count] m/s2, rising */
    const double *curve_velocity;     /* [curve_count] m/s, not falling */
};

/* Square root of full-open loss over loss at share open s, 0 to 1 (s itself without a table). */
struct root_value non_return_own_passing(const struct non_return_own *own, double s);

/* Closing force at position x >= 0; below 0 as on the seat. Only with has_force. */
struct root_value non_return_own_force(const struct non_return_own *own, bool is_swing, double x);

/* The position from which the closing force falls (a weight past its level arm); infinite. */
double non_return_own_top(const struct non_return_own *own, bool is_swing);

/* Reverse velocity, m/s, on the maker's curve at this deceleration, m/s2: straight between points,
 * from nothing at 0, on along the last chord beyond the last. NAN without a curve. */
double non_return_own_curve(const struct non_return_own *own, double deceleration);

/* Is the part held open and shut at once? */
bool non_return_own_is_held(const struct non_return_own *own);

/* Every number finite and in its range; tables rising and falling as they must. */
MUST_CHECK bool non_return_own_check(const struct non_return_own *own, const char *type,
                                     double full_open_loss, struct place place,
                                     struct failure *failure);

#endif
