#include "models/relief_valve.h"

#include <math.h>
#include <stddef.h>

/* Flow per square root of head difference, fully lifted. */
static double capacity(const struct relief_valve *valve, const struct water *water)
{
    return valve->coefficient * valve->area * sqrt(2.0 * water->gravity);
}

/* Share of lift s where s sqrt(1 + o s) = w: Newton from s = w, which is not below the root of this
 * convex function, falls to it without overshooting. */
static double lift(double w, double overpressure)
{
    double s = w;
    for (int i = 0; i < 20; i++) {
        const double root = sqrt(1.0 + overpressure * s);
        const double slope = root + 0.5 * overpressure * s / root;
        s -= (s * root - w) / slope;
    }
    return fmin(fmax(s, 0.0), 1.0);
}

/* w of lift(): share of the flow at full lift under the set head. */
static double flow_share(const struct relief_valve *valve, const struct water *water, double flow)
{
    return fmax(flow, 0.0) / (capacity(valve, water) * sqrt(valve->set_head));
}

static bool is_lifting(const struct relief_valve *valve, const struct water *water, double flow)
{
    return valve->set_head > 0.0 &&
           flow_share(valve, water, flow) < sqrt(1.0 + valve->overpressure);
}

static struct drop drop(const void *data, const struct water *water, double flow)
{
    const struct relief_valve *valve = data;
    const double per_flow = 1.0 / capacity(valve, water);
    if (flow < 0.0) {
        return (struct drop){.head = valve->set_head, .slope = 0.0};
    }
    if (!is_lifting(valve, water, flow)) {
        const double root = flow * per_flow;
        return (struct drop){.head = root * root, .slope = 2.0 * root * per_flow};
    }
    const double over = valve->overpressure;
    const double s = lift(flow_share(valve, water, flow), over);
    const double root = sqrt(1.0 + over * s);
    const double lift_by_share = 1.0 / (root + 0.5 * over * s / root);
    return (struct drop){.head = valve->set_head * (1.0 + over * s),
                         .slope = over * sqrt(valve->set_head) * lift_by_share * per_flow};
}

static struct span span(const void *data, const struct water *water)
{
    (void)data;
    (void)water;
    return (struct span){.lower = 0.0, .upper = HUGE_VAL};
}

static double opening(const void *data, const struct water *water, double flow)
{
    const struct relief_valve *valve = data;
    if (!is_lifting(valve, water, flow)) {
        return flow > 0.0 ? 1.0 : 0.0;
    }
    return lift(flow_share(valve, water, flow), valve->overpressure);
}

/* --- while things move --- */

static void motion_start(const void *data, const struct water *water, double flow, double head,
                         double state[])
{
    (void)head;
    state[RELIEF_VALVE_STATE_LIFT] = opening(data, water, flow);
}

static struct span motion_span(const void *data, const struct instant *now, const double old[])
{
    (void)old;
    return span(data, now->water);
}

/* How far the lift can go in a step of a travel that takes `time` s. */
static double travel(double step, double time)
{
    return step < time ? step / time : 1.0;
}

/* A lift no larger than this is none: what round-off leaves of a way down would be an orifice so
 * small that no flow could be told for it. */
static const double least_lift = 1e-9;

/* The law at rest as long as its lift is within reach; else the orifice of the lift reached. Both
 * meet where the lift is the same, and rise with flow. */
static struct drop motion_drop(const void *data, const struct instant *now, const double old[],
                               double flow, double next[])
{
    const struct relief_valve *valve = data;
    const double before = old[RELIEF_VALVE_STATE_LIFT];
    const double most = fmin(before + travel(now->step, valve->opening_time), 1.0);
    const double below = before - travel(now->step, valve->closing_time);
    const double least = below > least_lift ? below : 0.0;
    const double wanted = opening(valve, now->water, flow);
    const double reached = fmin(fmax(wanted, least), most);
    next[RELIEF_VALVE_STATE_LIFT] = reached;
    if (!(reached < wanted || reached > wanted)) {
        return drop(data, now->water, flow);
    }
    const double per_flow = 1.0 / (reached * capacity(valve, now->water));
    const double root = fmax(flow, 0.0) * per_flow;
    return (struct drop){.head = root * root, .slope = 2.0 * root * per_flow};
}

static const struct motion motion = {.state_count = RELIEF_VALVE_STATE_COUNT,
                                     .start = motion_start,
                                     .span = motion_span,
                                     .drop = motion_drop,
                                     .settle = NULL,
                                     .setting = NULL};

const struct element relief_valve_element = {.kind = "relief valve",
                                             .drop = drop,
                                             .span = span,
                                             .opening = opening,
                                             .pipe = NULL,
                                             .motion = &motion};

bool relief_valve_check(const struct relief_valve *valve, struct place place,
                        struct failure *failure)
{
    if (!(valve->area > 0.0 && isfinite(valve->area))) {
        return fail(failure, FAILURE_INPUT, place, "relief valve: its bore must be above 0");
    }
    if (!(valve->coefficient > 0.0 && valve->coefficient <= 1.0)) {
        return fail(failure, FAILURE_INPUT, place,
                    "relief valve: discharge coefficient must be above 0 and at most 1; it is %g",
                    valve->coefficient);
    }
    if (!(valve->set_head >= 0.0 && isfinite(valve->set_head))) {
        return fail(failure, FAILURE_INPUT, place,
                    "relief valve: it must open at a head of 0 or more over what stands behind it; "
                    "it is %g m",
                    valve->set_head);
    }
    if (!(valve->overpressure >= 0.0 && isfinite(valve->overpressure))) {
        return fail(failure, FAILURE_INPUT, place,
                    "relief valve: overpressure must not be negative; it is %g",
                    valve->overpressure);
    }
    if (!(valve->opening_time >= 0.0 && isfinite(valve->opening_time) &&
          valve->closing_time >= 0.0 && isfinite(valve->closing_time))) {
        return fail(failure, FAILURE_INPUT, place,
                    "relief valve: the times of its travel must not be negative; up %g s, down %g "
                    "s",
                    valve->opening_time, valve->closing_time);
    }
    return true;
}
