/* Pump trip in a frictionless main whose static head is the rated head: groups R = a V0/(g H_R) and
 * TAU = T0/(2L/a), T0 = I w_R/T_R (those of Parmakian's charts). Expected values: an independent
 * characteristics program with the same four-quadrant tables (computed, not measured; equal to
 * 0.001 with 50 and 100 reaches). */
#include "models/circle.h"
#include "models/non_return.h"
#include "tests/solver/surge_rig.h"

static const double area = 0.01;
static const double speed = 1000.0;
static const double length = 1000.0;
static const double rated_head = 50.0;

struct trip {
    int table; /* specific speed */
    double ratio;
    double tau;
    double pump_min;
    double middle_min;
    double pump_max;
    double reversal; /* in 2L/a */
    double standstill;
    double speed_min;
};

/* A pump that is the table everywhere: its own curve ends before it begins. */
static void make_pump(struct pump *pump, const struct trip *trip)
{
    double flow = trip->ratio * 9.81 * rated_head / speed * area;
    *pump = (struct pump){.name = "pump", .speed = 25.0, .count = 1, .flow = {-1.0}};
    pump->best_flow = flow;
    pump->best_head = rated_head;
    pump->best_torque = 100.0;
    double rated_turning = 2.0 * circle_pi * pump->speed;
    double period = 2.0 * length / speed;
    pump->inertia = trip->tau * period * pump->best_torque / rated_turning;
    pump->quadrants = four_quadrant_between(trip->table);
    cr_assert_float_eq(pump->quadrants.specific_speed, trip->table, 1e-12);
}

/* Well at 0 - pump - check valve (perhaps) - two halves of the main - tank. */
static void prepare_trip(struct rig *rig, const struct pump_unit *unit,
                         const struct non_return *valve, double periods)
{
    rig_open(rig, periods * 2.0 * length / speed);
    double flow = unit->pump->best_flow;
    int well = rig_add_tank(rig, 0.0);
    int outlet = rig_add_point(rig, rated_head);
    int main = valve == NULL ? outlet : rig_add_point(rig, rated_head);
    int middle = rig_add_point(rig, rated_head);
    int tank = rig_add_tank(rig, rated_head);
    rig->points[0].elevation = -1e4;
    rig->pump = (struct pump_place){.link = 0};
    rig->site.pump_places = &rig->pump;
    rig->site.pump_place_count = 1;
    int pump = rig_add_link(rig, well, outlet, area, &pump_element, unit, flow);
    rig_add_pipe(rig, main, middle, length / 2.0, area, speed, flow);
    rig_add_pipe(rig, middle, tank, length / 2.0, area, speed, flow);
    if (valve != NULL) {
        int link = rig_add_link(rig, outlet, main, area, &non_return_element, valve, flow);
        rig->valve = (struct valve_place){.link = link};
        rig->site.valves = &rig->valve;
        rig->site.valve_count = 1;
        rig->head[main] -= non_return_element.drop(valve, &rig->site.water, flow).head;
    }
    rig->site.surge.reaches = 50;
    rig_add_gauge(rig, main, false);
    rig_add_gauge(rig, middle, false);
    rig_add_gauge(rig, pump, true);
}

static void make_trip(struct rig *rig, const struct pump_unit *unit, const struct non_return *valve,
                      double periods)
{
    prepare_trip(rig, unit, valve, periods);
    rig_add_event(rig, SURGE_EVENT_STOP, 0.0, 0, 0.0, 0.0);
    rig_run(rig);
}

/* Time in 2L/a at which `values` [count] with this stride first pass below 0. */
static double find_zero(const struct rig *rig, const double values[], int stride)
{
    for (int i = 1; i < rig->result.time_count; i++) {
        double before = values[(i - 1) * stride];
        double here = values[i * stride];
        if (here < 0.0) {
            double share = before / (before - here);
            return (i - 1 + share) * rig->result.step / (2.0 * length / speed);
        }
    }
    return NAN;
}

static void expect_near(const struct trip *trip, const char *what, double value, double expected,
                        double tolerance)
{
    cr_expect_float_eq(value, expected, tolerance, "table %d, R %g, TAU %g: %s %.4f not %.3f",
                       trip->table, trip->ratio, trip->tau, what, value, expected);
}

static void check_trip(const struct trip *trip)
{
    struct rig rig;
    struct pump pump;
    make_pump(&pump, trip);
    struct pump_unit unit = {.pump = &pump, .speed = 1.0, .is_running = true};
    make_trip(&rig, &unit, NULL, 60.0);
    double slowest = 1.0;
    for (int i = 0; i < rig.result.time_count; i++) {
        slowest = fmin(slowest, rig.result.speed[i]);
    }
    const double *low = rig.result.head_min;
    double reversal = find_zero(&rig, rig.result.gauge_flow + 2, 3);
    double standstill = find_zero(&rig, rig.result.speed, 1);
    expect_near(trip, "lowest head at pump", low[1] / rated_head, trip->pump_min, 0.005);
    expect_near(trip, "lowest head midway", low[2] / rated_head, trip->middle_min, 0.005);
    double high = rig.result.head_max[1] / rated_head;
    expect_near(trip, "highest head at pump", high, trip->pump_max, 0.005);
    expect_near(trip, "flow reversal", reversal, trip->reversal, 0.02);
    expect_near(trip, "standstill", standstill, trip->standstill, 0.02);
    expect_near(trip, "lowest speed", slowest, trip->speed_min, 0.005);
    cr_expect_lt(fabs(rig.result.mass_residual), 1e-11);
    rig_close(&rig);
}

Test(surge_pump, trips_without_a_valve_follow_the_dimensionless_runs)
{
    static const struct trip trips[] = {
        {25, 1.0, 1.0, 0.323, 0.519, 1.295, 1.12, 2.27, -1.293},
        {25, 1.0, 4.0, 0.623, 0.810, 1.071, 2.04, 5.98, -1.170},
        {25, 2.0, 2.0, 0.342, 0.615, 1.263, 2.11, 4.38, -1.276},
        {25, 4.0, 4.0, 0.346, 0.639, 1.254, 4.13, 8.70, -1.271},
        {25, 0.5, 8.0, 0.827, 0.905, 1.018, 2.33, 10.81, -1.152},
        {147, 1.0, 1.0, 0.304, 0.515, 1.000, 1.17, 2.01, -1.622},
        {147, 1.0, 4.0, 0.657, 0.785, 1.000, 2.25, 5.59, -1.622},
        {147, 4.0, 4.0, 0.371, 0.658, 1.000, 4.23, 7.68, -1.622},
    };
    for (size_t i = 0; i < sizeof trips / sizeof trips[0]; i++) {
        check_trip(&trips[i]);
    }
}

/* An ideal valve with next to no loss. */
static struct non_return make_ideal(const struct water *water)
{
    struct non_return valve;
    non_return_make(non_return_type_find("ideal", NULL), 0.1, MOUNTING_UP, water, &valve);
    valve.full_open_loss = 1e-6;
    return valve;
}

static void check_ideal(double ratio, double low, double high, double tolerance)
{
    struct rig rig;
    struct pump pump;
    struct trip trip = {.table = 25, .ratio = ratio, .tau = ratio};
    make_pump(&pump, &trip);
    struct pump_unit unit = {.pump = &pump, .speed = 1.0, .is_running = true};
    struct water water = {.gravity = 9.81, .density = 1000.0, .viscosity = 1e-6};
    struct non_return valve = make_ideal(&water);
    make_trip(&rig, &unit, &valve, 20.0);
    int main = 2;
    cr_expect_float_eq(rig.result.head_min[main] / rated_head, low, 0.005, "R %g: %.4f", ratio,
                       rig.result.head_min[main] / rated_head);
    cr_expect_float_eq(rig.result.head_max[main] / rated_head, high, tolerance, "R %g: %.4f", ratio,
                       rig.result.head_max[main] / rated_head);
    cr_assert(rig.result.valves[0].has_shut);
    cr_expect_lt(rig.result.valves[0].reverse_velocity, 1e-12);
    int period = (int)lround(2.0 * length / speed / rig.result.step);
    int shut = (int)ceil(rig.result.valves[0].shut_time / rig.result.step);
    for (int i = shut + period + 1; i < rig.result.time_count; i++) {
        cr_assert_float_eq(rig_head(&rig, i, 0) + rig_head(&rig, i - period, 0), 2.0 * rated_head,
                           1e-8);
    }
    rig_close(&rig);
}

Test(surge_pump, ideal_valve_shuts_at_no_flow_and_the_main_swings_about_its_static_head)
{
    check_ideal(1.0, 0.325, 1.67, 0.01);
    check_ideal(2.0, 0.346, 1.65, 0.005);
    check_ideal(4.0, 0.352, 1.647, 0.005);
}

/* Three quarters of the inertia stand in a flywheel: the run of R = 1, TAU = 4. */
Test(surge_pump, flywheel_counts_as_the_pumps_own_inertia)
{
    struct rig rig;
    struct pump pump;
    const struct trip trip = {.table = 25, .ratio = 1.0, .tau = 1.0};
    make_pump(&pump, &trip);
    struct pump_unit unit = {
        .pump = &pump, .speed = 1.0, .is_running = true, .flywheel = 3.0 * pump.inertia};
    make_trip(&rig, &unit, NULL, 20.0);
    cr_expect_float_eq(rig.result.head_min[1] / rated_head, 0.623, 0.005);
    cr_expect_float_eq(rig.result.head_min[2] / rated_head, 0.810, 0.005);
    rig_close(&rig);
}

/* Flow at which a pump at this speed meets a main that begins with H - B Q = `from_main`. */
static double flow_against(const struct pump *pump, double speed_now, double from_main,
                           double impedance)
{
    double low = -4.0 * pump->best_flow;
    double high = 4.0 * pump->best_flow;
    for (int i = 0; i < 100; i++) {
        const double flow = 0.5 * (low + high);
        const bool is_below = pump_head(pump, flow, speed_now).head > from_main + impedance * flow;
        *(is_below ? &low : &high) = flow;
    }
    return 0.5 * (low + high);
}

/* A drive takes four wave times to stop a pump next to no inertia: its speed is known at each time,
 * and so is the wave that comes back, 2 H_tank less the H + B Q sent 2L/a before (exact). */
Test(surge_pump, soft_stop_gives_what_the_speed_of_its_drive_asks)
{
    enum { MOST = 4096 };
    static double sent[MOST];
    struct rig rig;
    struct pump pump;
    const struct trip trip = {.table = 25, .ratio = 1.0, .tau = 0.01};
    const double ramp = 4.0 * 2.0 * length / speed;
    const double impedance = speed / (9.81 * area);
    make_pump(&pump, &trip);
    struct pump_unit unit = {.pump = &pump, .speed = 1.0, .is_running = true};
    prepare_trip(&rig, &unit, NULL, 3.9);
    rig_add_event(&rig, SURGE_EVENT_SET, 0.0, 0, 0.0, ramp);
    rig_run(&rig);
    /* What the pump takes up while the water drives it is part of the balance of energy. */
    cr_expect_lt(rig.result.energy.from_pumps, -1e3);
    cr_expect_float_eq(rig.result.energy.residual, 0.0, 1e-6, "%g", rig.result.energy.residual);
    const int period = (int)lround(2.0 * length / speed / rig.result.step);
    cr_assert(rig.result.time_count <= MOST);
    sent[0] = rated_head + impedance * pump.best_flow;
    for (int i = 1; i < rig.result.time_count; i++) {
        const double before = i > period ? sent[i - period] : sent[0];
        const double from_main = 2.0 * rated_head - before;
        const double share = 1.0 - rig.result.time[i] / ramp;
        const double flow = flow_against(&pump, share, from_main, impedance);
        const double head = from_main + impedance * flow;
        cr_assert_float_eq(rig.result.speed[i], share, 1e-9);
        cr_assert_float_eq(rig_head(&rig, i, 0), head, 1e-6, "%g s: %g not %g", rig.result.time[i],
                           rig_head(&rig, i, 0), head);
        sent[i] = head + impedance * flow;
    }
    rig_close(&rig);
}

/* A ratchet holds it at standstill: in the end the static head drives water through the locked
 * impeller, h = 0.692 v^2 at entry 22 of the table (exact from it), v = -1.2021. */
Test(surge_pump, ratchet_leaves_a_locked_impeller)
{
    struct rig rig;
    struct pump pump;
    const struct trip trip = {.table = 25, .ratio = 1.0, .tau = 1.0};
    make_pump(&pump, &trip);
    const struct pump_unit unit = {
        .pump = &pump, .speed = 1.0, .is_running = true, .reverse_blocked = true};
    make_trip(&rig, &unit, NULL, 60.0);
    const int last = rig.result.time_count - 1;
    for (int i = 0; i <= last; i++) {
        cr_assert(rig.result.speed[i] >= 0.0);
    }
    cr_expect_float_eq(rig.result.speed[last], 0.0, 1e-12);
    cr_expect_float_eq(rig_flow(&rig, last, 2) / pump.best_flow, -1.0 / sqrt(0.692), 1e-3);
    rig_close(&rig);
}

/* Its power comes back while it still turns: from the speed it has it is brought up evenly, in the
 * run-up time for the whole, and the main comes back to where it was. */
Test(surge_pump, spinning_pump_is_started_again)
{
    struct rig rig;
    struct pump pump;
    const struct trip trip = {.table = 25, .ratio = 1.0, .tau = 4.0};
    const double period = 2.0 * length / speed;
    make_pump(&pump, &trip);
    const struct pump_unit unit = {.pump = &pump, .speed = 1.0, .is_running = true};
    prepare_trip(&rig, &unit, NULL, 60.0);
    rig_add_event(&rig, SURGE_EVENT_STOP, 0.0, 0, 0.0, 0.0);
    rig_add_event(&rig, SURGE_EVENT_SET, period, 0, 1.0, 0.0);
    rig_run(&rig);
    const int at = (int)lround(period / rig.result.step);
    const double share = rig.result.speed[at];
    cr_assert(share > 0.6 && share < 0.9, "%g", share);
    for (int i = 1; i < 4; i++) {
        const double up = share + i * rig.result.step / pump_run_up_time;
        cr_expect_float_eq(rig.result.speed[at + i], fmin(up, 1.0), 1e-9);
    }
    const int last = rig.result.time_count - 1;
    cr_expect_float_eq(rig.result.speed[last], 1.0, 1e-12);
    cr_expect_float_eq(rig_head(&rig, last, 0) / rated_head, 1.0, 1e-3);
    cr_expect_float_eq(rig_flow(&rig, last, 2) / pump.best_flow, 1.0, 1e-3);
    rig_close(&rig);
}
