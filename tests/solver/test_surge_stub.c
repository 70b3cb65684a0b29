/* Pipes shorter than a step beside valves. What is asked follows from Joukowsky's rise a v/g (Wylie
 * & Streeter, Fluid Transients in Systems, 1993, eq. 1.2), from the rigid column (same book, ch. 1)
 * and from the interpolation itself (solver/surge/stub.h). */
#include "models/circle.h"
#include "models/fitting.h"
#include "models/non_return.h"
#include "tests/solver/surge_rig_lift.h"

static const double gravity = 9.81;
static const double area = 0.002;
static const double speed = 400.0;
static const double main_crossing = 0.25; /* s, of 100 m */
static const double stub_length = 0.5;    /* m: 1.25 ms */

/* --- flow stopped at once between two stubs --- */

struct stopped {
    double up;   /* m, highest head on the side that the flow comes from */
    double down; /* m, lowest on the other */
    double step;
    double mass;
};

/* Sump - stub - valve - stub - main - tank, nothing but flow -Q, stopped at once. */
static struct stopped stop_at_once(int reaches)
{
    static const double flow = -1e-3;
    struct rig rig;
    struct rig_valve valve = {.capacity = 1e6};
    rig_open(&rig, 0.4);
    const int sump = rig_add_tank(&rig, 0.0);
    const int before = rig_add_point(&rig, 0.0);
    const int after = rig_add_point(&rig, 0.0);
    const int join = rig_add_point(&rig, 0.0);
    const int tank = rig_add_tank(&rig, 0.0);
    rig_add_pipe(&rig, sump, before, stub_length, area, speed, flow);
    const int shut = rig_add_link(&rig, before, after, area, &rig_valve_element, &valve, flow);
    rig_add_pipe(&rig, after, join, stub_length, area, speed, flow);
    rig_add_pipe(&rig, join, tank, speed * main_crossing, area, speed, flow);
    rig.site.surge.largest_step = main_crossing / reaches;
    rig_add_event(&rig, SURGE_EVENT_SET, 0.05, shut, 0.0, 0.0);
    rig_run(&rig);
    cr_assert_eq(rig.result.stub_count, 2);
    cr_assert_float_eq(rig.result.step, main_crossing / reaches, 1e-12);
    cr_expect_lt(rig.result.drift, 1e-10);
    const struct stopped found = {rig.result.head_max[after], rig.result.head_min[before],
                                  rig.result.step, rig.result.mass_residual};
    rig_close(&rig);
    return found;
}

static const double joukowsky = 400.0 * 0.5 / 9.81; /* m, of 1e-3 m3/s in 0.002 m2 */

Test(surge_stub, stopped_flow_gives_joukowsky_once_the_step_is_shorter_than_the_stub)
{
    static const int reaches[] = {200, 370, 1000, 3210};
    for (int i = 0; i < 4; i++) {
        const struct stopped found = stop_at_once(reaches[i]);
        cr_expect_float_eq(found.up, joukowsky, 1e-9 * joukowsky, "%d: %g", reaches[i], found.up);
        cr_expect_float_eq(found.down, -joukowsky, 1e-9 * joukowsky, "%g", found.down);
        cr_expect_lt(fabs(found.mass), 1e-14);
    }
}

/* A longer step sees a part of the blow that is over within it, never more: between the valve and
 * the sump the interpolation gives t (2 - t)/(1 + (1 - t)^2) of it, t = crossing/step (set Q = 0 at
 * one end and H = 0 at the other in stub.h). Towards the main of the same bore the blow stays. */
Test(surge_stub, longer_steps_never_give_more_than_joukowsky)
{
    static const int reaches[] = {64, 100, 150, 190};
    for (int i = 0; i < 4; i++) {
        const struct stopped found = stop_at_once(reaches[i]);
        const double share = stub_length / speed / found.step;
        const double rest = 1.0 - share;
        const double seen = share * (2.0 - share) / (1.0 + rest * rest);
        cr_expect_float_eq(found.down, -seen * joukowsky, 1e-9 * joukowsky, "%g", found.down);
        cr_expect_lt(found.up, joukowsky * (1.0 + 1e-9));
        cr_expect_float_eq(found.up, joukowsky, 1e-3 * joukowsky, "%d: %g", reaches[i], found.up);
        cr_expect_lt(fabs(found.mass), 1e-14);
    }
}

/* The point where a stub ends has a cavity like any other: 5 m below the axis water boils at its
 * vapour pressure, whatever the blow of 20.4 m would make of it. */
Test(surge_stub, water_boils_where_a_stub_ends)
{
    struct rig rig;
    struct rig_valve valve = {.capacity = 1e6};
    rig_open(&rig, 0.4);
    const int sump = rig_add_tank(&rig, 0.0);
    const int before = rig_add_point(&rig, 0.0);
    const int tank = rig_add_tank(&rig, 0.0);
    const int main_end = rig_add_point(&rig, 0.0);
    rig.points[before].elevation = -5.0;
    rig_add_pipe(&rig, sump, before, stub_length, area, speed, -1e-3);
    const int shut = rig_add_link(&rig, before, main_end, area, &rig_valve_element, &valve, -1e-3);
    rig_add_pipe(&rig, main_end, tank, speed * main_crossing, area, speed, -1e-3);
    rig.site.surge.largest_step = main_crossing / 1000;
    rig_add_event(&rig, SURGE_EVENT_SET, 0.05, shut, 0.0, 0.0);
    rig_run(&rig);
    const double boils = -5.0 + water_vapour_head(&rig.site.water);
    cr_assert_eq(rig.result.stub_count, 1);
    cr_expect_float_eq(rig.result.head_min[before], boils, 1e-9, "%g", rig.result.head_min[before]);
    cr_expect(rig.result.is_boiling);
    cr_expect_eq(rig.result.vapour_point, before);
    cr_expect_lt(fabs(rig.result.mass_residual), 1e-13);
    rig_close(&rig);
}

/* --- the water in a stub starts as a rigid column: Q = g A H t/L --- */

Test(surge_stub, short_pipe_starts_as_a_rigid_column)
{
    struct rig rig;
    struct rig_valve valve = {.capacity = 1e6};
    rig_open(&rig, 0.2);
    const int high = rig_add_tank(&rig, 3.0);
    const int middle = rig_add_point(&rig, 0.0);
    const int low = rig_add_tank(&rig, 0.0);
    const int far = rig_add_tank(&rig, 0.0);
    const int opens = rig_add_link(&rig, high, middle, area, &rig_valve_element, &valve, 0.0);
    rig_add_pipe(&rig, middle, low, stub_length, area, speed, 0.0);
    rig_add_pipe(&rig, low, far, speed * main_crossing, area, speed, 0.0);
    rig_add_event(&rig, SURGE_EVENT_SET, 0.0, opens, 0.0, 0.0);
    rig_add_event(&rig, SURGE_EVENT_SET, 0.05, opens, 1.0, 0.0);
    rig_add_gauge(&rig, 1, true);
    rig_run(&rig);
    const int last = rig.result.time_count - 1;
    const double time = rig.result.time[last] - 0.05;
    const double exact = gravity * area * 3.0 * time / stub_length;
    cr_expect_eq(rig.result.stub_count, 1);
    cr_expect_float_eq(rig_flow(&rig, last, 0), exact, 2.0 * exact * rig.result.step / time);
    rig_close(&rig);
}

/* --- a valve that shuts against reverse flow after a pump has stopped --- */

enum { PUMP, STUB_BEFORE, VALVE, STUB_AFTER, MAIN };

static const double bore = 0.0536;

static void roughen(struct rig *rig, int link)
{
    rig->pipes[link].friction.roughness = 1e-5;
    rig->links[link].element = &pipe_element;
}

/* Sump - pump - stub - flap - stub - 118 m of plastic pipe up to a tank 14 m above; the pump stops
 * at once. A flap with `stick` > 0 stays open until that reverse velocity. */
static void run_lift(struct lift *lift, double stick, double step, double duration)
{
    struct rig *rig = &lift->rig;
    lift_open(lift, "swing flap", duration);
    lift->valve.own.rotation = 1.0;
    lift->valve.own.stick_velocity = stick;
    const int sump = rig_add_tank(rig, 0.0);
    const int outlet = rig_add_point(rig, 0.0);
    const int before = rig_add_point(rig, 0.0);
    const int after = rig_add_point(rig, 0.0);
    const int join = rig_add_point(rig, 0.0);
    const int tank = rig_add_tank(rig, 14.0);
    const double pipe = circle_area(bore);
    rig_add_link(rig, sump, outlet, pipe, &pump_element, &lift->unit, 0.0);
    rig_add_pipe(rig, outlet, before, stub_length, pipe, speed, 0.0);
    rig_add_link(rig, before, after, circle_area(0.05), &non_return_element, &lift->valve, 0.0);
    rig_add_pipe(rig, after, join, stub_length, pipe, speed, 0.0);
    rig_add_pipe(rig, join, tank, 118.0, pipe, speed, 0.0);
    roughen(rig, STUB_BEFORE);
    roughen(rig, STUB_AFTER);
    roughen(rig, MAIN);
    rig->valve = (struct valve_place){.link = VALVE, .pump_link = PUMP};
    rig->site.valves = &rig->valve;
    rig->site.valve_count = 1;
    rig_add_gauge(rig, before, false);
    rig_add_gauge(rig, after, false);
    rig_add_event(rig, SURGE_EVENT_STOP, 0.0, PUMP, 0.0, 0.0);
    rig->site.surge.largest_step = step;
    rig_solve_start(rig);
    rig_run(rig);
    cr_assert_eq(rig->result.stub_count, 2);
    cr_expect_lt(fabs(rig->result.mass_residual), 1e-12);
}

/* Change of a gauge's head in the step in which the valve shut. */
static double jump_at_slam(const struct rig *rig, int gauge)
{
    int row = 1;
    while (rig->result.time[row] < rig->result.valves[0].shut_time) {
        row++;
    }
    return rig_head(rig, row, gauge) - rig_head(rig, row - 1, gauge);
}

/* It lets go at 0.6 m/s in its own bore: the head rises by a v/g of the pipe on one side and falls
 * by it on the other in that step; friction within the step is the tolerance. */
Test(surge_stub, slam_is_joukowsky_of_the_shutting_velocity_on_both_sides)
{
    const double slam = speed * 0.6 * (0.05 * 0.05) / (bore * bore) / gravity;
    for (double step = 1e-3; step > 2e-4; step *= 0.5) {
        struct lift lift;
        run_lift(&lift, 0.6, step, 1.9);
        const struct surge_valve *valve = &lift.rig.result.valves[0];
        cr_expect_eq(valve->shuts, 1);
        cr_expect_float_eq(valve->first_reverse_velocity, 0.6, 1e-9);
        cr_expect_float_eq(valve->first_slam_head, slam, 0.005 * slam);
        cr_expect_float_eq(jump_at_slam(&lift.rig, 1), slam, 0.005 * slam);
        cr_expect_float_eq(jump_at_slam(&lift.rig, 0), -slam, 0.005 * slam);
        rig_close(&lift.rig);
    }
}

Test(surge_stub, peaks_beside_a_flap_settle_as_the_step_shrinks)
{
    double above[3];
    double below[3];
    double reverse[3];
    for (int i = 0; i < 3; i++) {
        struct lift lift;
        run_lift(&lift, 0.0, ldexp(1.25e-3, -2 * i), 3.0);
        above[i] = lift.rig.result.head_max[3];
        below[i] = lift.rig.result.head_min[2];
        reverse[i] = lift.rig.result.valves[0].first_reverse_velocity;
        rig_close(&lift.rig);
    }
    cr_expect_gt(reverse[2], 0.05);
    cr_expect_float_eq(above[1], above[2], 0.01, "%g %g", above[1], above[2]);
    cr_expect_float_eq(above[0], above[2], 0.05);
    cr_expect_float_eq(below[1], below[2], 0.05, "%g %g", below[1], below[2]);
    cr_expect_float_eq(below[0], below[2], 0.2);
    cr_expect_float_eq(reverse[1], reverse[2], 0.01 * reverse[2]);
    cr_expect_float_eq(reverse[0], reverse[2], 0.02 * reverse[2]);
}

/* --- stillness and water --- */

/* Two tanks feed a draw and a third tank over stubs in a row, a branch and a dead end. */
static void run_branched(int reaches, double duration, struct surge *result)
{
    struct rig rig;
    struct fitting bend = {.area = 0.002, .loss = 3.0, .loss_back = 3.0};
    struct rig_valve valve = {.capacity = 1e-3};
    rig_open(&rig, duration);
    const int high = rig_add_tank(&rig, 40.0);
    const int second = rig_add_tank(&rig, 35.0);
    const int low = rig_add_tank(&rig, 10.0);
    const int air = rig_add_tank(&rig, 0.0);
    int at[5];
    for (int i = 0; i < 5; i++) {
        at[i] = rig_add_point(&rig, 30.0);
    }
    roughen(&rig, rig_add_pipe(&rig, high, at[0], 100.0, 0.002, 400.0, 0.0));
    roughen(&rig, rig_add_pipe(&rig, at[0], at[1], 0.3, 0.002, 400.0, 0.0));
    roughen(&rig, rig_add_pipe(&rig, at[1], at[2], 0.9, 0.001, 1300.0, 0.0));
    rig_add_link(&rig, at[2], at[3], 0.002, &fitting_element, &bend, 0.0);
    roughen(&rig, rig_add_pipe(&rig, second, at[2], 1.1, 0.0005, 350.0, 0.0));
    roughen(&rig, rig_add_pipe(&rig, at[3], at[4], 0.2, 0.002, 400.0, 0.0));
    roughen(&rig, rig_add_pipe(&rig, at[3], low, 100.0, 0.002, 400.0, 0.0));
    rig.points[at[1]].draw = 1e-3;
    const int shut = rig_add_link(&rig, at[4], air, 0.0005, &rig_valve_element, &valve, 0.0);
    rig.site.surge.reaches = reaches;
    rig_add_event(&rig, SURGE_EVENT_SET, 0.2, shut, 0.0, 0.0);
    rig_add_event(&rig, SURGE_EVENT_SET, 0.7 * duration, shut, 0.5, 0.0);
    rig_solve_start(&rig);
    rig_run(&rig);
    *result = rig.result;
    rig_close(&rig);
}

Test(surge_stub, stubs_hold_still_and_lose_no_water_at_every_step)
{
    static const int reaches[] = {64, 130, 333, 1000};
    for (int i = 0; i < 4; i++) {
        struct surge result;
        run_branched(reaches[i], 3.0, &result);
        cr_expect_eq(result.stub_count, 4);
        cr_expect_lt(result.drift, 1e-10, "drift %g m", result.drift);
        cr_expect_lt(fabs(result.mass_residual), 1e-13, "%g m3", result.mass_residual);
        cr_expect_lt(fabs(result.energy.residual), 1e-8 * fabs(result.energy.from_ends), "%g J",
                     result.energy.residual);
    }
}
