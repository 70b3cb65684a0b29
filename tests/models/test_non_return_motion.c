/* How a non-return valve's part moves, against exact motions.
 * Long because each of its tests needs the same valve, its release and its steps. */
#include "models/circle.h"
#include "models/non_return.h"
#include "models/non_return_hold.h"
#include "models/non_return_motion.h"
#include "tests/models/watched_root.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

static const struct water water = {.gravity = 9.81, .density = 1000.0};

enum { STATE = NON_RETURN_STATE_COUNT, VALVES = 9 };

static struct instant instant_of(double time, double step)
{
    const struct instant now = {time, step, 1.0, &water, NULL};
    return now;
}

/* Moving mass 0.6 kg, lift 20 mm, preload 8 N and spring 400 N/m. */
static struct non_return poppet(void)
{
    struct non_return valve = {
        .type = "poppet",
        .bore = 0.05,
        .port_area = 1e-3,
        .full_open_loss = 5.0,
        .seat_area = circle_area(0.05),
        .arm = 1.0,
        .inertia = 0.6,
        .travel = 0.020,
        .closing_force = 8.0,
        .opening_floor = 0.01,
    };
    valve.opening_head = 8.0 / non_return_lift(&valve, &water);
    valve.full_open_velocity = non_return_velocity_of_force(&valve, &water, 8.0 + 400.0 * 0.020);
    return valve;
}

/* Flow as a function of time, until the seat is met; state of the end in `state`. */
typedef double (*flow_of_time)(double time);

static void run(const struct non_return *valve, flow_of_time flow, double step, double longest,
                double state[])
{
    double next[STATE];
    for (int i = 1; i * step < longest && !(state[NON_RETURN_STATE_SHUTS] > 0.0); i++) {
        const struct instant now = instant_of(i * step, step);
        const double q = flow(i * step);
        const struct drop drop = non_return_motion.drop(valve, &now, state, q, next);
        (void)non_return_motion.settle(valve, &now, state, q, drop.head, next);
        memcpy(state, next, sizeof next);
    }
}

static double no_flow(double time)
{
    (void)time;
    return 0.0;
}

static void release(const struct non_return *valve, double step, double state[])
{
    memset(state, 0, STATE * sizeof *state);
    state[NON_RETURN_STATE_OPENING] = 1.0;
    state[NON_RETURN_STATE_LIFTED] = 1.0;
    run(valve, no_flow, step, 1.0, state);
}

/* Spring poppet without fluid force (exact): t = arccos(x0/(x0 + s))/w = 0.0405578 s, seat speed
 * w sqrt((x0 + s)^2 - x0^2) = 0.894427 m/s. */
Test(non_return_motion, released_poppet_shuts_in_the_exact_time_at_the_exact_speed)
{
    const struct non_return valve = poppet();
    double before = 1.0;
    for (double step = 4e-3; step > 2e-4; step *= 0.5) {
        double state[STATE];
        release(&valve, step, state);
        const double error = fabs(state[NON_RETURN_STATE_SHUT_TIME] / 0.0405578 - 1.0) +
                             fabs(state[NON_RETURN_STATE_SEAT_SPEED] / 0.894427 - 1.0);
        cr_assert(error < 0.05);
        cr_assert(error < before);
        before = error;
    }
    cr_assert(before < 2e-3);
}

/* Constant net force: t = sqrt(2 m s/F) (exact). */
Test(non_return_motion, constant_force_shuts_in_the_exact_time)
{
    struct non_return valve = poppet();
    valve.full_open_velocity = 0.5 * valve.full_open_velocity; /* below: the force stays level */
    double state[STATE];
    release(&valve, 1e-4, state);
    const double exact = sqrt(2.0 * 0.6 * 0.020 / 8.0);
    cr_assert_float_eq(state[NON_RETURN_STATE_SHUT_TIME], exact, 1e-3 * exact);
    cr_assert_float_eq(state[NON_RETURN_STATE_SEAT_SPEED], 8.0 / 0.6 * exact, 2e-3);
}

/* A flap about its pin obeys the same equation with moment and inertia about the pin. */
Test(non_return_motion, released_flap_shuts_in_the_exact_time)
{
    struct non_return valve = poppet();
    valve.is_swing = true;
    valve.arm = 0.03;
    valve.inertia = 2e-3;
    valve.travel = 1.2;
    valve.opening_head = 0.05;
    valve.full_open_velocity = 0.0;
    const double moment = 0.05 * non_return_lift(&valve, &water);
    valve.full_open_velocity = 1e-3; /* level moment */
    double state[STATE];
    release(&valve, 1e-4, state);
    const double exact = sqrt(2.0 * 2e-3 * 1.2 / moment);
    cr_assert_float_eq(state[NON_RETURN_STATE_SHUT_TIME], exact, 2e-3 * exact);
}

static double falling_flow(double time)
{
    return circle_area(0.05) * (0.5 - 1.962 * time);
}

static double reverse_velocity(double inertia, double step)
{
    struct non_return valve = poppet();
    valve.inertia = inertia;
    valve.damping = 20.0 * sqrt(inertia); /* half of critical on a spring of 400 N/m */
    double state[STATE];
    const double flow = falling_flow(0.0);
    const struct drop drop = non_return_drop(&valve, &water, flow);
    non_return_motion.start(&valve, &water, flow, drop.head, state);
    run(&valve, falling_flow, step, 2.0, state);
    cr_assert(state[NON_RETURN_STATE_SHUTS] > 0.0);
    return -state[NON_RETURN_STATE_REVERSE_FLOW] / circle_area(0.05);
}

/* Without inertia the opening follows the velocity alone: no reverse velocity, no slam (exact). */
Test(non_return_motion, part_without_inertia_shuts_without_reverse_flow)
{
    cr_assert_float_eq(reverse_velocity(1e-9, 1e-3), 0.0, 0.0);
    cr_assert_float_eq(reverse_velocity(1e-9, 1e-4), 0.0, 0.0);
}

Test(non_return_motion, heavier_part_shuts_at_a_larger_reverse_velocity)
{
    double before = 0.0;
    for (double inertia = 2.7; inertia < 100.0; inertia *= 3.0) {
        const double reverse = reverse_velocity(inertia, 1e-4);
        cr_assert(reverse > before);
        before = reverse;
    }
}

Test(non_return_motion, reverse_velocity_converges_with_the_step)
{
    for (double inertia = 2.7; inertia < 100.0; inertia *= 3.0) {
        const double fine = reverse_velocity(inertia, 2e-5);
        cr_assert_float_eq(reverse_velocity(inertia, 2e-4), fine, 0.01 * fine);
        cr_assert_float_eq(reverse_velocity(inertia, 1e-3), fine, 0.05 * fine);
    }
}

static int held_laws(struct non_return out[])
{
    static const double opening[] = {0.2, 0.6, 1.0};
    static const double loss[] = {90.0, 11.0, 5.0};
    for (int i = 0; i < VALVES; i++) {
        out[i] = poppet();
    }
    out[1].full_open_velocity = 0.0;
    out[2].inertia = 1e-6;
    out[3].opening_head = 0.0;
    out[4].leak_area = 1e-6;
    out[5].extra_loss = 2.0;
    out[5].damping = 5.0;
    out[6].own = (struct non_return_own){.has_force = true, .preload = 5.0, .rate = 300.0};
    out[6].opening_head = 5.0 / non_return_lift(&out[6], &water);
    out[7].own = (struct non_return_own){
        .loss_count = 3, .loss_opening = opening, .loss = loss, .rotation = 1.0};
    /* So light, and its force so small and level, that only the flow places it. */
    out[8].inertia = 5e-8;
    out[8].closing_force = 2e-3;
    out[8].opening_head = 2e-3 / non_return_lift(&out[8], &water);
    out[8].full_open_velocity = 1e-6;
    return VALVES;
}

/* Starting from the steady point, thousands of steps leave state and head where they are. */
Test(non_return_motion, steady_point_stays_still)
{
    struct non_return valves[VALVES];
    const int count = held_laws(valves);
    for (int k = 0; k < count; k++) {
        for (double v = 0.001; v < 4.0; v *= 2.3) {
            const double flow = v * circle_area(0.05);
            const struct drop steady = non_return_drop(&valves[k], &water, flow);
            double state[STATE];
            double next[STATE];
            non_return_motion.start(&valves[k], &water, flow, steady.head, state);
            const double opening = state[NON_RETURN_STATE_OPENING];
            for (int i = 0; i < 2000; i++) {
                const struct instant now = instant_of(0.002 * i, 0.002);
                const struct drop drop =
                    non_return_motion.drop(&valves[k], &now, state, flow, next);
                cr_assert_float_eq(drop.head, steady.head, 1e-12,
                                   "valve %d, %g m/s, step %d: %g, %g %g", k, v, i,
                                   drop.head - steady.head, state[0] - opening, steady.head);
                cr_assert_not(
                    non_return_motion.settle(&valves[k], &now, state, flow, drop.head, next));
                memcpy(state, next, sizeof next);
            }
            cr_assert_float_eq(state[NON_RETURN_STATE_OPENING], opening, 1e-12);
        }
    }
    /* A part that goes on as it did is looked for where it is. */
    cr_expect_lt(root_watch.all, 1.2 * root_watch.searches);
}

Test(non_return_motion, shut_valve_stays_shut_up_to_the_opening_head)
{
    const struct non_return valve = poppet();
    double state[STATE];
    double next[STATE];
    non_return_motion.start(&valve, &water, 0.0, -3.0, state);
    const struct instant now = instant_of(0.01, 0.01);
    const struct span span = non_return_motion.span(&valve, &now, state);
    cr_assert(span.lower == 0.0 && span.upper == 0.0);
    (void)non_return_motion.drop(&valve, &now, state, 0.0, next);
    cr_assert_not(non_return_motion.settle(&valve, &now, state, 0.0, valve.opening_head, next));
    cr_assert(memcmp(state, next, sizeof next) == 0);
    cr_assert_not(
        non_return_motion.settle(&valve, &now, state, 0.0, 1.01 * valve.opening_head, next));
    cr_assert(next[NON_RETURN_STATE_OPENING] > 0.0);
    cr_assert(non_return_motion.span(&valve, &now, next).upper == (double)INFINITY);
}

/* The law of a step is a rising continuous graph of flow inside its span. */
static void check_step_law(const struct non_return *valve, const double old[], double step)
{
    const struct instant now = instant_of(step, step);
    const struct span span = non_return_motion.span(valve, &now, old);
    double next[STATE];
    double before = -(double)INFINITY;
    for (int i = -600; i <= 600; i += 3) {
        const double flow = circle_area(0.05) * 1e-3 * (i + 0.1) * fabs(i + 0.1) / 100.0;
        if (flow < span.lower || flow > span.upper) {
            continue;
        }
        const double d = 1e-7 * fabs(flow);
        const struct drop at = non_return_motion.drop(valve, &now, old, flow, next);
        const double up = non_return_motion.drop(valve, &now, old, flow + d, next).head;
        const double down = non_return_motion.drop(valve, &now, old, flow - d, next).head;
        cr_assert(isfinite(at.head) && isfinite(at.slope) && at.head >= before,
                  "%g after %g at %g slope %g; s %g", at.head, before, flow, at.slope, next[0]);
        cr_assert(up - down < 1e-3 * (1.0 + fabs(at.head)), "jump of %g at %g", up - down, flow);
        if (fabs((up - at.head) - (at.head - down)) < 1e-3 * (up - down)) {
            cr_assert_float_eq((up - down) / (2.0 * d), at.slope, 2e-3 * at.slope + 1e-14 / d);
        }
        before = at.head;
    }
}

Test(non_return_motion, law_of_a_step_rises_with_flow_and_its_slope_is_the_total_one)
{
    struct non_return valves[VALVES];
    const int count = held_laws(valves);
    const double places[][2] = {{1.0, 0.0},   {0.5, 0.0},  {0.5, -20.0},
                                {0.05, -5.0}, {1e-9, 0.0}, {0.3, 10.0}};
    for (int k = 0; k < count; k++) {
        for (int i = 0; i < 6; i++) {
            for (int j = -1; j <= 1; j++) {
                double old[STATE] = {places[i][0], places[i][1]};
                old[NON_RETURN_STATE_FLOW] = 3e-4 * j;
                check_step_law(&valves[k], old, 0.005);
                check_step_law(&valves[k], old, 0.0005);
            }
        }
    }
}

/* At the lower end of the span the graph stands upright from the head of a trace of flow, of a hard
 * landing as of one so soft that hardly a head is left. */
static void check_landing(const struct non_return *valve, double speed)
{
    const double old[STATE] = {0.01, speed};
    double next[STATE];
    const struct instant now = instant_of(0.005, 0.005);
    cr_assert(non_return_motion.span(valve, &now, old).lower == 0.0);
    const struct drop none = non_return_motion.drop(valve, &now, old, 0.0, next);
    cr_assert(none.head > 0.0 && (none.head < 0.1) == (speed > -1.0), "%g", none.head);
    /* Also of so small a one that two terms of the slope have all but the same digits. */
    for (double flow = 1e-11; flow > 1e-25; flow *= 0.1) {
        const struct drop trace = non_return_motion.drop(valve, &now, old, flow, next);
        cr_assert_float_eq(none.head, trace.head,
                           1e-6 * (1.0 + none.head) + 1.1 * none.slope * flow, "%g: %g, not %g",
                           flow, trace.head, none.head);
        cr_assert_float_eq(none.slope, trace.slope, 1e-3 * none.slope, "%g: %g", flow, trace.slope);
    }
}

Test(non_return_motion, landing_step_begins_at_no_flow_without_a_gap)
{
    static const double opening[] = {0.05, 0.6, 1.0};
    static const double loss[] = {900.0, 11.0, 5.0};
    struct non_return valve = poppet();
    check_landing(&valve, -30.0);
    check_landing(&valve, -0.38);
    valve.own = (struct non_return_own){.loss_count = 3, .loss_opening = opening, .loss = loss};
    check_landing(&valve, -30.0);
    check_landing(&valve, -0.38);
}

/* Forward flow that is left as the part lands needs a way: a hair's gap (an opening above 0), or
 * the leak where there is one; then the part lies on its seat (0 is on the seat:
 * non_return_state.h). */
Test(non_return_motion, landed_part_lies_on_its_seat_if_its_leak_takes_the_flow)
{
    static const double leaks[] = {0.0, 1e-6, 1e-4};
    const double old[STATE] = {0.01, -30.0};
    const struct instant now = instant_of(0.005, 0.005);
    for (int i = 0; i < 3; i++) {
        struct non_return valve = poppet();
        double next[STATE];
        valve.leak_area = leaks[i];
        (void)non_return_motion.drop(&valve, &now, old, 1e-12, next);
        cr_expect_eq(next[NON_RETURN_STATE_OPENING] > 0.0, i == 0, "leak %g: %g", leaks[i],
                     next[NON_RETURN_STATE_OPENING]);
    }
}

Test(non_return_motion, seating_against_reverse_flow_asks_for_the_step_again)
{
    const struct non_return valve = poppet();
    double old[STATE] = {0.02, -25.0};
    double next[STATE];
    old[NON_RETURN_STATE_FLOW] = -1e-4;
    old[NON_RETURN_STATE_RATE] = -0.01;
    old[NON_RETURN_STATE_LIFTED] = 1.0;
    const struct instant now = instant_of(0.005, 0.005);
    const struct drop drop = non_return_motion.drop(&valve, &now, old, -2e-4, next);
    cr_assert(non_return_motion.settle(&valve, &now, old, -2e-4, drop.head, next));
    const struct span span = non_return_motion.span(&valve, &now, next);
    cr_assert(span.lower == 0.0 && span.upper == 0.0);
    const double reverse = next[NON_RETURN_STATE_REVERSE_FLOW];
    cr_assert(reverse < -1e-4 && reverse > -2e-4);
    cr_assert(next[NON_RETURN_STATE_SHUT_TIME] > 0.0 && next[NON_RETURN_STATE_SHUT_TIME] < 0.005);
}

/* Restitution 0.5: comes back from the seat at half its speed (definition). */
Test(non_return_motion, part_bounces_by_its_restitution)
{
    struct non_return valve = poppet();
    valve.restitution = 0.5;
    double state[STATE];
    release(&valve, 1e-4, state);
    const double back = state[NON_RETURN_STATE_SPEED] * valve.travel;
    cr_assert_float_eq(back, 0.5 * state[NON_RETURN_STATE_SEAT_SPEED], 1e-12);
    cr_assert_float_eq(back, 0.447, 0.01);
    cr_assert_eq(state[NON_RETURN_STATE_LIFTED], 0.0); /* until it has risen again */
    cr_assert_eq(state[NON_RETURN_STATE_BOUNCES], 1.0);
}

/* The stop of the open end sends it back by the same share of its speed (definition), which in a
 * hundred-thousandth of a second hardly changes; a touch softer than 0.02 m/s (ours) not at all. */
Test(non_return_motion, part_bounces_at_its_open_stop_too)
{
    static const double speeds[] = {1.5, 0.3, 0.021, 0.019}; /* m/s */
    for (int i = 0; i < 12; i++) {
        struct non_return valve = poppet();
        valve.restitution = 0.4;
        if (i / 4 == 1) { /* a long way: a low speed as a share of it */
            valve.travel = 1.0;
        } else if (i / 4 == 2) {
            valve.is_swing = true;
            valve.arm = 0.03;
            valve.inertia = 0.6 * 0.03 * 0.03;
            valve.travel = 1.2;
        }
        const double speed = speeds[i % 4]; /* of its middle */
        const double share = valve.travel * valve.arm;
        const struct instant now = instant_of(1.0, 1e-5);
        const double old[STATE] = {
            [NON_RETURN_STATE_OPENING] = 1.0 - 1e-8, [NON_RETURN_STATE_SPEED] = speed / share};
        double next[STATE];
        (void)non_return_motion.drop(&valve, &now, old, 0.0, next);
        const double back = speed > 0.02 ? 0.4 * speed : 0.0;
        cr_expect_eq(next[NON_RETURN_STATE_OPENING], 1.0);
        cr_expect_float_eq(next[NON_RETURN_STATE_SPEED] * share, -back, 3e-2 * back, "%d: %g", i,
                           next[NON_RETURN_STATE_SPEED] * share);
    }
}

Test(non_return_motion, ideal_valve_shuts_at_no_flow)
{
    struct non_return valve = poppet();
    valve.form = NON_RETURN_IDEAL;
    valve.opening_head = 0.0;
    valve.full_open_velocity = 0.0;
    double old[STATE];
    double next[STATE];
    non_return_motion.start(&valve, &water, 1e-3, 0.0, old);
    const struct instant now = instant_of(0.7, 0.1);
    const struct span span = non_return_motion.span(&valve, &now, old);
    cr_assert(span.lower == 0.0 && isinf(span.upper));
    (void)non_return_motion.drop(&valve, &now, old, 0.0, next);
    cr_assert_float_eq(next[NON_RETURN_STATE_SHUTS], 1.0, 0.0);
    cr_assert_float_eq(next[NON_RETURN_STATE_SHUT_TIME], 0.7, 0.0);
    cr_assert_float_eq(next[NON_RETURN_STATE_REVERSE_FLOW], 0.0, 0.0);
}

/* A bouncing part loses the share 1 - e^2 of its energy at each blow (definition), so it comes to
 * rest after a finite time; here it does after a handful of blows and stays, where the flow never
 * opens it again. */
Test(non_return_motion, bouncing_part_comes_to_rest_on_its_seat)
{
    for (double restitution = 0.2; restitution < 0.9; restitution += 0.2) {
        struct non_return valve = poppet();
        valve.restitution = restitution;
        double state[STATE];
        double next[STATE];
        release(&valve, 1e-4, state);
        for (int i = 0; i < 20000; i++) {
            const struct instant now = instant_of(1.0 + i * 1e-4, 1e-4);
            const struct drop drop = non_return_motion.drop(&valve, &now, state, 0.0, next);
            (void)non_return_motion.settle(&valve, &now, state, 0.0, drop.head, next);
            memcpy(state, next, sizeof next);
        }
        cr_expect_float_eq(state[NON_RETURN_STATE_OPENING], 0.0, 0.0, "e %g", restitution);
        cr_expect(state[NON_RETURN_STATE_BOUNCES] >= 1.0);
        cr_expect(state[NON_RETURN_STATE_BOUNCES] < 30.0, "e %g: %g blows", restitution,
                  state[NON_RETURN_STATE_BOUNCES]);
    }
}

/* --- blows against a standing head --- */

/* A blow of 3 m stands behind a pipe of 2e4 s/m2 (a v/g of a light DN50 pipe): head(from) -
 * head(to) of the valve is -3 m - 2e4 Q. Finds Q by halving; the law of a step rises with flow. */
static double flow_against_blow(const struct non_return *valve, const struct instant *now,
                                const double old[])
{
    const struct span span = non_return_motion.span(valve, now, old);
    double next[STATE];
    double low = fmax(span.lower, -2e-4);
    double high = fmin(span.upper, 1e-4);
    for (int i = 0; i < 42; i++) {
        const double middle = 0.5 * (low + high);
        const double head = non_return_motion.drop(valve, now, old, middle, next).head;
        *(head + 3.0 + 2e4 * middle > 0.0 ? &high : &low) = middle;
    }
    const double flow = 0.5 * (low + high);
    return fabs(flow - span.lower) < 1e-15 ? span.lower : flow;
}

/* One step as a group makes it: again where the part has met its seat. */
static void step_against_blow(const struct non_return *valve, double time, double step,
                              double state[])
{
    const struct instant now = instant_of(time, step);
    double next[STATE];
    bool is_again = true;
    while (is_again) {
        const double flow = flow_against_blow(valve, &now, state);
        (void)non_return_motion.drop(valve, &now, state, flow, next);
        is_again = non_return_motion.settle(valve, &now, state, flow, -3.0 - 2e4 * flow, next);
        memcpy(state, next, sizeof next);
    }
}

/* Near its seat the part sees the whole blow, a force that hangs on nothing: between blows it keeps
 * its energy (exact), so it leaves each one with e of the speed with which it left the one before,
 * e^2 of the energy. A step that is too long to follow may lose more, never give any. */
Test(non_return_motion, no_blow_adds_energy_and_each_keeps_its_share)
{
    static const double steps[] = {1e-3, 2.5e-4, 2.5e-5};
    static const double restitution[] = {0.3, 0.5, 0.8};
    for (int k = 0; k < 9; k++) {
        struct non_return valve = poppet();
        const double step = steps[k % 3];
        double state[STATE] = {0.05};
        double left = 0.0;
        double blows = 0.0;
        valve.restitution = restitution[k / 3];
        state[NON_RETURN_STATE_LIFTED] = 1.0;
        for (int i = 1; i * step < 0.08; i++) {
            step_against_blow(&valve, i * step, step, state);
            if (state[NON_RETURN_STATE_BOUNCES] > blows) {
                const double speed = state[NON_RETURN_STATE_SPEED];
                const double most = blows > 0.0 ? valve.restitution * left : speed;
                blows = state[NON_RETURN_STATE_BOUNCES];
                cr_expect(speed <= 1.2 * most && (left <= 0.0 || speed <= left),
                          "step %g blow %g: %g, %g", step, blows, speed, most);
                cr_expect(k % 3 < 2 || speed >= 0.97 * most, "%g, %g", speed, most);
                cr_expect(k % 3 < 2 || speed <= 1.03 * most, "%g, %g", speed, most);
                left = speed;
            }
        }
        cr_expect_eq(state[NON_RETURN_STATE_OPENING], 0.0, "step %g", step);
        cr_expect(k % 3 < 2 || blows >= 2.0);
    }
}

/* A part flung open in still water, with the same loss at every opening: the water that must come
 * back through the gap to fill the place behind it holds it, m x'' = -k (A x')^2 with k the force
 * for each (m3/s)^2, so that 1/x' = 1/v0 + k A^2 t/m (exact). */
Test(non_return_motion, part_that_outruns_the_water_is_held_by_it)
{
    static const double opening[] = {1e-3, 1.0};
    static const double loss[] = {50.0 + 1e-9, 50.0};
    struct non_return valve = poppet();
    valve.closing_force = 0.0;
    valve.opening_head = 0.0;
    valve.full_open_velocity = 0.0;
    valve.full_open_loss = 50.0;
    valve.own.loss_count = 2;
    valve.own.loss_opening = opening;
    valve.own.loss = loss;
    valve.own.rotation = 1.0;
    const double area = circle_area(0.05);
    const double rise = non_return_lift(&valve, &water) * 50.0 / (2 * 9.81 * area * area) * area *
                        area / 0.6; /* k A^2/m */
    double before = 1.0;
    for (double step = 4e-4; step > 4e-5; step *= 0.5) {
        double state[STATE] = {0};
        state[NON_RETURN_STATE_OPENING] = 0.01;
        state[NON_RETURN_STATE_SPEED] = 0.2 / 0.020;
        run(&valve, no_flow, step, 0.04 + 0.5 * step, state);
        const int steps = (int)lround(0.04 / step);
        const double exact = 1 / (1 / 0.2 + rise * steps * step);
        const double error = fabs(state[NON_RETURN_STATE_SPEED] * 0.020 / exact - 1);
        cr_assert(exact < 0.15 && state[NON_RETURN_STATE_OPENING] < 1.0);
        cr_assert(error < 1e-5 && error < before, "%g after %g", error, before);
        before = error;
    }
}

/* A part held a third open, with a strainer of K 2 before it: (5/(1/3)^2 + 2) v|v|/2g whichever way
 * the water goes (definition of K). */
Test(non_return_motion, held_part_has_its_loss_and_its_strainers)
{
    struct non_return valve = poppet();
    valve.extra_loss = 2.0;
    const struct instant now = instant_of(1.0, 0.01);
    const double old[STATE] = {1.0 / 3.0};
    for (double v = -3.0; v < 0.0; v += 0.5) {
        double next[STATE] = {0};
        const struct drop drop =
            non_return_hold_drop(&valve, &now, old, v * circle_area(0.05), next);
        cr_assert_float_eq(drop.head, 47.0 * v * fabs(v) / (2.0 * 9.81), 1e-9);
        cr_assert_float_eq(drop.slope, 94.0 * fabs(v) / (2.0 * 9.81 * circle_area(0.05)), 1e-6);
    }
}

/* What comes back from the seat: only what met it at 0.02 m/s or faster, and is away for four steps
 * or more (2 e v/a, a fall under a constant force: exact). The limits are those of the model
 * (constructed); they must stand where it says, the first one in m/s also for a part that lifts. */
struct blow_at {
    double speed; /* m/s */
    double steps; /* of flight, if it came back */
    bool comes_back;
};

Test(non_return_motion, weak_and_short_rebounds_are_swallowed)
{
    static const struct blow_at blows[] = {
        {0.019, 50.0, false}, {0.021, 50.0, true}, {0.2, 3.8, false}, {0.2, 4.2, true}};
    for (int i = 0; i < 4; i++) {
        struct non_return valve = poppet();
        valve.full_open_velocity = non_return_velocity_of_force(&valve, &water, 8.0);
        valve.restitution = 0.9;
        const double fall = 8.0 / 0.6;
        const double step = 2.0 * 0.9 * blows[i].speed / fall / blows[i].steps;
        /* Half a step above the seat at such a speed that it meets it as wanted. */
        const double before = blows[i].speed - 0.5 * step * fall;
        double old[STATE] = {0};
        double next[STATE];
        old[NON_RETURN_STATE_OPENING] = 0.5 * step * (before + blows[i].speed) * 0.5 / valve.travel;
        old[NON_RETURN_STATE_SPEED] = -before / valve.travel;
        old[NON_RETURN_STATE_LIFTED] = 1.0;
        const struct instant now = instant_of(1.0, step);
        memcpy(next, old, sizeof next);
        const struct drop drop = non_return_motion.drop(&valve, &now, old, 0.0, next);
        (void)non_return_motion.settle(&valve, &now, old, 0.0, drop.head, next);
        cr_expect_float_eq(next[NON_RETURN_STATE_SEAT_SPEED] / blows[i].speed, 1.0, 0.02, "%d: %g",
                           i, next[NON_RETURN_STATE_SEAT_SPEED]);
        cr_expect_eq(next[NON_RETURN_STATE_SPEED] > 0.0, blows[i].comes_back, "%d: %g", i,
                     next[NON_RETURN_STATE_SPEED]);
    }
}
