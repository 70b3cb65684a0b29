/* Water and the air above it: what every law needs of the fluid at one temperature and altitude.
 * Published fits of density (Kell 1975), sound (Marczak 1997), viscosity (IAPWS SR6-08) and vapour
 * pressure (IAPWS R7-97) of pure water, which follow IAPWS R6-95(2018) and R12-08 (errors stated
 * at each function in the .c). Air pressure by altitude: ISO 2533:1975 standard atmosphere. */
#ifndef MODELS_WATER_H
#define MODELS_WATER_H

#include "models/failure.h"

/* All plain numbers; a case may state any of them instead of having it derived. */
struct water {
    double temperature_c;   /* degC */
    double gravity;         /* m/s2, standard 9.80665 */
    double density;         /* kg/m3 */
    double viscosity;       /* kinematic, m2/s */
    double vapour_pressure; /* Pa, absolute */
    double bulk_modulus;    /* Pa, adiabatic (for pressure waves) */
    double air_pressure;    /* Pa, absolute, at the site's altitude */
};

extern const double water_standard_gravity; /* 9.80665 m/s2, ISO 80000-3 */

/* Properties at `temperature_c` (0 to 60 degC) and 101325 Pa; air pressure at `altitude` m
 * (-500 to 5000). Fails with FAILURE_INPUT and `place` outside these ranges. */
MUST_CHECK bool water_init(struct water *water, double temperature_c, double altitude,
                           struct place place, struct failure *failure);

double water_density(double temperature_c);         /* kg/m3 */
double water_viscosity(double temperature_c);       /* kinematic, m2/s */
double water_vapour_pressure(double temperature_c); /* Pa absolute */
double water_bulk_modulus(double temperature_c);    /* Pa, adiabatic */

/* Pa absolute at geometric height `altitude` m, ISO 2533. */
double air_pressure(double altitude);

/* Gauge head, m, at which the water boils: (vapour - air pressure)/(density gravity); about -10.1
 * m. */
double water_vapour_head(const struct water *water);

/* Pa <-> m of this water. */
double water_pressure(const struct water *water, double head);
double water_head(const struct water *water, double pressure);

#endif
