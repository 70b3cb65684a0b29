/* The possible spans are bounded by nature (the deepest sea floor and the highest mountain, sound
 * in water, a discharge coefficient of one, Poisson's ratio of one half) or lie well beyond
 * anything that was ever built; the usual ones are common practice for pressure pipe, with room. */
#include "io/door/plausible.h"

#include <math.h>
#include <stddef.h>
#include <stdio.h>

static const struct plausible_row rows[PLAUSIBLE_COUNT] = {
    [PLAUSIBLE_ELEVATION] = {"an elevation", -12e3, 12e3, -1e3, 6e3, "-12 km to 12 km",
                             "-1 km to 6 km"},
    [PLAUSIBLE_BORE] = {"a bore", 1e-4, 30, 1e-3, 5, "0.1 mm to 30 m", "1 mm to 5 m"},
    [PLAUSIBLE_SHAFT] = {"the bore of a shaft", 1e-3, 1e3, 1e-2, 100, "1 mm to 1000 m",
                         "10 mm to 100 m"},
    [PLAUSIBLE_PIPE_LENGTH] = {"a pipe's length", 1e-4, 1e6, 1e-2, 1e5, "0.1 mm to 1000 km",
                               "10 mm to 100 km"},
    [PLAUSIBLE_WALL] = {"a pipe's wall", 1e-5, 3, 3e-4, 0.3, "0.01 mm to 3 m", "0.3 mm to 300 mm"},
    [PLAUSIBLE_ROUGHNESS] = {"a roughness", 0, 0.5, 0, 0.02, "0 mm to 500 mm", "0 mm to 20 mm"},
    [PLAUSIBLE_TRAVEL] = {"a length inside a valve", 1e-6, 30, 5e-4, 3, "0.001 mm to 30 m",
                          "0.5 mm to 3 m"},
    [PLAUSIBLE_AREA] = {"an area", 0, 1e10, 0, 1e8, "0 m2 to 1e10 m2", "0 m2 to 1e8 m2"},
    [PLAUSIBLE_WATER_AREA] = {"an area of open water", 1e-4, 1e10, 1e-3, 1e8, "1 cm2 to 1e10 m2",
                              "10 cm2 to 1e8 m2"},
    [PLAUSIBLE_VOLUME] = {"a volume", 1e-7, 1e7, 1e-4, 1e5, "0.0001 L to 1e7 m3",
                          "0.1 L to 1e5 m3"},
    [PLAUSIBLE_FLOW] = {"a flow", -1e4, 1e4, -50, 50, "-1e4 m3/s to 1e4 m3/s",
                        "-50 m3/s to 50 m3/s"},
    [PLAUSIBLE_VELOCITY] = {"a velocity", 0, 1000, 0, 30, "0 m/s to 1000 m/s", "0 m/s to 30 m/s"},
    [PLAUSIBLE_WAVE_SPEED] = {"a wave speed", 1, 3000, 50, 1600, "1 m/s to 3000 m/s",
                              "50 m/s to 1600 m/s"},
    [PLAUSIBLE_RAIN] = {"a depth of water in a time", 0, 1e-3, 0, 2e-4, "0 mm/h to 3600 mm/h",
                        "0 mm/h to 720 mm/h"},
    [PLAUSIBLE_HEAD] = {"a head", -12e3, 12e3, -1e3, 6e3, "-12 km to 12 km", "-1 km to 6 km"},
    [PLAUSIBLE_PUMP_HEAD] = {"a pump's head", -12e3, 12e3, -100, 1500, "-12 km to 12 km",
                             "-100 m to 1500 m"},
    [PLAUSIBLE_NPSH] = {"an NPSH", 0, 500, 0, 30, "0 m to 500 m", "0 m to 30 m"},
    [PLAUSIBLE_VAPOUR_HEAD] = {"the gauge head at which water boils", -200, 200, -10.4, 0,
                               "-200 m to 200 m", "-10.4 m to 0 m"},
    [PLAUSIBLE_PRESSURE] = {"a pressure", 0, 1e9, 0, 1e8, "0 bar to 1e4 bar", "0 bar to 1000 bar"},
    [PLAUSIBLE_CLASS] = {"a pressure class", 1e3, 1e9, 2e4, 1e7, "0.01 bar to 1e4 bar",
                         "0.2 bar to 100 bar"},
    [PLAUSIBLE_MODULUS] = {"an elastic modulus", 1e4, 2e12, 1e6, 5e11, "0.01 MPa to 2000 GPa",
                           "1 MPa to 500 GPa"},
    [PLAUSIBLE_BULK_MODULUS] = {"a liquid's bulk modulus", 1e4, 1e12, 1e9, 3e9,
                                "0.01 MPa to 1000 GPa", "1 GPa to 3 GPa"},
    [PLAUSIBLE_VAPOUR_PRESSURE] = {"a vapour pressure", 0, 1e7, 0, 25e3, "0 kPa to 1e4 kPa",
                                   "0 kPa to 25 kPa"},
    [PLAUSIBLE_AIR_PRESSURE] = {"the air's pressure", 100, 1e7, 45e3, 110e3, "0.1 kPa to 1e4 kPa",
                                "45 kPa to 110 kPa"},
    [PLAUSIBLE_ANGLE] = {"an angle", 0, 6.283185307179586, 0, 3.141592653589793, "0 deg to 360 deg",
                         "0 deg to 180 deg"},
    [PLAUSIBLE_TIME] = {"a time", 0, 3.1536e9, 0, 3.1536e7, "0 a to 100 a", "0 a to 1 a"},
    [PLAUSIBLE_SURGE_TIME] = {"a time of a surge", 0, 1e6, 0, 1e5, "0 s to 1e6 s", "0 s to 1e5 s"},
    [PLAUSIBLE_STEP] = {"a step of time", 1e-9, 1e3, 1e-6, 10, "1e-9 s to 1000 s",
                        "1e-6 s to 10 s"},
    [PLAUSIBLE_TIMES_A_DAY] = {"how often a day", 1e-6, 1e5, 1e-3, 2000, "1e-6 to 1e5",
                               "0.001 to 2000"},
    [PLAUSIBLE_TURNS] = {"a speed of rotation", 1e-3, 5e3, 0.5, 400, "0.06 rpm to 300000 rpm",
                         "30 rpm to 24000 rpm"},
    [PLAUSIBLE_POWER] = {"a power", 1e-6, 1e9, 0.1, 5e7, "1e-6 W to 1e6 kW", "0.1 W to 50000 kW"},
    [PLAUSIBLE_MASS] = {"a mass", 1e-9, 1e6, 1e-5, 1e4, "1e-6 g to 1000 t", "0.01 g to 10 t"},
    [PLAUSIBLE_INERTIA] = {"a moment of inertia", 1e-15, 1e8, 1e-9, 1e5, "1e-15 kg m2 to 1e8 kg m2",
                           "1e-9 kg m2 to 1e5 kg m2"},
    [PLAUSIBLE_FORCE] = {"a force", 0, 1e8, 0, 1e6, "0 kN to 1e5 kN", "0 kN to 1000 kN"},
    [PLAUSIBLE_MOMENT] = {"a moment", 0, 1e8, 0, 1e6, "0 N m to 1e8 N m", "0 N m to 1e6 N m"},
    [PLAUSIBLE_DAMPING] = {"a damping", 0, 1e9, 0, 1e7, "0 N s/m to 1e9 N s/m",
                           "0 N s/m to 1e7 N s/m"},
    [PLAUSIBLE_SWING_DAMPING] = {"a damping about a pin", 0, 1e9, 0, 1e7, "0 N m s to 1e9 N m s",
                                 "0 N m s to 1e7 N m s"},
    [PLAUSIBLE_SPRING_RATE] = {"the rate of a spring", 0, 1e9, 0, 1e8, "0 N/m to 1e9 N/m",
                               "0 N/m to 1e8 N/m"},
    [PLAUSIBLE_SWING_RATE] = {"the rate of a spring about a pin", 0, 1e9, 0, 1e7,
                              "0 N m/rad to 1e9 N m/rad", "0 N m/rad to 1e7 N m/rad"},
    [PLAUSIBLE_DENSITY] = {"a liquid's density", 1, 25e3, 900, 1200, "1 kg/m3 to 25000 kg/m3",
                           "900 kg/m3 to 1200 kg/m3"},
    [PLAUSIBLE_VISCOSITY] = {"a kinematic viscosity", 1e-9, 1, 2e-7, 1e-5,
                             "0.001 mm2/s to 1e6 mm2/s", "0.2 mm2/s to 10 mm2/s"},
    [PLAUSIBLE_GRAVITY] = {"gravity", 1e-3, 1e3, 9.75, 9.9, "0.001 m/s2 to 1000 m/s2",
                           "9.75 m/s2 to 9.9 m/s2"},
    [PLAUSIBLE_DECELERATION] = {"a deceleration of water", 1e-6, 1e3, 1e-2, 500,
                                "1e-6 m/s2 to 1000 m/s2", "0.01 m/s2 to 500 m/s2"},
    [PLAUSIBLE_RESISTANCE] = {"a resistance", 1e-12, 1e18, 1e-6, 1e15, "1e-12 s2/m5 to 1e18 s2/m5",
                              "1e-6 s2/m5 to 1e15 s2/m5"},
    [PLAUSIBLE_PRICE] = {"a price of energy", 0, 1e9 / 3.6e6, 0, 1e5 / 3.6e6, "0 /kWh to 1e9 /kWh",
                         "0 /kWh to 1e5 /kWh"},
    [PLAUSIBLE_COMPLIANCE] = {"a creep compliance", 1e-16, 1e-6, 1e-13, 1e-7,
                              "1e-16 /Pa to 1e-6 /Pa", "1e-13 /Pa to 1e-7 /Pa"},
    [PLAUSIBLE_LOSS] = {"a loss K", 0, 1e12, 0, 1e6, "0 to 1e12", "0 to 1e6"},
    [PLAUSIBLE_DISCHARGE] = {"a discharge coefficient", 1e-3, 1, 0.3, 1, "0.001 to 1", "0.3 to 1"},
    [PLAUSIBLE_HAZEN_WILLIAMS] = {"a coefficient of Hazen-Williams", 1, 1000, 40, 180, "1 to 1000",
                                  "40 to 180"},
    [PLAUSIBLE_FRICTION_FACTOR] = {"Darcy's friction factor", 1e-12, 1e3, 4e-3, 0.3,
                                   "1e-12 to 1000", "0.004 to 0.3"},
    [PLAUSIBLE_POISSON] = {"Poisson's ratio", 1e-3, 0.5, 0.1, 0.5, "0.001 to 0.5", "0.1 to 0.5"},
    [PLAUSIBLE_EFFICIENCY] = {"an efficiency", 0.01, 1, 0.2, 0.99, "1 % to 100 %", "20 % to 99 %"},
};

static const enum plausible by_quantity[QUANTITY_COUNT] = {
    [QUANTITY_NUMBER] = PLAUSIBLE_ANY,
    [QUANTITY_LENGTH] = PLAUSIBLE_ELEVATION,
    [QUANTITY_AREA] = PLAUSIBLE_AREA,
    [QUANTITY_VOLUME] = PLAUSIBLE_VOLUME,
    [QUANTITY_FLOW] = PLAUSIBLE_FLOW,
    [QUANTITY_VELOCITY] = PLAUSIBLE_VELOCITY,
    [QUANTITY_HEAD] = PLAUSIBLE_HEAD,
    [QUANTITY_PRESSURE] = PLAUSIBLE_PRESSURE,
    [QUANTITY_ANGLE] = PLAUSIBLE_ANGLE,
    [QUANTITY_TEMPERATURE] = PLAUSIBLE_ANY, /* models/water.h holds from 0 to 60 degC and says so */
    [QUANTITY_TIME] = PLAUSIBLE_TIME,
    [QUANTITY_TURNS] = PLAUSIBLE_TURNS,
    [QUANTITY_POWER] = PLAUSIBLE_POWER,
    [QUANTITY_ENERGY] = PLAUSIBLE_ANY,
    [QUANTITY_MASS] = PLAUSIBLE_MASS,
    [QUANTITY_INERTIA] = PLAUSIBLE_INERTIA,
    [QUANTITY_FORCE] = PLAUSIBLE_FORCE,
    [QUANTITY_MOMENT] = PLAUSIBLE_MOMENT,
    [QUANTITY_DAMPING] = PLAUSIBLE_DAMPING,
    [QUANTITY_SWING_DAMPING] = PLAUSIBLE_SWING_DAMPING,
    [QUANTITY_SPRING_RATE] = PLAUSIBLE_SPRING_RATE,
    [QUANTITY_SWING_RATE] = PLAUSIBLE_SWING_RATE,
    [QUANTITY_DENSITY] = PLAUSIBLE_DENSITY,
    [QUANTITY_VISCOSITY] = PLAUSIBLE_VISCOSITY,
    [QUANTITY_GRAVITY] = PLAUSIBLE_GRAVITY,
    [QUANTITY_RESISTANCE] = PLAUSIBLE_RESISTANCE,
    [QUANTITY_ENERGY_PRICE] = PLAUSIBLE_PRICE,
    [QUANTITY_COMPLIANCE] = PLAUSIBLE_COMPLIANCE,
};

enum plausible plausible_of(enum plausible kind, enum quantity quantity)
{
    return kind == PLAUSIBLE_BY_QUANTITY ? by_quantity[quantity] : kind;
}

const struct plausible_row *plausible_row(enum plausible kind)
{
    return rows[kind].name ? &rows[kind] : NULL;
}

enum plausibility plausible_judge(const struct plausible_row *row, double value)
{
    static const double rounding = 1e-9; /* share lost in converting a limit written in a unit */
    if (!row || (value <= 0 && value >= 0)) {
        return PLAUSIBILITY_USUAL;
    }
    const double room = rounding * fabs(value);
    if (!(value >= row->least - room && value <= row->most + room)) {
        return PLAUSIBILITY_NONE;
    }
    return value >= row->low - room && value <= row->high + room ? PLAUSIBILITY_USUAL
                                                                 : PLAUSIBILITY_STRANGE;
}

bool plausible_option(const char *text, enum plausible kind, double value, size_t message_size,
                      char *message)
{
    const struct plausible_row *row = plausible_row(kind);
    if (plausible_judge(row, value) != PLAUSIBILITY_NONE) {
        return true;
    }
    (void)snprintf(message, message_size,
                   "'%.60s' cannot be %s, which is from %s; look at the number and its unit", text,
                   row->name, row->possible);
    return false;
}

bool plausible_check(struct faults *faults, struct place place, const char *subject,
                     const char *name, const char *text, enum plausible kind, double value)
{
    const struct plausible_row *row = plausible_row(kind);
    switch (plausible_judge(row, value)) {
    case PLAUSIBILITY_USUAL:
        break;
    case PLAUSIBILITY_STRANGE:
        (void)faults_add(faults, FAULT_DOUBT, place,
                         "%s: %s: '%.60s' is unusual for %s, which is mostly from %s; look at the "
                         "number and its unit",
                         subject, name, text, row->name, row->usual);
        break;
    case PLAUSIBILITY_NONE:
        return faults_add(faults, FAULT_ERROR, place,
                          "%s: %s: '%.60s' cannot be %s, which is from %s; look at the number and "
                          "its unit",
                          subject, name, text, row->name, row->possible);
    }
    return true;
}
