#include "models/water.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

/* IAPWS R6-95(2018) for density, speed of sound and vapour pressure (R7-97 at 0 degC), IAPWS R12-08
 * for viscosity, at 101325 Pa; values (computed) with an independent implementation. */
static const struct row {
    double t, density, viscosity, vapour, sound;
} rows[] = {
    {0, 999.8431, 1.7918e-3, 611.21, 1402.38},    {4, 999.9749, 1.5673e-3, 813.55, 1421.64},
    {5, 999.9666, 1.5182e-3, 872.58, 1426.17},    {10, 999.7025, 1.3059e-3, 1228.20, 1447.27},
    {15, 999.1026, 1.1376e-3, 1705.79, 1465.93},  {20, 998.2072, 1.0016e-3, 2339.32, 1482.35},
    {25, 997.0476, 0.8900e-3, 3169.93, 1496.70},  {30, 995.6495, 0.7972e-3, 4246.97, 1509.15},
    {35, 994.0333, 0.7191e-3, 5629.02, 1519.85},  {40, 992.2164, 0.6527e-3, 7384.94, 1528.90},
    {45, 990.2129, 0.5958e-3, 9595.00, 1536.45},  {50, 988.0350, 0.5465e-3, 12351.95, 1542.58},
    {55, 985.6931, 0.5036e-3, 15762.10, 1547.39}, {60, 983.1958, 0.4660e-3, 19946.43, 1550.97},
};
enum { ROWS = sizeof rows / sizeof rows[0] };

Test(water, density_follows_iapws_within_the_stated_error)
{
    for (int i = 0; i < ROWS; i++) {
        cr_assert_float_eq(water_density(rows[i].t), rows[i].density, 0.0015, "%g", rows[i].t);
    }
}

Test(water, viscosity_follows_iapws_within_a_thousandth)
{
    for (int i = 0; i < ROWS; i++) {
        const double expect = rows[i].viscosity / rows[i].density;
        cr_assert_float_eq(water_viscosity(rows[i].t) / expect, 1, 1e-3, "%g", rows[i].t);
    }
}

Test(water, vapour_pressure_follows_iapws_within_a_thousandth)
{
    for (int i = 0; i < ROWS; i++) {
        cr_assert_float_eq(water_vapour_pressure(rows[i].t) / rows[i].vapour, 1, 1e-3);
    }
}

/* IAPWS R7-97 Table 35 (from memory): 300 K, 0.00353658941 MPa. */
Test(water, vapour_pressure_meets_the_release_check_value)
{
    cr_assert_float_eq(water_vapour_pressure(300 - 273.15) / 3536.58941, 1, 1e-8);
}

Test(water, sound_speed_follows_iapws_within_a_fifth_of_a_metre)
{
    for (int i = 0; i < ROWS; i++) {
        const double speed = sqrt(water_bulk_modulus(rows[i].t) / water_density(rows[i].t));
        cr_assert_float_eq(speed, rows[i].sound, 0.2, "%g", rows[i].t);
    }
}

/* Adiabatic modulus from the same IAPWS table, GPa; tolerance 0.2 %. */
Test(water, bulk_modulus_is_the_adiabatic_one)
{
    cr_assert_float_eq(water_bulk_modulus(0) / 1.9664e9, 1, 2e-3);
    cr_assert_float_eq(water_bulk_modulus(20) / 2.1934e9, 1, 2e-3);
    cr_assert_float_eq(water_bulk_modulus(40) / 2.3194e9, 1, 2e-3);
    cr_assert_float_eq(water_bulk_modulus(60) / 2.3651e9, 1, 2e-3);
}

/* ISO 2533:1975, geometric height; values (computed) with an independent implementation. */
Test(water, air_pressure_is_the_standard_atmosphere)
{
    static const double table[][2] = {
        {0, 101325.0},   {100, 100129.5}, {200, 98945.4},  {210, 98827.6},  {300, 97772.7},
        {500, 95461.3},  {800, 92077.5},  {1000, 89876.3}, {1500, 84559.7}, {2000, 79501.4},
        {2500, 74691.8}, {3000, 70121.2}, {4000, 61660.4}, {5000, 54048.3}};
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        cr_assert_float_eq(air_pressure(table[i][0]), table[i][1], 1.0, "%g m", table[i][0]);
    }
}

Test(water, init_fills_every_number)
{
    struct water water;
    struct failure failure;
    const struct place place = {.file = "site.yaml", .line = 3, .column = 9};
    cr_assert(water_init(&water, 20, 210, place, &failure));
    cr_assert_float_eq(water.gravity, 9.80665, 1e-15);
    cr_assert_float_eq(water.air_pressure, 98827.6, 1);
    /* (2339.32 - 98827.6)/(998.2072 x 9.80665) m, from the two published tables above. */
    cr_assert_float_eq(water_vapour_head(&water), -9.85669, 1e-3);
    cr_assert_float_eq(water_head(&water, water_pressure(&water, 7.5)), 7.5, 1e-14);
}

Test(water, temperature_and_altitude_outside_the_range_are_refused_at_their_place)
{
    static const double bad[][2] = {{-0.1, 0},  {60.1, 0}, {20, -501},
                                    {20, 5001}, {NAN, 0},  {20, NAN}};
    const struct place place = {.file = "site.yaml", .line = 3, .column = 9};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        struct water water;
        struct failure failure = {0};
        cr_assert_not(water_init(&water, bad[i][0], bad[i][1], place, &failure));
        cr_assert_eq(failure.kind, FAILURE_INPUT);
        cr_assert_eq(failure.place.line, 3);
        cr_assert_neq(strlen(failure.message), 0);
    }
    static const double good[][2] = {{0, -500}, {60, 5000}};
    for (size_t i = 0; i < 2; i++) {
        struct water water;
        struct failure failure = {0};
        cr_assert(water_init(&water, good[i][0], good[i][1], place, &failure));
    }
}
