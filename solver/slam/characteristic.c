#include "solver/slam/characteristic.h"

#include "models/circle.h"

#include <math.h>
#include <string.h>

/* Steps from v_0 to zero flow at first; halved so often at most; settled at this share, or at this
 * velocity, m/s. */
enum { STEPS_FIRST = 1000, HALVINGS = 7 };
static const double settled_share = 2e-3;
static const double settled_velocity = 1e-5;

/* The flow may go backward so many times v_0 before the valve counts as one that never shuts, and
 * at least this fast, m/s. */
static const double reverse_most = 20.0;
static const double reverse_least = 20.0;

/* m/s2. Rigid column g dH/L: 10 m over 1000 m of main 0.1; 20 m over 100 m 2; a vessel 5 m behind
 * the valve 30. */
static const double row[] = {0.1, 0.2, 0.5, 1.0, 2.0, 3.0, 5.0, 10.0, 20.0, 50.0};

int slam_row_count(void)
{
    return (int)(sizeof row / sizeof *row);
}

double slam_row_at(int index)
{
    return row[index];
}

double slam_open_velocity(const struct non_return *valve, const struct water *water)
{
    const double area = circle_area(valve->bore);
    const double full = non_return_full_open_flow(valve, water);
    if (isfinite(full)) {
        return full / area;
    }
    double low = 0.0;
    double high = 1.0;
    while (high < 1e3 && non_return_opening(valve, water, high * area) < non_return_fully_open) {
        low = high;
        high *= 2.0;
    }
    for (int i = 0; i < 60; i++) {
        const double middle = low + 0.5 * (high - low);
        if (non_return_opening(valve, water, middle * area) < non_return_fully_open) {
            low = middle;
        } else {
            high = middle;
        }
    }
    return high;
}

/* One passage with this step, s: reverse velocity, NAN if it never shuts. */
static double pass(const struct non_return *valve, const struct water *water, double deceleration,
                   double start, double step, double *seat_speed)
{
    const double area = circle_area(valve->bore);
    const double longest = (start + fmax(reverse_most * start, reverse_least)) / deceleration;
    double state[ELEMENT_STATE_MAX] = {0.0};
    double next[ELEMENT_STATE_MAX] = {0.0};
    const struct drop first = non_return_drop(valve, water, start * area);
    const struct motion *motion = non_return_element.motion;
    motion->start(valve, water, start * area, first.head, state);
    for (int i = 1; i * step < longest; i++) {
        const struct instant now = {.time = i * step, .step = step, .setting = 1.0, .water = water};
        const double flow = area * (start - deceleration * now.time);
        const struct span span = motion->span(valve, &now, state);
        const double held = fmin(fmax(flow, span.lower), span.upper);
        /* A part that meets its seat in this step of forward flow lets no more back. */
        const double given = state[NON_RETURN_STATE_FLOW] < 0.0 ? flow : held;
        const struct drop drop = motion->drop(valve, &now, state, given, next);
        (void)motion->settle(valve, &now, state, given, drop.head, next);
        memcpy(state, next, sizeof state);
        if (state[NON_RETURN_STATE_SHUTS] > 0.0) {
            *seat_speed = state[NON_RETURN_STATE_SEAT_SPEED] * (valve->is_swing ? valve->arm : 1.0);
            return fmax(0.0, -state[NON_RETURN_STATE_LAST_REVERSE]) / area;
        }
    }
    return (double)NAN;
}

struct slam_point slam_point_at(const struct non_return *valve, const struct water *water,
                                double deceleration)
{
    const double open = slam_open_velocity(valve, water);
    /* A valve that is open at any flow starts from 1 m/s. */
    const double start = open > 0.0 ? open : 1.0;
    struct slam_point point = {.deceleration = deceleration, .reverse = (double)NAN};
    double step = start / deceleration / STEPS_FIRST;
    double coarse = pass(valve, water, deceleration, start, step, &point.seat_speed);
    for (int i = 0; i < HALVINGS; i++) {
        step *= 0.5;
        point.reverse = pass(valve, water, deceleration, start, step, &point.seat_speed);
        point.band = fabs(point.reverse - coarse);
        if (!(point.band > fmax(settled_share * point.reverse, settled_velocity))) {
            break;
        }
        coarse = point.reverse;
    }
    point.plain_deceleration =
        open > 0.0 ? valve->bore * deceleration / (open * open) : (double)NAN;
    point.plain_reverse = open > 0.0 ? point.reverse / open : (double)NAN;
    return point;
}
