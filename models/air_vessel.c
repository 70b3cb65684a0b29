#include "models/air_vessel.h"

#include "models/root.h"
#include "models/velocity_head.h"

#include <math.h>
#include <stddef.h>

/* Below this share of the gas volume before the step the gas law goes on along its tangent, which
 * keeps it finite for every flow. */
static const double least_share = 1e-3;

/* Share of the volume that counts as gas where almost none was found: keeps every pressure finite.
 */
static const double least_gas = 1e-9;

static struct drop joint_drop(const struct air_vessel *vessel, const struct water *water,
                              double flow)
{
    const double loss = flow < 0.0 ? vessel->loss_out : vessel->loss_in;
    return velocity_head_drop(loss, 0.0, vessel->joint_area, water, flow);
}

static struct drop drop(const void *data, const struct water *water, double flow)
{
    return joint_drop(data, water, flow);
}

/* At rest nothing flows. */
static struct span span(const void *data, const struct water *water)
{
    (void)data;
    (void)water;
    return (struct span){.lower = 0.0, .upper = 0.0};
}

/* Water level over the bottom, m, with this much gas. */
static double level(const struct air_vessel *vessel, double gas)
{
    return vessel->area > 0.0 ? (vessel->volume - gas) / vessel->area : 0.0;
}

/* --- at rest --- */

/* Boyle from the precharge: what is missing of the gas at volume x under the main's head. */
struct filling {
    const struct air_vessel *vessel;
    const struct water *water;
    double head; /* m over the bottom */
};

static struct root_value filling_lack(const void *user, double gas)
{
    const struct filling *filling = user;
    const struct air_vessel *vessel = filling->vessel;
    const double per_head = filling->water->density * filling->water->gravity;
    const double air = filling->water->air_pressure;
    const double filled = air + vessel->precharge * per_head;
    const double now = air + (filling->head - level(vessel, gas)) * per_head;
    const double now_slope = vessel->area > 0.0 ? per_head / vessel->area : 0.0;
    return (struct root_value){.value = now * gas - filled * vessel->volume,
                               .slope = now + now_slope * gas};
}

double air_vessel_gas_at_rest(const struct air_vessel *vessel, const struct water *water,
                              double head)
{
    if (vessel->gas > 0.0) {
        return vessel->gas;
    }
    const struct filling filling = {.vessel = vessel, .water = water, .head = head};
    const double low = least_gas * vessel->volume;
    if (filling_lack(&filling, vessel->volume).value <= 0.0) {
        return vessel->volume;
    }
    return root_find(filling_lack, &filling, vessel->volume, low, vessel->volume);
}

/* --- while things move --- */

static void motion_start(const void *data, const struct water *water, double flow, double head,
                         double state[])
{
    const struct air_vessel *vessel = data;
    const double per_head = water->density * water->gravity;
    const double gas = air_vessel_gas_at_rest(vessel, water, head);
    const bool is_full_of_gas = vessel->gas <= 0.0 && gas >= vessel->volume;
    const double over = is_full_of_gas ? vessel->precharge : head - level(vessel, gas);
    const double least = 1e-6 * water->air_pressure;
    const double pressure = fmax(water->air_pressure + over * per_head, least);
    state[AIR_VESSEL_STATE_GAS] = gas;
    state[AIR_VESSEL_STATE_FLOW] = flow;
    state[AIR_VESSEL_STATE_PRESSURE] = pressure;
    state[AIR_VESSEL_STATE_CONSTANT] = pressure * pow(gas, vessel->exponent);
}

/* It gives no more than what is in it. */
static struct span motion_span(const void *data, const struct instant *now, const double old[])
{
    const struct air_vessel *vessel = data;
    const double held = vessel->volume - old[AIR_VESSEL_STATE_GAS];
    const double least = -2.0 * held / now->step - old[AIR_VESSEL_STATE_FLOW];
    return (struct span){.lower = fmin(least, 0.0), .upper = HUGE_VAL};
}

/* Absolute pressure, Pa, of the gas at a volume, and its derivative by volume. */
static struct root_value gas_pressure(double constant, double exponent, double gas, double least)
{
    const double at = fmax(gas, least);
    const double pressure = constant / pow(at, exponent);
    const double slope = -exponent * pressure / at;
    return (struct root_value){.value = pressure + slope * (gas - at), .slope = slope};
}

static struct drop motion_drop(const void *data, const struct instant *now, const double old[],
                               double flow, double next[])
{
    const struct air_vessel *vessel = data;
    const struct water *water = now->water;
    const double per_head = water->density * water->gravity;
    const double half = 0.5 * now->step;
    const double wanted = old[AIR_VESSEL_STATE_GAS] - half * (old[AIR_VESSEL_STATE_FLOW] + flow);
    const double gas = fmin(wanted, vessel->volume);
    const double least = least_share * old[AIR_VESSEL_STATE_GAS];
    const struct root_value pressure =
        gas_pressure(old[AIR_VESSEL_STATE_CONSTANT], vessel->exponent, gas, least);
    struct drop found = joint_drop(vessel, water, flow);
    found.head += level(vessel, gas) + (pressure.value - water->air_pressure) / per_head;
    if (wanted < vessel->volume) {
        found.slope -= half * pressure.slope / per_head;
        found.slope += vessel->area > 0.0 ? half / vessel->area : 0.0;
    }
    next[AIR_VESSEL_STATE_GAS] = fmax(gas, least);
    next[AIR_VESSEL_STATE_FLOW] = flow;
    next[AIR_VESSEL_STATE_PRESSURE] = pressure.value;
    next[AIR_VESSEL_STATE_CONSTANT] = old[AIR_VESSEL_STATE_CONSTANT];
    return found;
}

static const struct motion motion = {.state_count = AIR_VESSEL_STATE_COUNT,
                                     .start = motion_start,
                                     .span = motion_span,
                                     .drop = motion_drop,
                                     .settle = NULL,
                                     .setting = NULL};

const struct element air_vessel_element = {.kind = "air vessel",
                                           .drop = drop,
                                           .span = span,
                                           .opening = NULL,
                                           .pipe = NULL,
                                           .motion = &motion};

/* --- check --- */

static bool is_positive(double number)
{
    return number > 0.0 && isfinite(number);
}

bool air_vessel_check(const struct air_vessel *vessel, struct place place, struct failure *failure)
{
    if (!is_positive(vessel->volume) || !is_positive(vessel->joint_area)) {
        return fail(failure, FAILURE_INPUT, place,
                    "air vessel: its volume and the bore of its joint must be above 0");
    }
    if (!(vessel->gas >= 0.0 && vessel->gas <= vessel->volume)) {
        return fail(failure, FAILURE_INPUT, place,
                    "air vessel: the gas in it at rest must be between 0 and its volume of %g m3; "
                    "it is %g m3",
                    vessel->volume, vessel->gas);
    }
    if (!(vessel->precharge >= 0.0 && isfinite(vessel->precharge))) {
        return fail(failure, FAILURE_INPUT, place,
                    "air vessel: the gas must be filled to the pressure of the air at least; it is "
                    "%g m over it",
                    vessel->precharge);
    }
    if (!(vessel->exponent >= 1.0 && vessel->exponent <= 5.0 / 3.0)) {
        return fail(failure, FAILURE_INPUT, place,
                    "air vessel: the polytropic exponent is 1 (slow) to 1.67 (fast, one-atom gas); "
                    "it is %g",
                    vessel->exponent);
    }
    if (!(is_positive(vessel->loss_in) && is_positive(vessel->loss_out))) {
        return fail(failure, FAILURE_INPUT, place,
                    "air vessel: the losses of its joint must be above 0; in %g, out %g",
                    vessel->loss_in, vessel->loss_out);
    }
    if (!(vessel->area >= 0.0 && isfinite(vessel->area) && isfinite(vessel->bottom))) {
        return fail(failure, FAILURE_INPUT, place,
                    "air vessel: its water surface must not be negative, its bottom finite");
    }
    return true;
}
