/* Characteristic of a non-return valve: the velocity backward at which it shuts when the water
 * through it slows evenly, by deceleration. The column is so long that the valve cannot slow it:
 * the flow falls along a straight line whatever the valve does, and the part moves by the same law
 * as in a surge run. By this one curve valves are compared, whatever the site (Collier & Hoerner,
 * J. Energy Resources Technology 105 (1983) 62, and later authors); without dimensions as v_R/v_0
 * against D/v_0^2 |dv/dt| with v_0 the lowest velocity that holds it fully open (Thorley 1989, form
 * from memory). */
#ifndef SOLVER_SLAM_CHARACTERISTIC_H
#define SOLVER_SLAM_CHARACTERISTIC_H

#include "models/non_return.h"

struct slam_point {
    double deceleration; /* m/s2 of the velocity in its bore */
    double reverse;      /* m/s backward in its bore as it meets its seat, >= 0; NAN: never shuts */
    double band;         /* m/s, difference from the step twice as long */
    double seat_speed;   /* m/s at the middle of the moving part as it meets its seat */
    double plain_deceleration; /* D/v_0^2 |dv/dt| */
    double plain_reverse;      /* v_R/v_0 */
};

/* v_0, m/s in the bore: fully open from here; where the opening head keeps being paid and it never
 * stands fully open to the last bit: non_return_fully_open. */
double slam_open_velocity(const struct non_return *valve, const struct water *water);

/* The point at this deceleration, > 0, m/s2, starting from v_0; the step is halved until the
 * reverse velocity is settled. */
struct slam_point slam_point_at(const struct non_return *valve, const struct water *water,
                                double deceleration);

/* Decelerations of the row that commands show, m/s2, rising: from a long flat main to a vessel
 * close by. */
int slam_row_count(void);
double slam_row_at(int index);

#endif
