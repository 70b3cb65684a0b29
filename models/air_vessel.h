/* Air vessel: a closed vessel of water and gas that stands on a main and gives way to surges.
 *
 * It joins the main to a held point at the elevation of its bottom. At rest it is a dead leg. While
 * things move its gas follows the polytropic law
 *     p C^n = constant,   C' = -flow   (trapezoidal rule; p absolute, C its volume, flow into it),
 *     head of the main = water level + (p - p_air)/(density gravity) + K v|v|/2g of its joint
 * (Wylie & Streeter, Fluid Transients in Systems, 1993; n = 1.2 usual, 1.0 slow, 1.4 fast). The K
 * of the joint may differ between water going in and coming out: a throttle, or a non-return valve
 * that lets it out with a narrow bypass round it for the way in. The inertia of its own water is
 * left out.
 *
 * The gas at rest is stated as a volume (a vessel that a compressor keeps), or follows from the
 * pressure it was filled to before any water came in (a bag or membrane): Boyle, since water is let
 * in slowly. While its pressure is above that of the main the bag fills the vessel and shuts the
 * joint. When a vessel has given all its water nothing more comes out; gas that would then enter
 * the main is not followed. */
#ifndef MODELS_AIR_VESSEL_H
#define MODELS_AIR_VESSEL_H

#include "models/element.h"

struct air_vessel {
    double volume;     /* m3, of water and gas together */
    double gas;        /* m3 of gas at rest, <= volume; 0: from the precharge */
    double precharge;  /* m of gauge head of the gas before any water came in; where gas is 0 */
    double exponent;   /* n, 1 to 1.67 */
    double area;       /* m2 of its water surface; 0: the level is taken to stay at the bottom */
    double joint_area; /* m2, bore area that the K refer to */
    double loss_in;    /* K of the joint for water going in, > 0 */
    double loss_out;   /* K for water coming out, > 0 */
    double bottom;     /* m, elevation; the head held at the link's far end */
};

enum {
    AIR_VESSEL_STATE_GAS,      /* m3 */
    AIR_VESSEL_STATE_FLOW,     /* m3/s of water into it */
    AIR_VESSEL_STATE_PRESSURE, /* Pa of the gas, absolute */
    AIR_VESSEL_STATE_CONSTANT, /* p C^n */
    AIR_VESSEL_STATE_COUNT
};

extern const struct element air_vessel_element; /* kind "air vessel" */

/* Volume, m3, of its gas at rest with `head` m of the main over its bottom; from almost 0 (a head
 * near vacuum finds all of it gas) to the whole volume. */
double air_vessel_gas_at_rest(const struct air_vessel *vessel, const struct water *water,
                              double head);

/* Every number finite and in its range; the first fault is told. */
MUST_CHECK bool air_vessel_check(const struct air_vessel *vessel, struct place place,
                                 struct failure *failure);

#endif
