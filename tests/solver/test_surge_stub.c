/* Pipes shorter than a step beside valves. What is asked follows from Joukowsky's rise a v/g (Wylie
 * & Streeter, Fluid Transients in Systems, 1993, eq. 1.2), from the rigid column (same book, ch. 1)
 * and from the interpolation itself (solver/surge/stub.h). */
#include "models/circle.h"
#include "models/fitting.h"
#include "models/non_return.h"
#include "solver/surge/creep.h"
#include "solver/surge/stub.h"
#include "tests/solver/laboratory.h"
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

/* The crossing it is made for is that of the pipe, L/a, whole steps or not. */
Test(surge_stub, crossing_is_the_pipes)
{
    struct arena *arena = arena_new();
    struct failure failure;
    const struct water water = {.gravity = gravity, .density = 1000.0, .viscosity = 1e-6};
    const struct pipe pipe = {.friction = {.length = 0.5, .bore = 0.05},
                              .stated_wave_speed = speed};
    const struct link link = {
        .name = "stub", .element = &pipe_element, .data = &pipe, .area = area};
    for (double steps = 0.25; steps < 6.1; steps += 0.25) {
        struct stub stub;
        const struct stub_wishes wishes = {.link = &link,
                                           .water = &water,
                                           .step = 0.5 / speed / steps,
                                           .head_start = 10.0,
                                           .flow = 1e-3};
        cr_assert(stub_init(&stub, &wishes, arena, &failure));
        cr_assert_float_eq((stub.delay + stub.share) * wishes.step, 0.5 / speed, 1e-9, "%g", steps);
    }
    arena_free(arena);
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

Test(surge_stub, peaks_beside_a_flap_settle_as_the_step_shrinks, .disabled = SHORT_RUNS)
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
static void run_branched(int reaches, double duration, bool is_damped, struct surge *result)
{
    struct rig rig;
    struct fitting bend = {.area = 0.002, .loss = 3.0, .loss_back = 3.0};
    struct rig_valve valve = {.capacity = 1e-3};
    rig_open(&rig, duration);
    rig.site.surge.is_friction_unsteady = is_damped;
    rig.site.surge.is_wall_creeping = is_damped;
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
    for (int i = 0; i < rig.network.link_count; i++) {
        rig.pipes[i].material = wall_find("pe100");
        rig.pipes[i].wall = 0.004;
    }
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
    for (int i = 0; i < (SHORT_RUNS ? 4 : 8); i++) {
        struct surge result;
        run_branched(reaches[i / 2], 3.0, i % 2 == 1, &result);
        cr_expect_eq(result.stub_count, 4);
        cr_expect_lt(result.drift, 1e-10, "drift %g m", result.drift);
        cr_expect_lt(fabs(result.mass_residual), 1e-13, "%g m3", result.mass_residual);
        cr_expect_lt(fabs(result.energy.residual), 1e-8 * fabs(result.energy.from_ends), "%g J",
                     result.energy.residual);
        cr_expect_gt(result.energy.lost_in_pipes, 0.0);
    }
}

/* --- waves in a stub die away as in the same pipe on a fine grid --- */

enum damping_kind { STEADY_LAW, UNSTEADY, CREEPING };

/* What is left of a wave. */
struct ringing {
    double kept; /* swing in the sixth period over that in the first */
    double lost; /* J in all pipes */
};

/* Tank - valve - 2 m of pipe that waves cross in 5 ms - dose, whose flow of 0.05 m/s stops at once;
 * with `two` the valve shuts too, and the pipe swings between shut ends. A long pipe elsewhere
 * makes it a stub; else it has a grid. */
static struct ringing ring(enum damping_kind kind, bool two, bool is_stub, double step)
{
    static const double crossing = 0.005;
    static const double stop = 0.01;
    struct rig rig;
    struct rig_valve dose = {.capacity = 0.05 * 0.002};
    struct rig_valve valve = {.capacity = 1e6};
    const double period = (two ? 2.0 : 4.0) * crossing;
    rig_open(&rig, stop + 6.0 * period);
    rig.site.water.viscosity = kind == CREEPING ? 1e-6 : 2e-5;
    const int tank = rig_add_tank(&rig, 20.0);
    const int before = rig_add_point(&rig, 20.0);
    const int end = rig_add_point(&rig, 20.0);
    const int drain = rig_add_tank(&rig, 0.0);
    const int pipe = rig_add_pipe(&rig, before, end, 2.0, area, speed, dose.capacity);
    rig.links[pipe].element = &blasius_pipe;
    rig.pipes[pipe].wall = 0.003;
    rig.pipes[pipe].material = wall_find("pe100");
    rig.head[end] -= blasius_drop(&rig.pipes[pipe], &rig.site.water, dose.capacity).head;
    const int out = rig_add_link(&rig, end, drain, area, &rig_dose_element, &dose, dose.capacity);
    const int in =
        rig_add_link(&rig, tank, before, area, &rig_valve_element, &valve, dose.capacity);
    rig_add_pipe(&rig, drain, rig_add_tank(&rig, 0.0), 200.0, area, speed, 0.0);
    rig.site.surge.is_friction_unsteady = kind == UNSTEADY;
    rig.site.surge.is_wall_creeping = kind == CREEPING;
    rig.site.surge.largest_step = step;
    rig.options.stub_crossing = is_stub ? rig.options.stub_crossing : 0.0;
    rig_add_event(&rig, SURGE_EVENT_SET, stop, out, 0.0, 0.0);
    rig_add_event(&rig, SURGE_EVENT_SET, two ? stop : 1e3, in, 0.0, 0.0);
    rig_add_gauge(&rig, end, false);
    rig_run(&rig);
    cr_assert_eq(rig.result.stub_count, is_stub ? 1 : 0);
    double swing[2];
    for (int i = 0; i < 2; i++) {
        const double from = stop + 5 * i * period;
        double highest = -(double)INFINITY;
        double lowest = (double)INFINITY;
        for (int row = 0; row < rig.result.time_count; row++) {
            const double since = rig.result.time[row] - from;
            const bool is_in = since > 1e-9 && since < period + 1e-9;
            highest = is_in ? fmax(highest, rig_head(&rig, row, 0)) : highest;
            lowest = is_in ? fmin(lowest, rig_head(&rig, row, 0)) : lowest;
        }
        swing[i] = highest - lowest;
    }
    const struct ringing found = {swing[1] / swing[0], rig.result.energy.lost_in_pipes};
    rig_close(&rig);
    return found;
}

/* Against 40 reaches. The crossing is a whole number of steps, so that interpolation adds nothing;
 * the tolerance is what a grid of as many reaches differs by (0.0087 at 4 reaches). Fronts are
 * steep: in a pipe between shut ends an odd number of steps samples them unevenly, on a grid too.
 */
Test(surge_stub, waves_die_away_as_on_a_fine_grid)
{
    static const double steps[] = {0.625e-3, 1e-3, 1.25e-3};
    for (int i = 0; i < 6; i++) {
        const enum damping_kind kind = (enum damping_kind)(i % 3);
        const bool two = i >= 3;
        const struct ringing fine = ring(kind, two, false, 0.125e-3);
        cr_expect(kind == STEADY_LAW ? fine.kept > 0.98 : fine.kept < 0.92, "%g", fine.kept);
        for (int j = 0; j < 3; j++) {
            if (two && j == 1) {
                continue;
            }
            const struct ringing stub = ring(kind, two, true, steps[j]);
            cr_expect_float_eq(stub.kept, fine.kept, 0.012, "%d %d: %g not %g", i, j, stub.kept,
                               fine.kept);
            cr_expect_float_eq(stub.lost, fine.lost, 0.05 * fine.lost, "%d %d: %g J not %g", i, j,
                               stub.lost, fine.lost);
        }
    }
}

/* A dead end of polyethylene under 10 m more at once takes in what its bulk modulus says at once,
 * in the wave speed, and 2 A L strain by creep, the strain being exact (solver/surge/creep.h): F
 * sum J (1 - exp(-t/tau)). Steps longer and shorter than the crossing of 5 ms. */
Test(surge_stub, dead_end_takes_in_what_its_wall_gives_way_by)
{
    static const double steps[] = {15.6e-3, 6.6e-3, 2.5e-3, 1.2e-3};
    static const double rise = 10.0;
    static const double length = 2.0;
    for (int i = 0; i < 4; i++) {
        struct rig rig;
        struct rig_valve valve = {.capacity = 1e6};
        rig_open(&rig, 2.0);
        rig.site.water.viscosity = 2e-4;
        const int tank = rig_add_tank(&rig, rise);
        const int before = rig_add_point(&rig, 0.0);
        const int end = rig_add_point(&rig, 0.0);
        const int far = rig_add_tank(&rig, 0.0);
        const int opens = rig_add_link(&rig, tank, before, area, &rig_valve_element, &valve, 0.0);
        const int pipe = rig_add_pipe(&rig, before, end, length, area, speed, 0.0);
        rig.links[pipe].element = &blasius_pipe;
        rig.pipes[pipe].wall = 0.003;
        rig.pipes[pipe].material = wall_find("pe100");
        rig_add_pipe(&rig, far, rig_add_tank(&rig, 0.0), 400.0, area, speed, 0.0);
        rig.site.surge.is_wall_creeping = true;
        rig.site.surge.largest_step = steps[i];
        rig_add_event(&rig, SURGE_EVENT_SET, 0.0, opens, 0.0, 0.0);
        rig_add_event(&rig, SURGE_EVENT_SET, 0.1, opens, 1.0, 0.0);
        rig_add_gauge(&rig, opens, true);
        rig_run(&rig);
        cr_assert_eq(rig.result.stub_count, 1);
        double volume = 0.0;
        for (int row = 1; row < rig.result.time_count; row++) {
            volume += 0.5 * rig.result.step * (rig_flow(&rig, row - 1, 0) + rig_flow(&rig, row, 0));
        }
        const struct wall *wall = wall_find("pe100");
        const double stress = rise * creep_stress(&rig.pipes[pipe], &rig.site.water);
        const double time = rig.result.time_reached - 0.1;
        double exact = gravity * area * length / (speed * speed) * rise;
        for (int k = 0; k < wall->creep_count; k++) {
            exact -= 2.0 * area * length * stress * wall->creep_compliance[k] *
                     expm1(-time / wall->creep_time[k]);
        }
        cr_expect_float_eq(volume, exact, 2e-3 * exact, "%g s: %g not %g m3", steps[i], volume,
                           exact);
        rig_close(&rig);
    }
}
