/* What pump_init checks and derives from the maker's points. */
#include "models/circle.h"
#include "models/monotone_cubic.h"
#include "models/pump.h"

#include <math.h>
#include <stddef.h>

static bool check_points(const struct pump *pump, struct failure *failure)
{
    if (pump->count < 2 || pump->count > PUMP_POINT_MAX) {
        return fail(failure, FAILURE_INPUT, pump->place,
                    "pump '%s': a curve has 2 to %d points; here are %d", pump->name,
                    PUMP_POINT_MAX, pump->count);
    }
    if (fabs(pump->flow[0]) > 0.0) {
        return fail(failure, FAILURE_INPUT, pump->place,
                    "pump '%s': the first flow must be 0, it is %.4g L/s; add the shut-off head",
                    pump->name, 1e3 * pump->flow[0]);
    }
    if (!(pump->head[0] > 0.0) || !isfinite(pump->head[0])) {
        return fail(failure, FAILURE_INPUT, pump->place,
                    "pump '%s': the shut-off head must be above 0, it is %.4g m", pump->name,
                    pump->head[0]);
    }
    for (int i = 1; i < pump->count; i++) {
        if (!(pump->flow[i] > pump->flow[i - 1]) || !isfinite(pump->flow[i])) {
            return fail(failure, FAILURE_INPUT, pump->place,
                        "pump '%s': flow points must rise; %.4g L/s follows %.4g L/s", pump->name,
                        1e3 * pump->flow[i], 1e3 * pump->flow[i - 1]);
        }
        if (!(pump->head[i] <= pump->head[i - 1]) || !isfinite(pump->head[i])) {
            return fail(failure, FAILURE_INPUT, pump->place,
                        "pump '%s': head may not rise with flow; %.4g m follows %.4g m; leave out "
                        "the lower point",
                        pump->name, pump->head[i], pump->head[i - 1]);
        }
    }
    return true;
}

static bool check_rows(const struct pump *pump, struct failure *failure)
{
    if (!(pump->speed > 0.0) || !isfinite(pump->speed)) {
        return fail(failure, FAILURE_INPUT, pump->place,
                    "pump '%s': speed must be above 0; it is %.4g rpm", pump->name,
                    60.0 * pump->speed);
    }
    if ((pump->power_count != 0 && pump->power_count != pump->count) ||
        (pump->npsh_count != 0 && pump->npsh_count != pump->count)) {
        return fail(failure, FAILURE_INPUT, pump->place,
                    "pump '%s': power and npsh required need one number for each of the %d flows",
                    pump->name, pump->count);
    }
    for (int i = 0; i < pump->power_count; i++) {
        if (!(pump->power[i] > 0.0) || !isfinite(pump->power[i])) {
            return fail(failure, FAILURE_INPUT, pump->place,
                        "pump '%s': power must be above 0; point %d is %.4g kW", pump->name, i + 1,
                        1e-3 * pump->power[i]);
        }
    }
    for (int i = 0; i < pump->npsh_count; i++) {
        if (!(pump->npsh[i] >= 0.0) || !isfinite(pump->npsh[i])) {
            return fail(failure, FAILURE_INPUT, pump->place,
                        "pump '%s': npsh required may not be negative; point %d is %.4g m",
                        pump->name, i + 1, pump->npsh[i]);
        }
    }
    if (!(pump->inertia >= 0.0) || !isfinite(pump->inertia) || !(pump->motor_efficiency >= 0.0) ||
        !(pump->motor_efficiency <= 1.0)) {
        return fail(failure, FAILURE_INPUT, pump->place,
                    "pump '%s': inertia must be 0 or more (it is %.4g kg m2) and motor efficiency "
                    "0 to 1 (it is %.4g)",
                    pump->name, pump->inertia, pump->motor_efficiency);
    }
    return true;
}

/* What the best point has most of: flow x head, for each watt when the power is known. */
static double merit(const struct pump *pump, double flow)
{
    const double gain =
        flow * monotone_cubic_value(pump->count, pump->flow, pump->head, pump->slope, flow, 0);
    return pump->power_count > 0 ? gain / pump_power(pump, flow, 1.0) : gain;
}

static double best_flow(const struct pump *pump)
{
    enum { SAMPLES = 400 };
    const double last = pump->flow[pump->count - 1];
    int best = 1;
    for (int i = 1; i <= SAMPLES; i++) {
        if (merit(pump, last * i / SAMPLES) > merit(pump, last * best / SAMPLES)) {
            best = i;
        }
    }
    double lower = last * (best - 1) / SAMPLES;
    double upper = fmin(last, last * (best + 1) / SAMPLES);
    for (int i = 0; i < 60; i++) { /* thirds: the merit has one top between the neighbours */
        const double third = (upper - lower) / 3.0;
        if (merit(pump, lower + third) < merit(pump, upper - third)) {
            lower += third;
        } else {
            upper -= third;
        }
    }
    return 0.5 * (lower + upper);
}

/* Efficiency at the best point of a small end-suction pump where the power is not known: line
 * through 51 % at 6, 55 % at 10, 61 % at 20 and 65 % at 40 m3/h (close-coupled, 2900 rpm, n_s 20,
 * minimum efficiency index 0.4; formula of EU 547/2012, its constants from memory). */
static double guessed_efficiency(double flow)
{
    return fmin(0.8, fmax(0.2, 0.51 + 0.17 * log10(flow * 3600.0 / 6.0)));
}

double pump_inertia_estimate(double power, double speed)
{
    const double kilowatts = 1e-3 * power;
    const double thousands = 60e-3 * speed; /* thousand revolutions a minute */
    const double cube = thousands * thousands * thousands;
    return 0.03768 * pow(kilowatts / cube, 0.9556) + 0.0043 * pow(kilowatts / thousands, 1.48);
}

/* Largest slope dh/dv of the table at speed 1 between entries `from` and `to`. Inside a piece
 * dh/dv = 2 v W + W' bends little: its ends and a few points between tell it. */
static double largest_slope(const struct four_quadrant *table, double from, double to)
{
    enum { SAMPLES = 16 };
    double largest = -INFINITY;
    for (int i = (int)from; i < (int)ceil(to); i++) {
        const double left = fmax(from, (double)i);
        const double right = fmin(to, (double)(i + 1));
        for (int k = 0; k <= SAMPLES; k++) {
            /* A hair inside, so that the slope is that of this piece. */
            const double share = 1e-9 + (1.0 - 2e-9) * k / SAMPLES;
            const double v = tan((left + share * (right - left)) * circle_pi / 44.0);
            double slope = 0.0;
            (void)four_quadrant_head(table, 1.0, v, &slope);
            largest = fmax(largest, slope);
        }
    }
    return largest;
}

/* Over what sampling may have missed between two points. */
static const double slope_margin = 1e-3;

static void join_tables(struct pump *pump)
{
    const int n = pump->count - 1;
    const struct four_quadrant *table = &pump->quadrants;
    const double v_last = pump->flow[n] / pump->best_flow;
    const double per_slope = pump->best_flow / pump->best_head;
    double slope = 0.0;

    pump->back.head_offset = pump->head[0] / pump->best_head - table->head[44];
    pump->back.head_pull = fmax(0.0, largest_slope(table, 22.0, 44.0) + slope_margin);

    const double at_last = four_quadrant_head(table, 1.0, v_last, &slope);
    const double entry = 44.0 + atan(v_last) * 44.0 / circle_pi;
    pump->ahead.head_offset = pump->head[n] / pump->best_head - at_last;
    pump->ahead.head_pull = largest_slope(table, entry, 66.0) + slope_margin;
    /* A table of its own is followed as it is; a maker's curve goes on with its own slope. */
    const double own = pump->rated_table == NULL ? slope - pump->slope[n] * per_slope : 0.0;
    pump->ahead.head_pull = fmax(own, pump->ahead.head_pull);

    pump->back.torque_offset = 0.0;
    pump->ahead.torque_offset = 0.0;
    if (pump->power_count > 0) {
        const double scale = 1.0 / (2.0 * circle_pi * pump->speed * pump->best_torque);
        pump->back.torque_offset = pump->power[0] * scale - table->torque[44];
        pump->ahead.torque_offset =
            pump->power[n] * scale - four_quadrant_torque(table, 1.0, v_last, 0);
    }
}

void pump_rated(struct pump *pump, const struct four_quadrant *table, double flow, double head,
                double power)
{
    enum { SHUT_OFF = 44, LAST = 59 }; /* entries; the head is about 0 at the last */
    pump->rated_table = table;
    pump->best_flow = flow;
    pump->best_head = head;
    pump->count = LAST - SHUT_OFF + 1;
    pump->npsh_count = 0;
    double least = INFINITY;
    for (int i = 0; i < pump->count; i++) {
        const double v = tan(i * circle_pi / 44.0);
        const double torque = four_quadrant_torque(table, 1.0, v, NULL);
        if (!(torque > 0.0)) { /* an axial pump turns by itself from here on */
            pump->count = i;
            break;
        }
        least = fmin(least, four_quadrant_head(table, 1.0, v, NULL));
        pump->flow[i] = flow * v;
        pump->head[i] = head * least;
        pump->power[i] = power * torque;
    }
    pump->power_count = pump->count;
}

bool pump_init(struct pump *pump, const struct water *water, struct failure *failure)
{
    if (!check_points(pump, failure) || !check_rows(pump, failure)) {
        return false;
    }
    monotone_cubic_slopes(pump->count, pump->flow, pump->head, pump->slope);
    if (pump->power_count > 0) {
        monotone_cubic_slopes(pump->count, pump->flow, pump->power, pump->power_slope);
    }
    if (pump->npsh_count > 0) {
        monotone_cubic_slopes(pump->count, pump->flow, pump->npsh, pump->npsh_slope);
    }
    if (pump->rated_table == NULL) {
        pump->best_flow = best_flow(pump);
        pump->best_head = monotone_cubic_value(pump->count, pump->flow, pump->head, pump->slope,
                                               pump->best_flow, 0);
    }
    const double hydraulic = water->density * water->gravity * pump->best_flow * pump->best_head;
    const double shaft = pump->power_count > 0 ? pump_power(pump, pump->best_flow, 1.0)
                                               : hydraulic / guessed_efficiency(pump->best_flow);
    pump->best_torque = shaft / (2.0 * circle_pi * pump->speed);
    pump->inertia_is_estimated = !(pump->inertia > 0.0);
    if (pump->inertia_is_estimated) {
        pump->inertia = pump_inertia_estimate(shaft, pump->speed);
    }
    pump->quadrants = pump->rated_table != NULL ? *pump->rated_table
                                                : four_quadrant_between(pump_specific_speed(pump));
    join_tables(pump);
    return true;
}
