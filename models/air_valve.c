#include "models/air_valve.h"

#include "models/root.h"

#include <math.h>
#include <stddef.h>

static const double gas_constant = 287.0;   /* J/(kg K), dry air */
static const double kelvin = 273.15;        /* of 0 degC */
static const double critical = 0.528281788; /* (2/2.4)^(1.4/0.4), pressure ratio of choked flow */
static const double choked = 0.684731456;   /* sqrt(1.4) (2/2.4)^(2.4/0.8) */

/* Least pressure, Pa, looked for: a vacuum no main with water in it reaches. */
static const double least_pressure = 1e-3;

/* Volume, m3, below which a pocket is the round-off of one that has closed. */
static const double least_volume = 1e-14;

/* Flow of an isentropic orifice of 1 m2 from `high` Pa at `temperature` K to `low` Pa, over
 * high/sqrt(R T), and its derivative by low/high. */
static struct root_value orifice(double ratio)
{
    if (ratio <= critical) {
        return (struct root_value){.value = choked, .slope = 0.0};
    }
    const double rest = pow(ratio, 2.0 / 1.4) - pow(ratio, 2.4 / 1.4);
    if (!(rest > 0.0)) {
        return (struct root_value){0.0, 0.0};
    }
    const double value = sqrt(7.0 * rest);
    const double by_ratio =
        (2.0 / 1.4) * pow(ratio, 2.0 / 1.4 - 1.0) - (2.4 / 1.4) * pow(ratio, 2.4 / 1.4 - 1.0);
    return (struct root_value){.value = value, .slope = 3.5 * by_ratio / value};
}

/* Mass flow into the main and its derivative by the pressure in it, which is never above zero. */
static struct root_value mass_flow(const struct air_valve *valve, double pressure, double outside,
                                   double temperature)
{
    const double per_pressure = 1.0 / sqrt(gas_constant * temperature);
    if (pressure <= outside) {
        const struct root_value flow = orifice(pressure / outside);
        const double size = valve->coefficient_in * valve->area_in * per_pressure;
        return (struct root_value){.value = size * outside * flow.value,
                                   .slope = size * flow.slope};
    }
    const double ratio = outside / pressure;
    const struct root_value flow = orifice(ratio);
    const double size = valve->coefficient_out * valve->area_out * per_pressure;
    return (struct root_value){.value = -size * pressure * flow.value,
                               .slope = -size * (flow.value - flow.slope * ratio)};
}

double air_valve_mass_flow(const struct air_valve *valve, double pressure, double outside,
                           double temperature)
{
    return mass_flow(valve, pressure, outside, temperature).value;
}

/* --- at rest: shut --- */

static struct drop drop(const void *data, const struct water *water, double flow)
{
    (void)data;
    (void)water;
    (void)flow;
    return (struct drop){0.0, 0.0};
}

static struct span span(const void *data, const struct water *water)
{
    (void)data;
    (void)water;
    return (struct span){.lower = 0.0, .upper = 0.0};
}

/* --- while things move --- */

static void motion_start(const void *data, const struct water *water, double flow, double head,
                         double state[])
{
    (void)data;
    (void)flow;
    (void)head;
    state[AIR_VALVE_STATE_MASS] = 0.0;
    state[AIR_VALVE_STATE_VOLUME] = 0.0;
    state[AIR_VALVE_STATE_PRESSURE] = water->air_pressure;
}

/* Water comes no nearer than the valve itself; there it stands against it. */
static struct span motion_span(const void *data, const struct instant *now, const double old[])
{
    (void)data;
    return (struct span){.lower = -HUGE_VAL, .upper = old[AIR_VALVE_STATE_VOLUME] / now->step};
}

/* p C - m R T of the pocket at the end of a step, by the pressure. */
struct pocket {
    const struct air_valve *valve;
    double volume; /* m3, at the end */
    double mass;   /* kg, at the beginning */
    double step;
    double outside;
    double temperature;
};

static struct root_value pocket_excess(const void *user, double pressure)
{
    const struct pocket *pocket = user;
    const struct root_value flow =
        mass_flow(pocket->valve, pressure, pocket->outside, pocket->temperature);
    const double warmth = gas_constant * pocket->temperature;
    return (struct root_value){.value = pressure * pocket->volume -
                                        (pocket->mass + pocket->step * flow.value) * warmth,
                               .slope = pocket->volume - pocket->step * flow.slope * warmth};
}

static struct drop motion_drop(const void *data, const struct instant *now, const double old[],
                               double flow, double next[])
{
    const struct water *water = now->water;
    const double volume = old[AIR_VALVE_STATE_VOLUME] - now->step * flow;
    const struct pocket pocket = {.valve = data,
                                  .volume = fmax(volume, 0.0),
                                  .mass = old[AIR_VALVE_STATE_MASS],
                                  .step = now->step,
                                  .outside = water->air_pressure,
                                  .temperature = kelvin + water->temperature_c};
    double pressure = water->air_pressure;
    if (pocket.volume > 0.0 || pocket.mass > 0.0) {
        pressure = root_find(pocket_excess, &pocket, old[AIR_VALVE_STATE_PRESSURE], least_pressure,
                             HUGE_VAL);
    }
    const struct root_value excess = pocket_excess(&pocket, pressure);
    const double per_head = water->density * water->gravity;
    const bool is_shut = volume <= least_volume;
    next[AIR_VALVE_STATE_VOLUME] = is_shut ? 0.0 : volume;
    next[AIR_VALVE_STATE_PRESSURE] = is_shut ? water->air_pressure : pressure;
    next[AIR_VALVE_STATE_MASS] =
        is_shut ? 0.0 : pressure * volume / (gas_constant * pocket.temperature);
    const bool has_slope = volume > 0.0 && excess.slope > 0.0;
    return (struct drop){.head = (pressure - water->air_pressure) / per_head,
                         .slope = has_slope ? now->step * pressure / excess.slope / per_head : 0.0};
}

static const struct motion motion = {.state_count = AIR_VALVE_STATE_COUNT,
                                     .start = motion_start,
                                     .span = motion_span,
                                     .drop = motion_drop,
                                     .settle = NULL,
                                     .setting = NULL};

const struct element air_valve_element = {.kind = "air valve",
                                          .drop = drop,
                                          .span = span,
                                          .opening = NULL,
                                          .pipe = NULL,
                                          .motion = &motion};

/* --- check --- */

static bool is_opening(double area, double coefficient)
{
    return area > 0.0 && isfinite(area) && coefficient > 0.0 && coefficient <= 1.0;
}

bool air_valve_check(const struct air_valve *valve, struct place place, struct failure *failure)
{
    if (!is_opening(valve->area_in, valve->coefficient_in)) {
        return fail(failure, FAILURE_INPUT, place,
                    "air valve: the bore for air coming in must be above 0, its discharge "
                    "coefficient above 0 and at most 1");
    }
    if (!is_opening(valve->area_out, valve->coefficient_out)) {
        return fail(failure, FAILURE_INPUT, place,
                    "air valve: the bore for air going out must be above 0, its discharge "
                    "coefficient above 0 and at most 1; a valve that keeps its air has a very "
                    "small one");
    }
    return true;
}
