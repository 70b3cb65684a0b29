/* The seven curves invented for demonstration: H = H0 - a Q^2, efficiency eta_b q(2 - q). */
#ifndef TESTS_MODELS_DEMONSTRATION_PUMPS_H
#define TESTS_MODELS_DEMONSTRATION_PUMPS_H

#include "models/pump.h"

#include <criterion/criterion.h>
#include <math.h>

struct demonstration {
    double best_flow; /* m3/h */
    double best_head; /* m */
    double shut_off;  /* m */
    double efficiency;
    double power;        /* kW at best flow */
    double shut_power;   /* kW at no flow */
    double speed_number; /* n_s, rev/min, m3/s, m */
};

static const struct demonstration demonstrations[] = {
    {3, 1.8, 3.0, 0.22, 0.067, 0.056, 53.9},    {9, 2.6, 5.0, 0.32, 0.199, 0.191, 70.8},
    {12, 9.0, 13.0, 0.45, 0.653, 0.471, 32.2},  {12, 16.0, 21.0, 0.58, 0.900, 0.591, 20.9},
    {25, 20.0, 26.0, 0.66, 2.060, 1.339, 25.6}, {10, 6.0, 10.5, 0.38, 0.429, 0.376, 39.9},
    {5, 40.0, 56.0, 0.52, 1.046, 0.732, 6.8},
};

enum { DEMONSTRATION_COUNT = 7, DEMONSTRATION_POINTS = 16 };

static const struct water demonstration_water = {.gravity = 9.80665, .density = 998.2};

/* Sixteen points from 0 to 1.5 best flows, or to just before the flow at no head. */
static inline double demonstration_range(const struct demonstration *from)
{
    return fmin(1.5, 0.97 * sqrt(from->shut_off / (from->shut_off - from->best_head)));
}

static inline struct pump demonstration_pump(int index, bool has_power)
{
    const struct demonstration *from = &demonstrations[index];
    struct pump pump = {.name = "demonstration", .speed = 2900.0 / 60.0};
    for (int i = 0; i < DEMONSTRATION_POINTS; i++) {
        const double q = demonstration_range(from) * i / (DEMONSTRATION_POINTS - 1);
        pump.flow[i] = q * from->best_flow / 3600.0;
        pump.head[i] = from->shut_off - (from->shut_off - from->best_head) * q * q;
        pump.power[i] = 998.2 * 9.80665 * from->best_flow / 3600.0 * pump.head[i] /
                        (from->efficiency * (2.0 - q));
        pump.npsh[i] = 2.0 * (0.6 + 0.4 * q * q);
    }
    pump.count = DEMONSTRATION_POINTS;
    pump.power_count = has_power ? DEMONSTRATION_POINTS : 0;
    pump.npsh_count = DEMONSTRATION_POINTS;
    struct failure failure;
    cr_assert(pump_init(&pump, &demonstration_water, &failure), "%s", failure.message);
    return pump;
}

#endif
