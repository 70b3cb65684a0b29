#include "models/throttling.h"

#include "models/velocity_head.h"

#include <math.h>
#include <stddef.h>

static const double shut = 1e-6; /* opening below which nothing passes: keeps every K finite */

static double within(double value, double low, double high)
{
    return fmin(fmax(value, low), high);
}

static double curve_loss(const struct throttling_curve *curve, double opening)
{
    const double at = within(opening, shut, 1.0);
    if (at <= curve->opening[0]) {
        const double share = curve->opening[0] / at;
        return curve->loss[0] * share * share;
    }
    int right = 1;
    while (right < curve->count - 1 && curve->opening[right] < at) {
        right++;
    }
    if (right >= curve->count) {
        return curve->loss[curve->count - 1];
    }
    const double left_loss = curve->loss[right - 1];
    const double share =
        (at - curve->opening[right - 1]) / (curve->opening[right] - curve->opening[right - 1]);
    return left_loss * pow(curve->loss[right] / left_loss, fmin(share, 1.0));
}

double throttling_loss(const struct throttling *valve, double opening)
{
    const double loss = curve_loss(valve->curve, opening);
    const double open = valve->curve->loss[valve->curve->count - 1];
    if (valve->curve->is_relative) {
        return loss / open * valve->open_loss;
    }
    return loss - open + valve->open_loss;
}

struct drop throttling_drop(const struct throttling *valve, const struct water *water,
                            double opening, double flow)
{
    return velocity_head_drop(throttling_loss(valve, opening), valve->laminar, valve->area, water,
                              flow);
}

struct span throttling_span(double opening)
{
    if (opening < shut) {
        return (struct span){.lower = 0.0, .upper = 0.0};
    }
    return (struct span){.lower = -HUGE_VAL, .upper = HUGE_VAL};
}

static struct drop drop(const void *data, const struct water *water, double flow)
{
    const struct throttling *valve = data;
    return throttling_drop(valve, water, valve->opening, flow);
}

static struct span span(const void *data, const struct water *water)
{
    (void)water;
    const struct throttling *valve = data;
    return throttling_span(valve->opening);
}

static double opening_now(const void *data, const struct water *water, double flow)
{
    (void)water;
    (void)flow;
    const struct throttling *valve = data;
    return valve->opening;
}

/* --- while things move --- */

static double setting(const void *data)
{
    const struct throttling *valve = data;
    return valve->opening;
}

static void motion_start(const void *data, const struct water *water, double flow, double head,
                         double state[])
{
    (void)water;
    (void)flow;
    (void)head;
    state[THROTTLING_STATE_OPENING] = setting(data);
}

static struct span motion_span(const void *data, const struct instant *now, const double old[])
{
    (void)data;
    (void)old;
    return throttling_span(now->setting);
}

static struct drop motion_drop(const void *data, const struct instant *now, const double old[],
                               double flow, double next[])
{
    (void)old;
    next[THROTTLING_STATE_OPENING] = now->setting;
    return throttling_drop(data, now->water, now->setting, flow);
}

static const struct motion motion = {.state_count = THROTTLING_STATE_COUNT,
                                     .start = motion_start,
                                     .span = motion_span,
                                     .drop = motion_drop,
                                     .settle = NULL,
                                     .setting = setting};

const struct element throttling_element = {.kind = "throttling valve",
                                           .drop = drop,
                                           .span = span,
                                           .opening = opening_now,
                                           .pipe = NULL,
                                           .motion = &motion};

/* --- checks --- */

bool throttling_curve_check(const struct throttling_curve *curve, struct place place,
                            struct failure *failure)
{
    if (curve->count < 1 || curve->count > THROTTLING_POINT_MAX) {
        return fail(failure, FAILURE_INPUT, place,
                    "throttling curve '%s': 1 to %d points are needed; %d given", curve->name,
                    THROTTLING_POINT_MAX, curve->count);
    }
    for (int i = 0; i < curve->count; i++) {
        const double before = i > 0 ? curve->opening[i - 1] : 0.0;
        if (!(curve->opening[i] > before && curve->opening[i] <= 1.0)) {
            return fail(failure, FAILURE_INPUT, place,
                        "throttling curve '%s': openings must rise, above 0 and up to 1; %g "
                        "follows %g",
                        curve->name, curve->opening[i], before);
        }
        if (!(curve->loss[i] > 0.0 && isfinite(curve->loss[i])) ||
            (i > 0 && curve->loss[i] > curve->loss[i - 1])) {
            return fail(failure, FAILURE_INPUT, place,
                        "throttling curve '%s': losses must be above 0 and not rise with opening; "
                        "%g at opening %g",
                        curve->name, curve->loss[i], curve->opening[i]);
        }
    }
    if (curve->opening[curve->count - 1] < 1.0) {
        return fail(failure, FAILURE_INPUT, place,
                    "throttling curve '%s': its last opening must be 1 (fully open); it is %g",
                    curve->name, curve->opening[curve->count - 1]);
    }
    return true;
}

bool throttling_check(const struct throttling *valve, struct place place, struct failure *failure)
{
    if (!(valve->area > 0.0 && isfinite(valve->area))) {
        return fail(failure, FAILURE_INPUT, place, "throttling valve: its bore must be above 0");
    }
    if (!(valve->open_loss > 0.0 && isfinite(valve->open_loss))) {
        return fail(failure, FAILURE_INPUT, place,
                    "throttling valve: loss fully open must be above 0; it is %g",
                    valve->open_loss);
    }
    if (!(valve->laminar >= 0.0 && isfinite(valve->laminar))) {
        return fail(failure, FAILURE_INPUT, place,
                    "throttling valve: laminar loss must not be negative; it is %g",
                    valve->laminar);
    }
    if (!(valve->opening >= 0.0 && valve->opening <= 1.0)) {
        return fail(failure, FAILURE_INPUT, place,
                    "throttling valve: opening must be 0 to 1; it is %g", valve->opening);
    }
    return throttling_curve_check(valve->curve, place, failure);
}
