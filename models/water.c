#include "models/water.h"

#include <math.h>

const double water_standard_gravity = 9.80665; /* ISO 80000-3:2019 */

static const double zero_celsius = 273.15; /* K */

/* Kell, J. Chem. Eng. Data 20 (1975) 97, eq. 16, on the 1968 temperature scale (t68 = 1.00024 t90,
 * Saunders 1990), raised from his 999.9720 to 999.97495 kg/m3 at the maximum (Tanaka et al.,
 * Metrologia 38 (2001) 301). Against IAPWS R6-95 at 101325 Pa: within 0.0015 kg/m3, 0 to 60 degC.
 */
double water_density(double temperature_c)
{
    static const double scale = 999.97495 / 999.9720;
    const double t = 1.00024 * temperature_c;
    const double above =
        999.83952 +
        t * (16.945176 +
             t * (-7.9870401e-3 + t * (-46.170461e-6 + t * (105.56302e-9 - t * 280.54253e-12))));
    return scale * above / (1.0 + 16.879850e-3 * t);
}

/* Dynamic viscosity of liquid water at 0.1 MPa, Pa s: IAPWS SR6-08(2011), eq. 7, which fits R12-08.
 * Against R12-08 at 101325 Pa: within 0.01 %, 0 to 60 degC. */
static double dynamic_viscosity(double temperature_c)
{
    const double t = (temperature_c + zero_celsius) / 300.0;
    return 1e-6 * (280.68 * pow(t, -1.9) + 511.45 * pow(t, -7.7) + 61.131 * pow(t, -19.6) +
                   0.45903 * pow(t, -40.0));
}

double water_viscosity(double temperature_c)
{
    return dynamic_viscosity(temperature_c) / water_density(temperature_c);
}

/* IAPWS R7-97(2012), eq. 30, region 4. Against R6-95: within 0.008 %. */
double water_vapour_pressure(double temperature_c)
{
    const double kelvin = temperature_c + zero_celsius;
    const double t = kelvin - 0.23855557567849 / (kelvin - 0.65017534844798e3);
    const double a = t * (t + 0.11670521452767e4) - 0.72421316703206e6;
    const double b = t * (-0.17073846940092e2 * t + 0.12020824702470e5) - 0.32325550322333e7;
    const double c = t * (0.14915108613530e2 * t - 0.48232657361591e4) + 0.40511340542057e6;
    const double root = 2.0 * c / (-b + sqrt(b * b - 4.0 * a * c));
    return 1e6 * root * root * root * root;
}

/* Speed of sound, m/s: Marczak, J. Acoust. Soc. Am. 102 (1997) 2776, eq. 4. Against R6-95 at
 * 101325 Pa: within 0.03 m/s, 0 to 60 degC. */
static double speed_of_sound(double temperature_c)
{
    const double t = temperature_c;
    return 1.402385e3 +
           t * (5.038813 +
                t * (-5.799136e-2 + t * (3.287156e-4 + t * (-1.398845e-6 + t * 2.787860e-9))));
}

/* Density x speed of sound squared, which is exact for small waves. */
double water_bulk_modulus(double temperature_c)
{
    const double speed = speed_of_sound(temperature_c);
    return water_density(temperature_c) * speed * speed;
}

/* ISO 2533:1975 up to 11 km: 288.15 K at sea level, 6.5 K/km, R* 8314.32 J/(kmol K), air
 * 28.96442 kg/kmol, earth radius 6356766 m. */
double air_pressure(double altitude)
{
    static const double radius = 6356766.0;
    static const double lapse = 0.0065;
    static const double power = 9.80665 * 28.96442 / (8314.32 * 0.0065);
    const double geopotential = radius * altitude / (radius + altitude);
    return 101325.0 * pow(1.0 - lapse / 288.15 * geopotential, power);
}

bool water_init(struct water *water, double temperature_c, double altitude, struct place place,
                struct failure *failure)
{
    if (!(temperature_c >= 0.0 && temperature_c <= 60.0)) {
        return fail(failure, FAILURE_INPUT, place,
                    "water: temperature %.6g degC is outside 0 to 60 degC, where the water "
                    "formulas hold; state a temperature within it",
                    temperature_c);
    }
    if (!(altitude >= -500.0 && altitude <= 5000.0)) {
        return fail(failure, FAILURE_INPUT, place,
                    "water: altitude %.6g m is outside -500 to 5000 m; state an altitude within it",
                    altitude);
    }
    water->temperature_c = temperature_c;
    water->gravity = water_standard_gravity;
    water->density = water_density(temperature_c);
    water->viscosity = water_viscosity(temperature_c);
    water->vapour_pressure = water_vapour_pressure(temperature_c);
    water->bulk_modulus = water_bulk_modulus(temperature_c);
    water->air_pressure = air_pressure(altitude);
    return true;
}

double water_vapour_head(const struct water *water)
{
    return water_head(water, water->vapour_pressure - water->air_pressure);
}

double water_pressure(const struct water *water, double head)
{
    return head * (water->density * water->gravity);
}

double water_head(const struct water *water, double pressure)
{
    return pressure / (water->density * water->gravity);
}
