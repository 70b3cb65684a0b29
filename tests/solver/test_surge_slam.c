/* The plain motion law of a non-return valve reproduced from stated numbers alone: the surge solver
 * against the same ordinary differential equations integrated here by the classical Runge-Kutta
 * rule with a very small step (computed, not measured), for a rigid column of water; and the two
 * held parts against their closed forms. */
#include "models/circle.h"
#include "models/non_return.h"
#include "models/non_return_motion.h"
#include "models/non_return_state.h"
#include "tests/solver/surge_rig.h"

static const double gravity = 9.81;
static const double density = 1000.0;

/* A rigid column of this inertia that is driven by a head: drop = inertia dQ/dt - head; the head is
 * `before` with setting 1 and `after` with setting 0. */
struct column {
    double inertia; /* s2/m2 */
    double before;  /* m */
    double after;
};

enum { COLUMN_FLOW, COLUMN_RATE, COLUMN_STATES };

/* Backward step: the drop at the end of the step moves the column. */
static struct drop column_drop(const void *data, const struct instant *now, const double old[],
                               double flow, double next[])
{
    const struct column *column = data;
    const double head = now->setting > 0.5 ? column->before : column->after;
    next[COLUMN_FLOW] = flow;
    next[COLUMN_RATE] = 0.0;
    return (struct drop){column->inertia * (flow - old[COLUMN_FLOW]) / now->step - head,
                         column->inertia / now->step};
}

static void column_start(const void *data, const struct water *water, double flow, double drop,
                         double state[])
{
    (void)data;
    (void)water;
    (void)drop;
    state[COLUMN_FLOW] = flow;
    state[COLUMN_RATE] = 0.0;
}

static const struct motion column_motion = {
    .state_count = COLUMN_STATES, .start = column_start, .drop = column_drop};
static const struct element column_element = {
    .kind = "column", .drop = rig_no_drop, .span = rig_any_flow, .motion = &column_motion};

/* A flap with every number stated. */
static struct non_return stated_flap(void)
{
    struct non_return valve = {
        .type = "stated flap",
        .form = NON_RETURN_SWING_FLAP,
        .bore = 0.08,
        .port_area = 0.004,
        .full_open_loss = 2.0,
        .seat_area = 0.005,
        .is_swing = true,
        .inertia = 4e-3,
        .travel = 1.1,
        .arm = 0.05,
        .damping = 0.004,
        .opening_floor = 0.02,
    };
    valve.own.has_force = true;
    valve.own.preload = 0.02;
    valve.own.rate = 0.05;
    valve.own.weight = 0.25;
    valve.own.seat_angle = 0.1;
    return valve;
}

/* A poppet the same. */
static struct non_return stated_poppet(void)
{
    struct non_return valve = {
        .type = "stated poppet",
        .form = NON_RETURN_LIFT,
        .bore = 0.08,
        .port_area = 0.004,
        .full_open_loss = 4.0,
        .seat_area = 0.005,
        .inertia = 4.0,
        .travel = 0.025,
        .arm = 1.0,
        .damping = 3.0,
        .opening_floor = 0.02,
    };
    valve.own.has_force = true;
    valve.own.preload = 2.0;
    valve.own.rate = 40.0;
    valve.own.weight = 1.0;
    return valve;
}

/* What is compared. */
struct shut {
    double time;       /* s after the fall of the driving head */
    double reverse;    /* m/s */
    double seat_speed; /* m/s or rad/s */
    double half_time;  /* s, when it passed half its travel */
};

/* --- the same law, integrated here --- */

struct motion_case {
    const struct non_return *valve;
    const struct column *column;
};

static double stated_force(const struct non_return *valve, double x)
{
    const struct non_return_own *own = &valve->own;
    const double weight = valve->is_swing ? own->weight * sin(x + own->seat_angle) : own->weight;
    return own->preload + own->rate * x + weight;
}

/* y = flow, position, velocity. */
static void slopes(const struct motion_case *now, const double y[3], double slope[3])
{
    const struct non_return *valve = now->valve;
    const double area = circle_area(valve->bore);
    const double s = fmin(fmax(y[1] / valve->travel, valve->opening_floor), 1.0);
    const double head =
        valve->full_open_loss / (s * s) * y[0] * fabs(y[0]) / (2.0 * gravity * area * area);
    const double lift = density * gravity * valve->seat_area * valve->arm;
    slope[0] = (now->column->after - head) / now->column->inertia;
    slope[1] = y[2];
    slope[2] = (lift * head - stated_force(valve, y[1]) - valve->damping * y[2]) / valve->inertia;
    if (y[1] >= valve->travel && slope[2] > 0.0 && y[2] >= 0.0) {
        slope[1] = 0.0;
        slope[2] = 0.0;
    }
}

static void runge_kutta(const struct motion_case *now, double step, double y[3])
{
    static const double along[] = {0.0, 0.5, 0.5, 1.0};
    static const double weight[] = {1.0 / 6.0, 1.0 / 3.0, 1.0 / 3.0, 1.0 / 6.0};
    double slope[3] = {0.0, 0.0, 0.0};
    double sum[3] = {0.0, 0.0, 0.0};
    for (int stage = 0; stage < 4; stage++) {
        double at[3];
        for (int i = 0; i < 3; i++) {
            at[i] = y[i] + along[stage] * step * slope[i];
        }
        slopes(now, at, slope);
        for (int i = 0; i < 3; i++) {
            sum[i] += weight[stage] * slope[i];
        }
    }
    for (int i = 0; i < 3; i++) {
        y[i] += step * sum[i];
    }
}

static struct shut integrate(const struct motion_case *now, double flow)
{
    const double step = 1e-6;
    double y[3] = {flow, now->valve->travel, 0.0};
    struct shut shut = {.half_time = NAN};
    for (int i = 0; i < 3000000 && y[1] > 0.0; i++) {
        runge_kutta(now, step, y);
        shut.time = (i + 1) * step;
        if (isnan(shut.half_time) && y[1] < 0.5 * now->valve->travel) {
            shut.half_time = shut.time;
        }
    }
    shut.reverse = -y[0] / circle_area(now->valve->bore);
    shut.seat_speed = -y[2];
    return shut;
}

/* --- the solver --- */

static const double fall = 0.01; /* s, when the driving head falls */

static struct shut solve(const struct non_return *valve, const struct column *column, double flow,
                         double step)
{
    struct rig rig;
    rig_open(&rig, 2.5);
    const double area = circle_area(valve->bore);
    int sump = rig_add_tank(&rig, 0.0);
    int middle = rig_add_point(&rig, column->before);
    int tank = rig_add_tank(&rig, 0.0);
    rig_add_link(&rig, sump, middle, area, &column_element, column, flow);
    rig_add_link(&rig, middle, tank, area, &non_return_element, valve, flow);
    rig.valve = (struct valve_place){.link = 1, .pump_link = NETWORK_NONE};
    rig.site.valves = &rig.valve;
    rig.site.valve_count = 1;
    rig.site.surge.largest_step = step;
    rig_add_event(&rig, SURGE_EVENT_SET, fall, 0, 0.0, 0.0);
    rig_run(&rig);
    const struct surge_valve *found = &rig.result.valves[0];
    cr_assert(found->has_shut);
    struct shut shut = {.time = found->shut_time - fall,
                        .reverse = found->first_reverse_velocity,
                        .half_time = NAN};
    for (int i = 0; i < rig.result.time_count && isnan(shut.half_time); i++) {
        shut.half_time = rig.result.opening[i] < 0.5 ? rig.result.time[i] - fall : (double)NAN;
    }
    rig_close(&rig);
    return shut;
}

/* Column of 20 m, open at 2 m/s, then driven back by 12 m of head: 5.9 m/s2. */
static void check_reproduced(const struct non_return *valve)
{
    const double area = circle_area(valve->bore);
    const double flow = 2.0 * area;
    const struct column column = {.inertia = 20.0 / (gravity * area),
                                  .before = valve->full_open_loss * 4.0 / (2.0 * gravity),
                                  .after = -12.0};
    const struct motion_case now = {valve, &column};
    const struct shut exact = integrate(&now, flow);
    double before = 1.0;
    for (double step = 4e-4; step > 0.4e-4; step *= 0.5) {
        const struct shut found = solve(valve, &column, flow, step);
        const double error = fabs(found.reverse / exact.reverse - 1.0);
        cr_expect_float_eq(found.time, exact.time, 2e-3 * exact.time, "%s: shut %g, %g",
                           valve->type, found.time, exact.time);
        cr_expect_float_eq(found.half_time, exact.half_time, 2e-3 * exact.half_time + step);
        cr_expect_lt(error, before, "%s: %g m/s for %g", valve->type, found.reverse, exact.reverse);
        before = fmax(error, 1e-4);
    }
    cr_expect_lt(before, 5e-3, "%s: reverse velocity off by %g", valve->type, before);
    cr_expect_gt(exact.reverse, 0.02);
}

Test(surge_slam, stated_flap_moves_as_its_equation)
{
    const struct non_return valve = stated_flap();
    check_reproduced(&valve);
}

Test(surge_slam, stated_poppet_moves_as_its_equation)
{
    const struct non_return valve = stated_poppet();
    check_reproduced(&valve);
}

/* --- parts that are held --- */

/* Held by `delay` s or until `stick` m/s, on a column slowed evenly by d = g dH/L = 1.962 m/s2. */
static struct surge_valve run_held(double stick, double delay, double step)
{
    struct non_return valve = {.type = "held",
                               .form = NON_RETURN_IDEAL,
                               .bore = 0.1,
                               .port_area = 0.008,
                               .full_open_loss = 0.0,
                               .seat_area = 0.008,
                               .arm = 1.0,
                               .opening_floor = 0.01,
                               .own = {.stick_velocity = stick, .shut_delay = delay}};
    const double area = circle_area(valve.bore);
    const struct column column = {
        .inertia = 50.0 / (gravity * area), .before = 0.0, .after = -10.0};
    struct rig rig;
    rig_open(&rig, 1.5);
    int sump = rig_add_tank(&rig, 0.0);
    int middle = rig_add_point(&rig, 0.0);
    int tank = rig_add_tank(&rig, 0.0);
    rig_add_link(&rig, sump, middle, area, &column_element, &column, area);
    rig_add_link(&rig, middle, tank, area, &non_return_element, &valve, area);
    rig.valve = (struct valve_place){.link = 1, .pump_link = NETWORK_NONE};
    rig.site.valves = &rig.valve;
    rig.site.valve_count = 1;
    rig.site.surge.largest_step = step;
    rig_add_event(&rig, SURGE_EVENT_SET, 0.0, 0, 0.0, 0.0);
    rig_run(&rig);
    const struct surge_valve found = rig.result.valves[0];
    rig_close(&rig);
    return found;
}

/* v_R = d t_d whatever the step: d = 1.962 m/s2, t_d = 0.1 s give 0.1962 m/s (exact). */
Test(surge_slam, delayed_valve_shuts_at_deceleration_times_delay_exactly)
{
    for (double step = 0.0007; step < 0.06; step *= 3.0) {
        const struct surge_valve found = run_held(0.0, 0.1, step);
        cr_expect_eq(found.shuts, 1);
        cr_expect_float_eq(found.first_reverse_velocity, 0.1962, 1e-9);
        cr_expect_float_eq(found.deceleration, 1.962, 1e-9);
        cr_expect_float_eq(found.shut_time, 1.0 / 1.962 + 0.1, 1e-9);
    }
}

/* A part that sticks lets go at its velocity, whatever the step, at v_0/d + v_stick/d (exact). */
Test(surge_slam, sticking_valve_slams_at_the_velocity_it_sticks_until)
{
    for (double step = 0.0007; step < 0.06; step *= 3.0) {
        const struct surge_valve found = run_held(0.5, 0.0, step);
        cr_expect_eq(found.shuts, 1);
        cr_expect_float_eq(found.first_reverse_velocity, 0.5, 1e-9);
        cr_expect_float_eq(found.shut_time, 1.5 / 1.962, 1e-9);
    }
}

Test(surge_slam, sticking_valve_stays_open_below_that_velocity)
{
    const struct surge_valve found = run_held(5.0, 0.0, 0.002);
    cr_expect(!found.has_shut);
    cr_expect_float_eq(found.opening_end, 1.0, 1e-12);
}

/* Just off its seat: the law of such a part is continuous and rises through no flow. */
Test(surge_slam, held_part_just_off_its_seat_has_no_jump_at_no_flow)
{
    struct non_return valve = stated_flap();
    valve.opening_head = 0.03;
    valve.own.stick_velocity = 0.5;
    const struct water water = {.gravity = gravity, .density = density, .viscosity = 1e-6};
    const struct instant now = {.time = 1.0, .step = 1e-4, .setting = 1.0, .water = &water};
    double old[ELEMENT_STATE_MAX] = {0.0};
    double next[ELEMENT_STATE_MAX];
    old[NON_RETURN_STATE_OPENING] = 1e-9;
    double before = -INFINITY;
    for (int i = -1000; i < 2000; i++) {
        const double flow = 1e-6 * i;
        const struct drop drop = non_return_motion.drop(&valve, &now, old, flow, next);
        cr_assert_geq(drop.head, before, "at %g m3/s", flow);
        before = drop.head;
    }
    cr_expect_lt(fabs(non_return_motion.drop(&valve, &now, old, 1e-9, next).head), 1e-6);
    cr_expect_lt(fabs(non_return_motion.drop(&valve, &now, old, -1e-9, next).head), 1e-6);
}
