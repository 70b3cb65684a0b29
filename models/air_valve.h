/* Air valve: lets air into a main that falls below the pressure of the air, and out again; shut to
 * water.
 *
 * It joins the main to a held point at its own elevation. Its air is a small gas pocket in the pipe
 * at that point: mass m, volume C, p C = m R T with the temperature of the water (isothermal), the
 * mass flow that of an isentropic orifice (Wylie & Streeter, Fluid Transients in Systems, 1993,
 * chapter on air valves; constants from memory, the critical ones computed from gamma = 1.4):
 *     in,  p0 > p > 0.528 p0:  m' = Ci Ai sqrt(7 p0 rho0 [(p/p0)^1.4286 - (p/p0)^1.714])
 *     in,  below that:         m' = Ci Ai 0.6847 p0/sqrt(R T)
 *     out: the same with p and p0 changed over, and Co Ao
 * (p0, rho0 outside; p inside). C' = -flow with flow the water's towards the valve, C and m by
 * backward steps. The valve shuts when all air is out. Air that the water carries away along the
 * pipe is not followed. */
#ifndef MODELS_AIR_VALVE_H
#define MODELS_AIR_VALVE_H

#include "models/element.h"

struct air_valve {
    double area_in;         /* m2 of its opening for air coming in, > 0 */
    double area_out;        /* m2 for air going out, > 0; small where it must leave slowly */
    double coefficient_in;  /* of discharge, above 0, at most 1; usually 0.6 */
    double coefficient_out; /* likewise */
};

enum {
    AIR_VALVE_STATE_MASS,     /* kg of air in the main at it; 0: shut */
    AIR_VALVE_STATE_VOLUME,   /* m3 of that air */
    AIR_VALVE_STATE_PRESSURE, /* Pa of that air, absolute; while shut that of the air outside */
    AIR_VALVE_STATE_COUNT
};

extern const struct element air_valve_element; /* kind "air valve" */

/* Mass flow of air, kg/s, into the main whose absolute pressure is `pressure` Pa > 0 (below zero:
 * out), with `outside` Pa and `temperature` K. */
double air_valve_mass_flow(const struct air_valve *valve, double pressure, double outside,
                           double temperature);

/* Every number finite and in its range; the first fault is told. */
MUST_CHECK bool air_valve_check(const struct air_valve *valve, struct place place,
                                struct failure *failure);

#endif
