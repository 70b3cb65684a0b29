#include "models/pump.h"
#include "tests/models/demonstration_pumps.h"
#include "tests/models/watched_root.h"

#include <criterion/criterion.h>
#include <math.h>

static const double two_pi = 6.283185307179586;

static struct instant instant_of(double time, double step, double setting)
{
    const struct instant now = {time, step, setting, &demonstration_water, NULL};
    return now;
}

/* Seconds T0 = I w/T with the torque it has at rest flow. */
static double start_time(const struct pump *pump, double torque)
{
    return pump->inertia * two_pi * pump->speed / torque;
}

static double speed_after(const struct pump_unit *unit, double flow, double duration, int steps)
{
    double state[PUMP_STATE_COUNT];
    double next[PUMP_STATE_COUNT];
    pump_element.motion->start(unit, &demonstration_water, flow, 0.0, state);
    for (int i = 0; i < steps; i++) {
        const double step = duration / steps;
        const struct instant now = instant_of(step * (i + 1), step, 0.0);
        const double share = state[PUMP_STATE_SPEED];
        /* Zero flow keeps the flow-to-speed ratio: torque goes with speed squared. */
        (void)pump_element.motion->drop(unit, &now, state, flow * share, next);
        state[PUMP_STATE_SPEED] = next[PUMP_STATE_SPEED];
        state[PUMP_STATE_TORQUE] = next[PUMP_STATE_TORQUE];
    }
    return state[PUMP_STATE_SPEED];
}

/* Torque ~ speed^2 throughout: a = 1/(1 + t/T0), one half at T0 (exact). Trapezoidal rule: the
 * error falls four times when the step is halved. */
Test(pump_run_down, closed_form_against_a_shut_valve)
{
    const struct pump pump = demonstration_pump(3, true);
    const struct pump_unit unit = {.pump = &pump, .speed = 1.0, .is_running = true};
    const double duration = start_time(&pump, pump_torque(&pump, 0.0, 1.0));
    const double coarse = fabs(speed_after(&unit, 0.0, duration, 20) - 0.5);
    const double fine = fabs(speed_after(&unit, 0.0, duration, 40) - 0.5);
    cr_assert(coarse < 1e-3);
    cr_assert_float_eq(coarse / fine, 4.0, 0.2);
    cr_assert_float_eq(speed_after(&unit, 0.0, 3.0 * duration, 600), 0.25, 1e-5);
}

/* Torque held near its rated value: a = 1 - t/T0 (exact for constant torque, here to first order).
 */
Test(pump_run_down, first_moment_is_rated_torque_over_inertia)
{
    const struct pump pump = demonstration_pump(4, true);
    const struct pump_unit unit = {.pump = &pump, .speed = 1.0, .is_running = true};
    const double time = start_time(&pump, pump.best_torque);
    cr_assert_float_eq(speed_after(&unit, pump.best_flow, 1e-4 * time, 1), 1.0 - 1e-4, 1e-7);
}

Test(pump_run_down, power_on_returns_exactly_the_steady_drop_and_holds_still)
{
    const struct pump pump = demonstration_pump(2, true);
    const struct pump_unit units[] = {{.pump = &pump, .speed = 0.93, .is_running = true},
                                      {.pump = &pump, .speed = 0.93}};
    for (int k = 0; k < 2; k++) {
        const double setting = pump_element.motion->setting(&units[k]);
        cr_assert_float_eq(setting, k == 0 ? 1.0 : 0.0, 0.0);
        for (double share = -1.0; share < 2.0; share += 0.1) {
            const double flow = share * pump.best_flow;
            const struct drop steady = pump_element.drop(&units[k], &demonstration_water, flow);
            double state[PUMP_STATE_COUNT];
            double next[PUMP_STATE_COUNT];
            pump_element.motion->start(&units[k], &demonstration_water, flow, steady.head, state);
            const struct instant now = instant_of(0.01, 0.01, setting);
            const struct drop moving =
                pump_element.motion->drop(&units[k], &now, state, flow, next);
            cr_assert(moving.head == steady.head && moving.slope == steady.slope);
            cr_assert(next[0] == state[0] && next[1] == state[1]);
        }
    }
}

Test(pump_run_down, total_slope_agrees_with_differences)
{
    const struct pump pump = demonstration_pump(5, true);
    const struct pump_unit unit = {.pump = &pump, .speed = 1.0, .is_running = true};
    const struct instant now = instant_of(0.02, 0.02, 0.0);
    const double speeds[] = {1.0, 0.7, 0.2, 0.01, -0.1, -0.8};
    for (int k = 0; k < 6; k++) {
        for (int i = -20; i < 30; i++) {
            const double flow = 0.0613 * i * pump.best_flow + 1e-5;
            const double old[] = {speeds[k], pump_torque(&pump, flow, speeds[k])};
            double next[PUMP_STATE_COUNT];
            const double d = 1e-7 * pump.best_flow;
            const struct drop at = pump_element.motion->drop(&unit, &now, old, flow, next);
            const double up = pump_element.motion->drop(&unit, &now, old, flow + d, next).head;
            const double down = pump_element.motion->drop(&unit, &now, old, flow - d, next).head;
            cr_assert_float_eq((up - down) / (2.0 * d), at.slope,
                               2e-4 * pump.best_head / pump.best_flow);
        }
    }
}

/* What the solver of groups follows: how the speed at a step's end hangs on the flow. */
Test(pump_run_down, speed_at_the_end_of_a_step_changes_with_flow_as_told)
{
    const struct pump pump = demonstration_pump(4, true);
    const struct pump_unit unit = {.pump = &pump, .speed = 1.0, .is_running = true};
    const struct instant now = instant_of(0.1, 0.1, 0.0);
    const double old[] = {0.9, pump.best_torque};
    const double d = 1e-5 * pump.best_flow;
    for (int i = 1; i < 12; i++) {
        const double flow = 0.097 * i * pump.best_flow;
        const double up = pump_turn(&unit, &now, old, flow + d).speed;
        const double down = pump_turn(&unit, &now, old, flow - d).speed;
        const double told = pump_turn(&unit, &now, old, flow).by_flow;
        cr_assert_float_eq((up - down) / (2 * d), told, 1e-3 * fabs(told) + 1e-6, "%d: %g %g", i,
                           (up - down) / (2 * d), told);
    }
}

/* Held at rated head with no valve it ends at the runaway point of its table: torque 0 (computed
 * from the table at 25: a = -1.152, v = -0.653). */
Test(pump_run_down, runs_backward_to_runaway_unless_blocked)
{
    struct pump pump = demonstration_pump(4, true);
    pump.quadrants = *four_quadrant_at(0);
    for (int blocked = 0; blocked < 2; blocked++) {
        const struct pump_unit unit = {
            .pump = &pump, .speed = 1.0, .is_running = true, .reverse_blocked = blocked != 0};
        double state[] = {1.0, pump.best_torque};
        double next[PUMP_STATE_COUNT];
        for (int i = 0; i < 4000; i++) {
            const struct instant now = instant_of(0.005 * i, 0.005, 0.0);
            (void)pump_element.motion->drop(&unit, &now, state, -0.653 * pump.best_flow, next);
            state[0] = next[0];
            state[1] = next[1];
        }
        cr_assert_float_eq(state[PUMP_STATE_SPEED], blocked ? 0.0 : -1.152, 0.002);
        cr_assert_float_eq(state[PUMP_STATE_TORQUE], 0.0, 1e-6 * pump.best_torque);
    }
}

Test(pump_run_down, unit_at_rest_starts_when_it_gets_power)
{
    const struct pump pump = demonstration_pump(3, true);
    const struct pump_unit unit = {.pump = &pump, .speed = 1.0};
    double state[PUMP_STATE_COUNT];
    double next[PUMP_STATE_COUNT];
    pump_element.motion->start(&unit, &demonstration_water, 0.0, 0.0, state);
    const struct instant half = instant_of(0.15, 0.5 * pump_run_up_time, 1.0);
    const struct drop drop = pump_element.motion->drop(&unit, &half, state, 0.0, next);
    cr_assert_float_eq(next[PUMP_STATE_SPEED], 0.5, 1e-12);
    cr_assert_float_eq(drop.head, -0.25 * pump.head[0], 1e-9);
    (void)pump_element.motion->drop(&unit, &half, next, 0.0, state);
    cr_assert_float_eq(state[PUMP_STATE_SPEED], 1.0, 1e-12);
}

/* A flywheel of twice the pump's inertia: three times as long to half speed (exact, T0 = I w/T). */
Test(pump_run_down, flywheel_makes_it_run_on)
{
    const struct pump pump = demonstration_pump(3, true);
    const struct pump_unit unit = {
        .pump = &pump, .speed = 1.0, .is_running = true, .flywheel = 2.0 * pump.inertia};
    const double bare = start_time(&pump, pump_torque(&pump, 0.0, 1.0));
    cr_assert_float_eq(speed_after(&unit, 0.0, 3.0 * bare, 600), 0.5, 1e-5);
}

/* Speed after one step from `speed` with this setting, no flow. */
static double driven(const struct pump_unit *unit, double speed, double setting, double step)
{
    const struct instant now = instant_of(step, step, setting);
    const double old[] = {speed, pump_torque(unit->pump, 0.0, speed)};
    double next[PUMP_STATE_COUNT];
    (void)pump_element.motion->drop(unit, &now, old, 0.0, next);
    return next[PUMP_STATE_SPEED];
}

/* A drive brings it to the share of its speed that is set: exactly while that takes no brake. */
Test(pump_run_down, drive_sets_the_speed)
{
    const struct pump pump = demonstration_pump(3, true);
    const struct pump_unit unit = {.pump = &pump, .speed = 0.9, .is_running = true};
    cr_assert_float_eq(driven(&unit, 0.9, 0.999, 0.01), 0.9 * 0.999, 1e-12);
    cr_assert_float_eq(driven(&unit, 0.45, 0.5, 0.01), 0.45, 1e-12);
    cr_assert_float_eq(driven(&unit, 0.45, 0.501, 0.01), 0.9 * 0.501, 1e-12);
}

/* It does not brake: a speed set far below is reached no sooner than by running down. */
Test(pump_run_down, drive_does_not_brake)
{
    const struct pump pump = demonstration_pump(3, true);
    const struct pump_unit unit = {.pump = &pump, .speed = 1.0, .is_running = true};
    cr_assert_float_eq(driven(&unit, 1.0, 0.1, 0.01), driven(&unit, 1.0, 0.0, 0.01), 1e-15);
    cr_assert(driven(&unit, 1.0, 0.1, 0.01) > 0.5);
}

/* Water that drives a powered pump faster than its mains does not get away with it: at the speed
 * that is set it has the torque of that speed, below 0 as a generator's (no slip is reckoned). */
Test(pump_run_down, mains_hold_a_driven_pump_at_its_speed)
{
    const struct pump pump = demonstration_pump(3, true);
    const struct pump_unit unit = {.pump = &pump, .speed = 1.0, .is_running = true};
    const struct instant now = instant_of(0.01, 0.01, 1.0);
    const double flow = 4.0 * pump.best_flow;
    const double old[] = {1.0, pump_torque(&pump, flow, 1.0)};
    cr_assert_lt(old[1], 0.0, "%g", old[1]);
    const struct pump_turn turn = pump_turn(&unit, &now, old, flow);
    cr_assert_eq(turn.speed, 1.0);
    cr_assert_eq(turn.by_flow, 0.0);
    cr_assert_float_eq(turn.torque, old[1], 1e-12);
}

/* Power comes back while it still turns, forward or backward: it runs up evenly from there. */
Test(pump_run_down, restart_begins_at_the_speed_it_has)
{
    const struct pump pump = demonstration_pump(3, true);
    const struct pump_unit unit = {.pump = &pump, .speed = 1.0, .is_running = true};
    const double step = 0.1 * pump_run_up_time;
    cr_assert_float_eq(driven(&unit, 0.4, 1.0, step), 0.5, 1e-12);
    /* Direct on line in 0.1 to 0.5 s (common practice): the middle of it. */
    cr_assert_float_eq(driven(&unit, 0.4, 1.0, 0.1 * 0.5 * (0.1 + 0.5)), 0.5, 1e-12);
    cr_assert_float_eq(driven(&unit, -0.4, 1.0, step), -0.3, 1e-12);
    cr_assert_float_eq(driven(&unit, 0.95, 1.0, step), 1.0, 1e-12);
}

/* Turned backward slowly and stopped again: no step too small to be followed, and without a ratchet
 * it may turn either way. The setting above 1 is none: a drive knows no more than its speed. */
Test(pump_run_down, slow_turning_is_turning)
{
    const struct pump pump = demonstration_pump(3, true);
    const struct pump_unit unit = {.pump = &pump, .speed = 1.0};
    const struct pump_unit held = {.pump = &pump, .speed = 1.0, .reverse_blocked = true};
    for (double speed = -0.08; speed < 0.09; speed += 0.02) {
        /* Torque goes with the square of speed: 1/a changes by t/T0 (exact; first order here). */
        const double after = driven(&unit, speed, 0.0, 1e-4);
        cr_assert(fabs(after) < fabs(speed) || fabs(speed) < 1e-9, "%g: %g", speed, after);
        cr_assert(after * speed > 0 || fabs(speed) < 1e-9);
    }
    cr_assert_float_eq(driven(&held, 0.05, 0.0, 1e-4), driven(&unit, 0.05, 0.0, 1e-4), 1e-15);
    cr_assert_eq(driven(&unit, 1.0, 1.2, 0.01), 1.0);
    const struct instant now = instant_of(0.01, 0.01, 0.0);
    const double old[] = {0.001, 0.5 * pump.best_torque};
    const struct pump_turn stopped = pump_turn(&held, &now, old, 0.0);
    cr_assert(stopped.speed == 0.0 && stopped.by_flow == 0.0 && stopped.torque == 0.0);
}
