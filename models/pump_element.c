/* A pump as an element of the network, at rest and while it runs down. */
#include "models/circle.h"
#include "models/pump.h"
#include "models/root.h"

#include <math.h>

/* Direct on line, small close-coupled pumps: 0.1 to 0.5 s (common practice, from memory). */
const double pump_run_up_time = 0.3;

static struct drop drop_at(const struct pump *pump, double flow, double speed)
{
    const struct drop head = pump_head(pump, flow, speed);
    const struct drop result = {-head.head, -head.slope};
    return result;
}

static double steady_speed(const struct pump_unit *unit)
{
    return unit->is_running ? unit->speed : 0.0;
}

static struct drop steady_drop(const void *data, const struct water *water, double flow)
{
    (void)water;
    const struct pump_unit *unit = data;
    return drop_at(unit->pump, flow, steady_speed(unit));
}

static struct span steady_span(const void *data, const struct water *water)
{
    (void)data;
    (void)water;
    const struct span span = {-INFINITY, INFINITY};
    return span;
}

static void start(const void *data, const struct water *water, double flow, double drop,
                  double state[])
{
    (void)water;
    (void)drop;
    const struct pump_unit *unit = data;
    state[PUMP_STATE_SPEED] = steady_speed(unit);
    state[PUMP_STATE_TORQUE] = pump_torque(unit->pump, flow, state[PUMP_STATE_SPEED]);
}

static struct span span_of_step(const void *data, const struct instant *now, const double old[])
{
    (void)old;
    return steady_span(data, now->water);
}

/* Trapezoidal rule for I w_rated da/dt = -torque. */
struct run_down {
    const struct pump *pump;
    double flow;
    double speed;  /* share, before the step */
    double torque; /* N m, before the step */
    double factor; /* step/(2 I w_rated), 1/(N m) */
};

static struct root_value run_down_unbalance(const void *user, double speed)
{
    const struct run_down *run = user;
    const struct quadrant_value torque = pump_torque_surface(run->pump, run->flow, speed);
    const struct root_value result = {speed - run->speed +
                                          run->factor * (torque.value + run->torque),
                                      1.0 + run->factor * torque.by_speed};
    return result;
}

static struct pump_turn run_down(const struct pump_unit *unit, const struct instant *now,
                                 const double old[], double flow)
{
    const struct pump *pump = unit->pump;
    const struct run_down run = {
        .pump = pump,
        .flow = flow,
        .speed = old[PUMP_STATE_SPEED],
        .torque = old[PUMP_STATE_TORQUE],
        .factor = now->step / (4.0 * circle_pi * (pump->inertia + unit->flywheel) * pump->speed),
    };
    const double speed = root_find(run_down_unbalance, &run, run.speed, -INFINITY, INFINITY);
    if (unit->reverse_blocked && !(speed > 0.0)) {
        return (struct pump_turn){0.0, 0.0, 0.0}; /* the ratchet carries the torque */
    }
    const struct quadrant_value torque = pump_torque_surface(pump, flow, speed);
    const double rigidity = 1.0 + run.factor * torque.by_speed;
    return (struct pump_turn){
        .speed = speed,
        .by_flow = rigidity > 0.0 ? -run.factor * torque.by_flow / rigidity : 0.0,
        .torque = torque.value,
    };
}

struct pump_turn pump_turn(const struct pump_unit *unit, const struct instant *now,
                           const double old[], double flow)
{
    const bool is_powered = now->setting > 0.0;
    const bool was_never_started = !unit->is_running && !(fabs(old[PUMP_STATE_SPEED]) > 0.0);
    if (!is_powered && !was_never_started) {
        return run_down(unit, now, old, flow);
    }
    double speed = 0.0;
    if (is_powered) {
        const double most = old[PUMP_STATE_SPEED] + unit->speed * now->step / pump_run_up_time;
        speed = fmin(unit->speed * fmin(now->setting, 1.0), most);
    }
    if (is_powered && speed < old[PUMP_STATE_SPEED]) {
        const struct pump_turn free = run_down(unit, now, old, flow);
        if (free.speed >= speed) {
            return free;
        }
    }
    return (struct pump_turn){speed, 0.0, pump_torque(unit->pump, flow, speed)};
}

static struct drop drop_of_step(const void *data, const struct instant *now, const double old[],
                                double flow, double next[])
{
    const struct pump_unit *unit = data;
    const struct pump_turn turn = pump_turn(unit, now, old, flow);
    const struct quadrant_value head = pump_head_surface(unit->pump, flow, turn.speed);
    next[PUMP_STATE_SPEED] = turn.speed;
    next[PUMP_STATE_TORQUE] = turn.torque;
    return (struct drop){-head.value, -head.by_flow - head.by_speed * turn.by_flow};
}

/* A unit at rest has no power until an event gives it some. */
static double first_setting(const void *data)
{
    const struct pump_unit *unit = data;
    return unit->is_running ? 1.0 : 0.0;
}

static const struct motion pump_motion = {
    .state_count = PUMP_STATE_COUNT,
    .start = start,
    .span = span_of_step,
    .never_shuts = true,
    .drop = drop_of_step,
    .settle = 0,
    .setting = first_setting,
};

const struct element pump_element = {
    .kind = "pump",
    .drop = steady_drop,
    .span = steady_span,
    .opening = 0,
    .pipe = 0,
    .motion = &pump_motion,
    .coupling = 0,
};
