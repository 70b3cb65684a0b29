/* Pump: head against flow at any speed and in every quadrant.
 * Normal running by the user's own curve and the affinity laws; outside it (reverse flow, reverse
 * rotation, beyond the curve) four-quadrant data (models/four_quadrant.h) joined to the curve
 * without a jump, so that the steady and the surge solver work with the same law. */
#ifndef MODELS_PUMP_H
#define MODELS_PUMP_H

#include "models/element.h"
#include "models/four_quadrant.h"

enum { PUMP_POINT_MAX = 32 };

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

    /* Derived by pump_init. */
    double slope[PUMP_POINT_MAX]; /* dhead/dflow at the points of the monotone cubic */
    double best_flow;             /* m3/s at best efficiency (highest flow x head / power) */
    double best_head;             /* m */
    double best_torque;           /* N m at best flow and rated speed */
    const struct four_quadrant *quadrants; /* table of the nearest specific speed */
};

/* A pump put into a network. */
struct pump_unit {
    const struct pump *pump;
    double speed;         /* share of rated speed when running, > 0 */
    bool is_running;      /* false: at rest, water may pass through the standing impeller */
    bool reverse_blocked; /* a ratchet: it cannot turn backward */
};

/* State of a pump while things move. */
enum { PUMP_STATE_SPEED, PUMP_STATE_TORQUE, PUMP_STATE_COUNT };

extern const struct element pump_element;

/* Checks the points and fills what is derived; the first fault is told. */
MUST_CHECK bool pump_init(struct pump *pump, const struct water *water, struct failure *failure);

/* Head added, m, and its derivative by flow (normally negative) at `flow` m3/s and `speed` (share
 * of rated, any sign). Monotone in flow for every speed > 0. */
struct drop pump_head(const struct pump *pump, double flow, double speed);

/* Shaft torque, N m, at flow and speed, any quadrant. */
double pump_torque(const struct pump *pump, double flow, double speed);

/* Shaft power W and NPSH required m at flow >= 0 and speed > 0; NAN when the maker's row is absent.
 */
double pump_power(const struct pump *pump, double flow, double speed);
double pump_npsh(const struct pump *pump, double flow, double speed);

/* Speed number n sqrt(Q)/H^0.75 at best point in rev/min, m3/s, m. */
double pump_specific_speed(const struct pump *pump);

#endif
