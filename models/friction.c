#include "models/friction.h"

#include "models/circle.h"

#include <math.h>

/* Below this velocity, m/s, the Hazen-Williams law goes over into an odd cubic that meets its value
 * and slope, so that the slope at rest is finite. Its head is about 3e-8 m in a kilometre. */
static const double hazen_williams_start = 1e-5;

/* Colebrook 1939 with F = ln(10)/2 / sqrt f: solve F + ln(u) = 0, u = a + cF, a = e/(3.7 D),
 * c = (2/ln 10) 2.51/Re. F lies between 3.6 (e/D 0.1) and 25 (Re 1e12); the start F = -ln(a + 8c)
 * is at most ln(25/8) off. Two steps of Chebyshev's method (Newton's step, bent once: third order)
 * leave round-off only: 9e-16 of f at worst over Re 4000 to 1e12, checked in its own equation. */
static double colebrook(double reynolds, double relative_roughness, double *slope)
{
    const double a = relative_roughness / 3.7;
    const double c = 2.51 / FRICTION_HALF_LN_10 / reynolds;
    double root = -log(a + 8.0 * c);
    for (int step = 0; step < 2; step++) {
        const double u = a + c * root;
        const double p = c / u;
        const double newton = (root + log(u)) / (1.0 + p);
        root -= newton * (1.0 - 0.5 * newton * p * p / (1.0 + p));
    }
    const double share = FRICTION_HALF_LN_10 / root;
    const double factor = share * share;
    if (slope) {
        const double p = c / (a + c * root);
        *slope = -2.0 * factor * p / (reynolds * (1.0 + p));
    }
    return factor;
}

/* The cubic in Re that meets value and slope of both laws. */
static double bridge(double reynolds, double relative_roughness, double *slope)
{
    const double width = FRICTION_TURBULENT_START - FRICTION_LAMINAR_END;
    const double from = 64.0 / FRICTION_LAMINAR_END;
    const double from_slope = -from / FRICTION_LAMINAR_END * width;
    double to_slope = 0.0;
    const double to = colebrook(FRICTION_TURBULENT_START, relative_roughness, &to_slope);
    to_slope *= width;
    const double x = (reynolds - FRICTION_LAMINAR_END) / width;
    const double c2 = 3.0 * (to - from) - 2.0 * from_slope - to_slope;
    const double c3 = 2.0 * (from - to) + from_slope + to_slope;
    if (slope) {
        *slope = (from_slope + x * (2.0 * c2 + x * 3.0 * c3)) / width;
    }
    return from + x * (from_slope + x * (c2 + x * c3));
}

double friction_factor(double reynolds, double relative_roughness, double *slope)
{
    const double roughness = fmin(fmax(relative_roughness, 0.0), FRICTION_LARGEST_ROUGHNESS);
    if (reynolds >= FRICTION_TURBULENT_START) {
        return colebrook(reynolds, roughness, slope);
    }
    if (reynolds > FRICTION_LAMINAR_END) {
        return bridge(reynolds, roughness, slope);
    }
    const double factor = 64.0 / reynolds;
    if (slope) {
        *slope = -factor / reynolds;
    }
    return factor;
}

static struct drop hazen_williams_drop(const struct friction *friction, double area, double speed)
{
    const double power = friction->hazen_williams_flow_power;
    const double flow = speed * area;
    const double start = hazen_williams_start * area;
    const double base = fmax(flow, start);
    const double head = friction->hazen_williams_constant * friction->length *
                        pow(base / friction->hazen_williams, power) *
                        pow(friction->bore, -friction->hazen_williams_bore_power);
    const double chord = head / base;
    if (flow >= start) {
        return (struct drop){.head = head, .slope = power * chord};
    }
    const double x = flow / start;
    const double cubic = 0.5 * (power - 1.0) * x * x;
    return (struct drop){.head = chord * flow * (0.5 * (3.0 - power) + cubic),
                         .slope = chord * (0.5 * (3.0 - power) + 3.0 * cubic)};
}

static struct drop darcy_drop(const struct friction *friction, double area, double speed,
                              double viscosity, double gravity)
{
    const double bore = friction->bore;
    const double scale = friction->length / (2.0 * gravity * bore);
    if (friction->factor > 0.0) {
        const double per_speed = scale * friction->factor * speed;
        return (struct drop){.head = per_speed * speed, .slope = 2.0 * per_speed / area};
    }
    const double reynolds = speed * bore / viscosity;
    if (reynolds <= FRICTION_LAMINAR_END) {
        const double per_speed = scale * 64.0 * viscosity / bore;
        return (struct drop){.head = per_speed * speed, .slope = per_speed / area};
    }
    double slope = 0.0;
    const double factor = friction_factor(reynolds, friction->roughness / bore, &slope);
    return (struct drop){.head = scale * factor * speed * speed,
                         .slope = scale * speed * (2.0 * factor + reynolds * slope) / area};
}

struct drop friction_drop(const struct friction *friction, double viscosity, double gravity,
                          double flow)
{
    const double area = circle_area(friction->bore);
    const double speed = fabs(flow) / area;
    struct drop drop;
    if (friction->factor <= 0.0 && friction->hazen_williams > 0.0) {
        drop = hazen_williams_drop(friction, area, speed);
    } else {
        drop = darcy_drop(friction, area, speed, viscosity, gravity);
    }
    drop.head = copysign(drop.head, flow);
    return drop;
}
