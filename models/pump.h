/* Pump: head against flow at any speed and in every quadrant.
 * Normal running by the user's own curve (a monotone cubic through its points) and the affinity
 * laws: head = speed^2 f(flow/speed). Outside it (reverse flow, beyond the curve, turning backward)
 * four-quadrant data (models/four_quadrant.h) joined to the curve without a jump, so that the
 * steady and the surge solver work with the same law. With a = speed and v = flow/best_flow, for
 * a > 0:
 *     reverse flow:      h = h_table(a, v) + offset a^2 - pull a v/(1 + (v/(0.1 a))^2)
 *     beyond the curve:  h = h_table(a, v) + offset a^2 - pull a (v - v_last a)
 * and for a <= 0 the table alone: the added terms go with a and vanish at standstill. `offset`
 * makes it continuous, `pull` continues the curve's slope where that keeps the head from rising
 * with flow (otherwise the least that does). Torque likewise without a pull. */
#ifndef MODELS_PUMP_H
#define MODELS_PUMP_H

#include "models/element.h"
#include "models/four_quadrant.h"

struct pump_curve;

enum { PUMP_POINT_MAX = 32 };

/* What joins a table to the user's curve at one end of it; ratios to the best point. */
struct pump_join {
    double head_offset;
    double head_pull;
    double torque_offset;
};

/* The machine as its maker describes it. Optional rows have a count of 0 and are then estimated. */
struct pump {
    const char *name;
    struct place place;
    double speed;                 /* rated, rev/s */
    int count;                    /* 2 to PUMP_POINT_MAX */
    double flow[PUMP_POINT_MAX];  /* m3/s, rising, from 0 */
    double head[PUMP_POINT_MAX];  /* m, never rising */
    int power_count;              /* 0 or count */
    double power[PUMP_POINT_MAX]; /* W at the shaft */
    int npsh_count;               /* 0 or count */
    double npsh[PUMP_POINT_MAX];  /* m required */
    double motor_efficiency;      /* electrical to shaft, share; 0: not known */
    double inertia; /* kg m2, rotor, impeller and water; 0: estimated (Thorley 1991) */
    bool inertia_is_estimated;

    const struct four_quadrant *rated_table; /* NULL: the points rule; else see pump_rated */
    const struct pump_curve *rising; /* borrowed; NULL: `head` is the maker's curve; else `head` is
                                        the monotone law nearest to it, see pump_curve.h */

    /* Derived by pump_init; the best point of a pump with a rated_table is stated. */
    double slope[PUMP_POINT_MAX]; /* dhead/dflow at the points of the monotone cubic */
    double power_slope[PUMP_POINT_MAX];
    double npsh_slope[PUMP_POINT_MAX];
    double best_flow;               /* m3/s at best efficiency (highest flow x head / power) */
    double best_head;               /* m */
    double best_torque;             /* N m at best flow and rated speed */
    struct four_quadrant quadrants; /* for its specific speed, between the tables */
    struct pump_join back;          /* reverse flow */
    struct pump_join ahead;         /* beyond the last point */
};

/* A pump put into a network. */
struct pump_unit {
    const struct pump *pump;
    double speed;         /* share of rated speed when running, > 0 */
    bool is_running;      /* false: held at rest; water may pass through the standing impeller */
    bool reverse_blocked; /* a ratchet: it cannot turn backward */
    double flywheel;      /* kg m2 on the shaft beside the pump's own inertia, >= 0 */
};

/* State of a pump while things move. Setting above 0: power on, and a drive brings it to that share
 * of its speed (1: all of it), upward evenly and no faster than in the run-up time, downward as
 * fast as the setting falls but no faster than it would run down by itself: a drive does not brake.
 * Setting 0: the power has failed and it runs down; one that was never started is held at rest. */
extern const double pump_run_up_time; /* s from rest to its speed */

enum { PUMP_STATE_SPEED, PUMP_STATE_TORQUE, PUMP_STATE_COUNT };

extern const struct element pump_element;

/* How it turns at the end of a step. */
struct pump_turn {
    double speed;   /* share of rated */
    double by_flow; /* of the speed, s/m3 */
    double torque;  /* N m */
};
struct pump_turn pump_turn(const struct pump_unit *unit, const struct instant *now,
                           const double old[], double flow);

/* Checks the points and fills what is derived; the first fault is told. Without a power row the
 * best point is where flow x head is highest, and the torque there comes from a guessed efficiency;
 * without an inertia it is Thorley's (a factor of 2 either way is normal). */
MUST_CHECK bool pump_init(struct pump *pump, const struct water *water, struct failure *failure);

/* Fills the points, power and best point of a pump known by its rated point (m3/s, m, W at the
 * shaft) and a four-quadrant table alone; name, place, speed and inertia are the caller's. Then
 * pump_init. */
void pump_rated(struct pump *pump, const struct four_quadrant *table, double flow, double head,
                double power);

/* Head added, m, and its derivative by flow (normally negative) at `flow` m3/s and `speed` (share
 * of rated, any sign). Monotone in flow for every speed > 0. */
struct drop pump_head(const struct pump *pump, double flow, double speed);

/* Shaft torque, N m, at flow and speed, any quadrant. */
double pump_torque(const struct pump *pump, double flow, double speed);

/* The same with derivatives by speed (share) and flow (m3/s). */
struct quadrant_value pump_head_surface(const struct pump *pump, double flow, double speed);
struct quadrant_value pump_torque_surface(const struct pump *pump, double flow, double speed);

/* Shaft power W and NPSH required m at flow >= 0 and speed > 0; NAN when the maker's row is absent.
 * Affinity laws; beyond the last point the last chord goes on. */
double pump_power(const struct pump *pump, double flow, double speed);
double pump_npsh(const struct pump *pump, double flow, double speed);

/* NPSH available, m, of a pump whose inlet lies at `axis` m where the head of a network is `head`:
 * absolute total head over the axis less the vapour head (ISO 17769-1:2012, and the Hydraulic
 * Institute's definition). Heads of a network hold the velocity head already (models/network.h). */
double pump_npsh_available(const struct water *water, double head, double axis);

/* Inertia, kg m2, of pump with shaft and water plus its motor, for `power` W at the shaft and
 * `speed` rev/s (Thorley, Fluid Transients in Pipeline Systems, 1991; constants from memory). */
double pump_inertia_estimate(double power, double speed);

/* Speed number n sqrt(Q)/H^0.75 at best point in rev/min, m3/s, m. */
double pump_specific_speed(const struct pump *pump);

#endif
