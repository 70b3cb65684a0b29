#include "models/pump_curve.h"

#include "models/monotone_cubic.h"

#include <math.h>
#include <stddef.h>

/* --- three numbers --- */

static bool check_duties(const struct pump *pump, double shut_off, int duties, const double flow[],
                         const double head[], struct failure *failure)
{
    double flow_before = 0.0;
    double head_before = shut_off;
    if (!(shut_off > 0.0 && isfinite(shut_off))) {
        return fail(failure, FAILURE_INPUT, pump->place,
                    "pump '%s': the shut-off head must be above 0, it is %.4g m", pump->name,
                    shut_off);
    }
    for (int i = 0; i < duties; i++) {
        if (!(flow[i] > flow_before && isfinite(flow[i]) && head[i] < head_before &&
              head[i] > 0.0)) {
            return fail(failure, FAILURE_INPUT, pump->place,
                        "pump '%s': from the shut-off head to the duty points flow must rise and "
                        "head fall; %.4g m at %.4g L/s follows %.4g m at %.4g L/s",
                        pump->name, head[i], 1e3 * flow[i], head_before, 1e3 * flow_before);
        }
        flow_before = flow[i];
        head_before = head[i];
    }
    return true;
}

/* Points from the last one to `end`, `pieces` of them, on H0 - a (Q/Q1)^n. */
static void add_points(struct pump *pump, double end, int pieces, double shut_off, double a,
                       double first_duty, double power)
{
    const double start = pump->flow[pump->count - 1];
    for (int i = 1; i <= pieces; i++) {
        const double flow = start + (end - start) * i / pieces;
        pump->flow[pump->count] = flow;
        pump->head[pump->count] = fmax(shut_off - a * pow(flow / first_duty, power), 0.0);
        pump->count++;
    }
}

bool pump_curve_estimate(struct pump *pump, double shut_off, int duties, const double flow[],
                         const double head[], struct failure *failure)
{
    enum { PIECES = 8 };
    static const double run_out = 1.5; /* of the last duty flow: about where such pumps end */
    if (!check_duties(pump, shut_off, duties, flow, head, failure)) {
        return false;
    }
    const double a = shut_off - head[0];
    double power = 2.0;
    if (duties > 1) {
        power = log((shut_off - head[1]) / a) / log(flow[1] / flow[0]);
        if (!(power >= 1.0 && power <= 8.0)) {
            return fail(failure, FAILURE_INPUT, pump->place,
                        "pump '%s': no curve H0 - a Q^n with n from 1 to 8 goes through these "
                        "points (n = %.3g); state the curve as rows of flow and head",
                        pump->name, power);
        }
    }
    pump->count = 1;
    pump->flow[0] = 0.0;
    pump->head[0] = shut_off;
    add_points(pump, flow[0], PIECES, shut_off, a, flow[0], power);
    pump->head[pump->count - 1] = head[0];
    if (duties > 1) {
        add_points(pump, flow[1], PIECES, shut_off, a, flow[0], power);
        pump->head[pump->count - 1] = head[1];
    }
    const double dry = flow[0] * pow(shut_off / a, 1.0 / power);
    const double last = run_out * flow[duties - 1];
    add_points(pump, fmin(dry, last), PIECES, shut_off, a, flow[0], power);
    return true;
}

/* --- rising curves --- */

bool pump_curve_rises(const struct pump *pump)
{
    for (int i = 1; i < pump->count; i++) {
        if (pump->head[i] > pump->head[i - 1]) {
            return true;
        }
    }
    return false;
}

bool pump_curve_split(struct pump *pump, struct pump_curve *curve, struct failure *failure)
{
    curve->count = pump->count;
    curve->top = 0;
    for (int i = 0; i < pump->count; i++) {
        curve->head[i] = pump->head[i];
        curve->top = pump->head[i] > pump->head[curve->top] ? i : curve->top;
    }
    const int top = curve->top;
    for (int i = 1; i < pump->count; i++) {
        const bool is_wrong =
            i <= top ? pump->head[i] < pump->head[i - 1] : pump->head[i] > pump->head[i - 1];
        if (is_wrong || !(pump->head[i - 1] > 0.0)) {
            return fail(failure, FAILURE_INPUT, pump->place,
                        "pump '%s': head may rise to one top and must fall from there; %.4g m "
                        "follows %.4g m",
                        pump->name, pump->head[i], pump->head[i - 1]);
        }
    }
    if (top == pump->count - 1) {
        return fail(failure, FAILURE_INPUT, pump->place,
                    "pump '%s': its head still rises at the last flow; add points up to where it "
                    "falls",
                    pump->name);
    }
    monotone_cubic_slopes(pump->count, pump->flow, curve->head, curve->slope);
    for (int i = 0; i < top; i++) {
        pump->head[i] = curve->head[top];
    }
    pump->rising = curve;
    return true;
}

/* How far the maker's curve lies under the falling one at rated speed, and its slope. Below no flow
 * the gap at no flow goes on. */
static struct drop gap(const struct pump *pump, double flow)
{
    const struct pump_curve *curve = pump->rising;
    const double top_flow = pump->flow[curve->top];
    double slope = 0.0;
    if (flow >= top_flow) {
        return (struct drop){.head = 0.0, .slope = 0.0};
    }
    const double head = monotone_cubic_value(curve->count, pump->flow, curve->head, curve->slope,
                                             fmax(flow, 0.0), &slope);
    return (struct drop){.head = curve->head[curve->top] - head,
                         .slope = flow < 0.0 ? 0.0 : -slope};
}

struct drop pump_curve_head(const struct pump *pump, double flow, double speed)
{
    struct drop head = pump_head(pump, flow, speed);
    if (pump->rising && speed > 0.0) {
        const struct drop under = gap(pump, flow / speed);
        head.head -= under.head * speed * speed;
        head.slope -= under.slope * speed;
    }
    return head;
}

static struct drop drop(const void *data, const struct water *water, double flow)
{
    return pump_element.drop(data, water, flow);
}

static struct span span(const void *data, const struct water *water)
{
    return pump_element.span(data, water);
}

static struct coupled_law law(const void *data, const struct water *water,
                              const struct coupled_at *at)
{
    (void)water;
    const struct pump_unit *unit = data;
    const double speed = unit->is_running ? unit->speed : 0.0;
    const struct drop head = pump_curve_head(unit->pump, at->flow, speed);
    return (struct coupled_law){.value = at->head_from - at->head_to + head.head,
                                .by_flow = head.slope,
                                .by_head_from = 1.0,
                                .by_head_to = -1.0};
}

/* --- while things move: the maker's curve at the speed it then has --- */

static struct coupled_law law_of_step(const void *data, const struct instant *now,
                                      const double old[], const struct coupled_at *at,
                                      double next[])
{
    const struct pump_unit *unit = data;
    const struct pump_turn turn = pump_turn(unit, now, old, at->flow);
    const struct quadrant_value head = pump_head_surface(unit->pump, at->flow, turn.speed);
    struct coupled_law law = {.value = at->head_from - at->head_to + head.value,
                              .by_flow = head.by_flow + head.by_speed * turn.by_flow,
                              .by_head_from = 1.0,
                              .by_head_to = -1.0};
    next[PUMP_STATE_SPEED] = turn.speed;
    next[PUMP_STATE_TORQUE] = turn.torque;
    if (turn.speed > 0.0) {
        /* G(Q/a) a^2 under the falling curve; by a: 2 a G - Q G' */
        const struct drop under = gap(unit->pump, at->flow / turn.speed);
        const double by_speed = 2.0 * turn.speed * under.head - at->flow * under.slope;
        law.value -= under.head * turn.speed * turn.speed;
        law.by_flow -= under.slope * turn.speed + by_speed * turn.by_flow;
    }
    return law;
}

static const struct coupling coupling = {
    .partner_count = 0, .partners = NULL, .law = law, .start = NULL, .law_of_step = law_of_step};

static void motion_start(const void *data, const struct water *water, double flow, double head,
                         double state[])
{
    pump_element.motion->start(data, water, flow, head, state);
}

static struct span motion_span(const void *data, const struct instant *now, const double old[])
{
    return pump_element.motion->span(data, now, old);
}

static double setting(const void *data)
{
    return pump_element.motion->setting(data);
}

/* The nearest falling curve's; the coupled law rules. */
static struct drop motion_drop(const void *data, const struct instant *now, const double old[],
                               double flow, double next[])
{
    return pump_element.motion->drop(data, now, old, flow, next);
}

static const struct motion motion = {.state_count = PUMP_STATE_COUNT,
                                     .start = motion_start,
                                     .span = motion_span,
                                     .drop = motion_drop,
                                     .settle = NULL,
                                     .setting = setting};

const struct element rising_pump_element = {.kind = "pump with rising curve",
                                            .drop = drop,
                                            .span = span,
                                            .opening = NULL,
                                            .pipe = NULL,
                                            .motion = &motion,
                                            .coupling = &coupling};

bool pump_is_kind(const struct element *element)
{
    return element == &pump_element || element == &rising_pump_element;
}
