/* Steps of a non-return valve's part beside the same two stages written plainly, each position
 * found by halving: Alexander's method (SIAM J. Numer. Anal. 14, 1977) on the laws that
 * models/non_return_motion.h tells. */
#include "models/circle.h"
#include "models/non_return.h"
#include "models/non_return_motion.h"
#include "tests/solver/random_numbers.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

static const struct water water = {.gravity = 9.81, .density = 1000.0};

enum { STATE = NON_RETURN_STATE_COUNT, TRIALS = SHORT_RUNS ? 1000 : 5000 };

static const double table_opening[] = {0.2, 0.6, 1.0};
static const double table_loss[] = {90.0, 11.0, 5.0};

/* A lift or a flap of plausible numbers. */
static struct non_return random_valve(struct random *random)
{
    struct non_return valve = {.type = "any", .bore = 0.05, .port_area = 1e-3};
    valve.is_swing = random_pick(random, 2) == 0;
    valve.full_open_loss = 5.0;
    valve.seat_area = circle_area(0.05);
    valve.arm = valve.is_swing ? 0.03 : 1.0;
    valve.travel = valve.is_swing ? random_even(random, 0.8, 2.0) : 0.02;
    valve.inertia = random_spread(random, 0.1, 2.0) * (valve.is_swing ? 2e-3 : 1.0);
    valve.damping = random_pick(random, 2) * 10.0 * valve.inertia;
    valve.opening_floor = 0.01;
    valve.opening_head = random_pick(random, 3) ? random_spread(random, 0.02, 1.0) : 0.0;
    valve.full_open_velocity = random_even(random, 0.5, 2.5);
    valve.extra_loss = random_pick(random, 2) * 2.0;
    valve.leak_area = random_pick(random, 4) ? 0.0 : random_spread(random, 1e-7, 1e-5);
    valve.restitution = random_pick(random, 2) * 0.5;
    valve.own.rotation = random_pick(random, 2);
    if (random_pick(random, 3) == 0) {
        valve.own.loss_count = 3;
        valve.own.loss_opening = table_opening;
        valve.own.loss = table_loss;
    }
    return valve;
}

/* What one stage goes by. */
struct plain {
    const struct non_return *valve;
    double step;
    double place;
    double speed;
    double flow;
    double going_on;
};

static double lift_of(const struct non_return *valve)
{
    return 1000.0 * 9.81 * valve->seat_area * valve->arm;
}

/* m for each (m3/s)^2 fully open. */
static double open_loss(const struct non_return *valve)
{
    const double area = circle_area(valve->bore);
    return valve->full_open_loss / (2.0 * 9.81 * area * area);
}

/* Square root of K_open/K at s, kept above that of the leak, or of the part that is all but shut.
 */
static double passing(const struct non_return *valve, double s, bool is_forward)
{
    double floor = is_forward && valve->opening_head > 0.0 ? 0.0 : valve->opening_floor;
    if (valve->leak_area > 0.0) {
        floor = sqrt(valve->full_open_loss / non_return_leak_loss(valve));
    }
    return fmin(fmax(non_return_own_passing(&valve->own, s).value, floor), 1.0);
}

/* Force that is left over at s: inertia, closing force, damping, less what the flow does. */
static double unbalanced(const struct plain *plain, double s)
{
    const struct non_return *valve = plain->valve;
    const double speed = (s - plain->place) / plain->step;
    const double push = lift_of(valve) * open_loss(valve);
    const double heading = plain->place + plain->step * plain->speed;
    const double way = passing(valve, heading, false);
    const double back = push / (way * way);
    double sum = valve->inertia * valve->travel * (speed - plain->speed) / plain->step +
                 valve->damping * valve->travel * speed + non_return_force(valve, &water, s, NULL);
    if (plain->flow > 0.0) {
        sum -= push * pow(plain->flow / passing(valve, s, true), 2);
    } else {
        sum += back * plain->flow * plain->flow;
    }
    const double at = fmin(fmax(heading, 0.0), 1.0) * valve->travel;
    const double swept = valve->own.rotation * valve->seat_area * valve->arm * valve->travel *
                         (valve->is_swing ? fmax(cos(at), 0.0) : 1.0);
    const double through = plain->going_on;
    const double past = through - swept * speed;
    if (speed < 0.0) {
        sum -= back * (past * fabs(past) - through * fabs(through));
    } else {
        sum += back * (pow(fmin(past, 0.0), 2) - pow(fmin(through, 0.0), 2));
    }
    return sum;
}

static double solve_plain(const struct plain *plain)
{
    double low = plain->flow > 0.0 && !(passing(plain->valve, 0.0, true) > 0.0) ? 0.0 : -1e9;
    double high = 1e9;
    for (int i = 0; i < 140; i++) {
        const double s = 0.5 * (low + high);
        *(unbalanced(plain, s) > 0.0 ? &high : &low) = s;
    }
    return 0.5 * (low + high);
}

/* The flow as it was changing; where that would turn it, none. */
static double go_on(const double old[], double after)
{
    const double flow = old[NON_RETURN_STATE_FLOW];
    const double then = flow + after * old[NON_RETURN_STATE_RATE];
    return flow * then < 0.0 ? 0.0 : then;
}

struct plain_end {
    double place, speed;
    double early, early_speed; /* at the first stage's end */
    struct plain second;
};

static struct plain_end step_plainly(const struct non_return *valve, const double old[],
                                     double step, double flow)
{
    const double share = 1.0 - sqrt(0.5);
    const double h = share * step;
    const double going = go_on(old, h);
    struct plain plain = {valve, h, old[0], old[1], going, going};
    struct plain_end end;
    end.early = solve_plain(&plain);
    end.early_speed = (end.early - old[0]) / h;
    const double rest = step - h;
    plain = (struct plain){valve,
                           h,
                           old[0] + rest * end.early_speed,
                           old[1] + rest * (end.early_speed - old[1]) / h,
                           flow,
                           go_on(old, step)};
    if (end.early <= 0.0) { /* on its seat: from rest */
        plain.place = plain.speed = 0.0;
    }
    end.place = solve_plain(&plain);
    end.speed = (end.place - plain.place) / h;
    end.second = plain;
    return end;
}

/* When in the step the parabola through its place, speed and end meets the seat, at what speed, and
 * which flow then: as it was changing, or as the step has it if that is more. */
static void check_blow(const struct non_return *valve, const double old[], double step, double flow,
                       const struct plain_end *end, const double next[])
{
    const bool is_early = end->early <= 0.0;
    const double span = is_early ? step * (1.0 - sqrt(0.5)) : step;
    const double last = is_early ? end->early : end->place;
    const double change = (is_early ? end->early_speed : end->speed) - old[1];
    double low = 0.0;
    double high = 1.0;
    for (int i = 0; i < 60; i++) {
        const double t = 0.5 * (low + high);
        const double place = old[0] + old[1] * span * t + (last - old[0] - old[1] * span) * t * t;
        *(place > 0.0 ? &low : &high) = t;
    }
    const double impact = fabs(old[1] + low * change) * valve->travel;
    const double now = old[NON_RETURN_STATE_FLOW];
    const double going = now + low * span * old[NON_RETURN_STATE_RATE];
    const double between = now + low * span / step * (flow - now);
    const double reverse = fmin(0.0, flow < 0.0 ? fmin(going, between) : going);
    const double shuts = old[NON_RETURN_STATE_SHUTS];
    const double worst = old[NON_RETURN_STATE_REVERSE_FLOW];
    const bool is_worst = shuts <= 0.0 || reverse < worst; /* the worst blow of all is kept */
    const double kept = is_worst ? impact : old[NON_RETURN_STATE_SEAT_SPEED];
    cr_assert_float_eq(next[NON_RETURN_STATE_SHUT_TIME], 1.0 - step + low * span, 1e-9);
    cr_assert_float_eq(next[NON_RETURN_STATE_SEAT_SPEED], kept, 1e-6 * (0.01 + kept));
    cr_assert_float_eq(next[NON_RETURN_STATE_LAST_REVERSE], reverse, 1e-9);
    cr_assert_float_eq(next[NON_RETURN_STATE_REVERSE_FLOW], is_worst ? reverse : worst, 1e-9);
    cr_assert(next[NON_RETURN_STATE_SHUTS] == shuts + 1.0);
    cr_assert(next[NON_RETURN_STATE_LIFTED] == 0.0);
    cr_assert_eq(next[NON_RETURN_STATE_BOUNCES], next[NON_RETURN_STATE_SPEED] > 0.0 ? 1.0 : 0.0);
    /* Left open by a hair where water goes forward, or where it springs off and none goes back. */
    const bool is_left = !(valve->leak_area > 0.0) &&
                         (flow > 0.0 || (flow >= 0.0 && next[NON_RETURN_STATE_SPEED] > 0.0));
    cr_assert_float_eq(next[NON_RETURN_STATE_OPENING], is_left ? 1e-9 : 0.0, 1e-11);
}

static void random_state(struct random *random, const struct non_return *valve, double old[])
{
    memset(old, 0, STATE * sizeof *old);
    const double area = circle_area(valve->bore);
    const int where = random_pick(random, 4);
    const double hair = random_spread(random, 1e-3, 0.1);
    old[NON_RETURN_STATE_OPENING] = where == 0   ? hair
                                    : where == 1 ? 1.0 - hair
                                                 : random_even(random, 0.0, 1.0);
    old[NON_RETURN_STATE_SPEED] = random_even(random, -1.0, 0.7) / 0.02;
    old[NON_RETURN_STATE_LIFTED] = 1.0;
    if (random_pick(random, 2)) { /* it has shut before */
        old[NON_RETURN_STATE_SHUTS] = 2.0;
        old[NON_RETURN_STATE_REVERSE_FLOW] = area * random_even(random, -1.0, 0.0);
        old[NON_RETURN_STATE_SEAT_SPEED] = 0.7;
    }
    old[NON_RETURN_STATE_FLOW] = area * random_even(random, -1.0, 1.0);
    old[NON_RETURN_STATE_RATE] = area * random_even(random, -100.0, 100.0);
}

/* How often each kind of end was met. */
struct met {
    int inside, stop, seat;
};

static void check_step(const struct non_return *valve, const double old[], double step, double flow,
                       struct met *met)
{
    const struct instant now = {1.0, step, 1.0, &water, NULL};
    const struct plain_end end = step_plainly(valve, old, step, flow);
    if (fabs(end.place) < 1e-15) { /* it lies on its seat without a force: neither way is wrong */
        return;
    }
    const double way = passing(valve, end.place, flow > 0.0);
    const double area = circle_area(valve->bore);
    double lost = open_loss(valve) * flow * fabs(flow) / (way * way) +
                  valve->extra_loss * flow * fabs(flow) / (2.0 * 9.81 * area * area);
    double next[STATE];
    const struct drop drop = non_return_motion.drop(valve, &now, old, flow, next);
    if (!(flow < 0.0 || flow > 0.0)) { /* what lies on its seat needs a head to let a trace pass */
        const bool is_shut = end.place <= 0.0 && !(passing(valve, 0.0, true) > 0.0);
        lost = is_shut ? unbalanced(&end.second, 0.0) / lift_of(valve) : 0.0;
        cr_assert(is_shut || drop.slope == 0.0);
    }
    cr_assert_float_eq(drop.head, lost, 1e-6 * (0.01 + fabs(lost)), "%g, not %g", drop.head, lost);
    if (end.place >= 1.0) {
        const bool is_soft =
            end.speed * valve->travel * (valve->is_swing ? valve->arm : 1.0) < 0.02;
        const double back = is_soft ? 0.0 : valve->restitution * end.speed;
        cr_assert_eq(next[NON_RETURN_STATE_OPENING], 1.0);
        cr_assert_float_eq(next[NON_RETURN_STATE_SPEED], -back, 1e-6 * (1.0 + back));
        met->stop++;
    } else if (end.place > 0.0) {
        cr_assert_float_eq(next[NON_RETURN_STATE_OPENING], end.place, 1e-9);
        cr_assert_float_eq(next[NON_RETURN_STATE_SPEED], end.speed, 1e-6 * (1.0 + fabs(end.speed)));
        met->inside++;
    } else {
        check_blow(valve, old, step, flow, &end, next);
        met->seat++;
    }
}

Test(non_return_steps, every_step_is_the_two_stages_written_plainly)
{
    struct random random;
    struct met met = {0, 0, 0};
    random_seed(&random, 1);
    for (int i = 0; i < TRIALS; i++) {
        const struct non_return valve = random_valve(&random);
        const double step = random_spread(&random, 1e-4, 5e-3);
        double old[STATE];
        random_state(&random, &valve, old);
        const double flow =
            old[NON_RETURN_STATE_FLOW] + circle_area(valve.bore) * random_even(&random, -0.5, 0.5);
        check_step(&valve, old, step, flow, &met);
    }
    cr_expect(met.inside > TRIALS / 10 && met.stop > TRIALS / 40 && met.seat > TRIALS / 50,
              "%d %d %d", met.inside, met.stop, met.seat);
}

/* Moving mass 0.6 kg, lift 20 mm, wide open at next to no flow. */
static struct non_return stiff_part(void)
{
    return (struct non_return){.type = "stiff",
                               .bore = 0.05,
                               .port_area = 1e-3,
                               .full_open_loss = 5.0,
                               .seat_area = circle_area(0.05),
                               .arm = 1.0,
                               .inertia = 0.6,
                               .travel = 0.02,
                               .opening_floor = 0.01,
                               .full_open_velocity = 1e-3};
}

/* The same of parts that are near their seat and go for it, in a step whose flow may stop, or turn.
 */
Test(non_return_steps, every_landing_is_the_two_stages_written_plainly)
{
    struct random random;
    struct met met = {0, 0, 0};
    random_seed(&random, 2);
    for (int i = 0; i < TRIALS / 2; i++) {
        struct non_return valve = random_valve(&random);
        const double step = random_spread(&random, 5e-4, 5e-3);
        const double flow = 0.15 * circle_area(valve.bore) * random_even(&random, -1.0, 1.0);
        double old[STATE];
        random_state(&random, &valve, old);
        old[NON_RETURN_STATE_OPENING] = random_spread(&random, 1e-3, 0.1);
        old[NON_RETURN_STATE_SPEED] = -fabs(old[NON_RETURN_STATE_SPEED]);
        old[NON_RETURN_STATE_FLOW] *= 0.2;
        old[NON_RETURN_STATE_RATE] *= 0.2;
        valve.restitution = random_pick(&random, 2) * 0.9;
        check_step(&valve, old, step, random_pick(&random, 3) ? flow : 0.0, &met);
    }
    cr_expect(met.seat > TRIALS / 12, "%d %d %d", met.inside, met.stop, met.seat);
}

/* Steady water with a part that cannot be lifted yet stands still: a trace of flow is round-off, of
 * a leak a flow. Nothing has happened. */
Test(non_return_steps, start_takes_a_trace_below_the_opening_head_for_none)
{
    for (int i = 0; i < 4; i++) {
        struct non_return valve = stiff_part();
        double state[STATE];
        valve.opening_head = 8.0 / lift_of(&valve);
        valve.leak_area = i % 2 * 1e-6;
        const double head = i < 2 ? 0.9 * valve.opening_head : valve.opening_head;
        non_return_motion.start(&valve, &water, 1e-9, head, state);
        const bool is_still = i == 0;
        cr_expect_eq(state[NON_RETURN_STATE_FLOW], is_still ? 0.0 : 1e-9, "%d", i);
        cr_expect_eq(state[NON_RETURN_STATE_OPENING],
                     is_still ? 0.0 : non_return_opening(&valve, &water, 1e-9));
        cr_expect_eq(state[NON_RETURN_STATE_SHUT_TIME], NON_RETURN_NOT_YET);
        cr_expect_eq(state[NON_RETURN_STATE_TURNED], NON_RETURN_NOT_YET);
        cr_expect_eq(state[NON_RETURN_STATE_LIFTED], 0.0);
    }
    const struct non_return valve = stiff_part();
    double state[STATE];
    non_return_motion.start(&valve, &water, 1e-3, 0.1, state);
    cr_expect_eq(state[NON_RETURN_STATE_LIFTED], 1.0);
}

static const struct non_return ideal_part = {.type = "ideal",
                                             .form = NON_RETURN_IDEAL,
                                             .bore = 0.05,
                                             .seat_area = 2e-3,
                                             .arm = 1.0,
                                             .opening_floor = 0.01};

/* The ideal valve is open with forward flow alone, and has shut where that ended in the step. */
Test(non_return_steps, ideal_valve_counts_the_ends_of_forward_flow)
{
    const struct instant now = {1.0, 0.1, 1.0, &water, NULL};
    for (int i = 0; i < 9; i++) {
        const double old[STATE] = {[NON_RETURN_STATE_FLOW] = 1e-3 * (i / 3 - 1),
                                   [NON_RETURN_STATE_SHUTS] = 2.0,
                                   [NON_RETURN_STATE_SHUT_TIME] = 0.4};
        double next[STATE];
        (void)non_return_motion.drop(&ideal_part, &now, old, 1e-3 * (i % 3 - 1), next);
        const bool has_shut = i / 3 == 2 && i % 3 < 2;
        cr_expect_eq(next[NON_RETURN_STATE_OPENING], i % 3 == 2 ? 1.0 : 0.0, "%d", i);
        cr_expect_eq(next[NON_RETURN_STATE_SHUTS], has_shut ? 3.0 : 2.0, "%d", i);
        cr_expect_eq(next[NON_RETURN_STATE_SHUT_TIME], has_shut ? 1.0 : 0.4, "%d", i);
    }
}

/* How fast the flow changed in a step is known from its ends; nothing is taken to go on where it
 * has stopped or turned. */
Test(non_return_steps, rate_is_that_of_the_step_unless_the_flow_turned)
{
    const struct instant now = {1.0, 0.1, 1.0, &water, NULL};
    for (int i = 0; i < 9; i++) {
        const double before = 1e-3 * (i / 3 - 1);
        const double flow = 2e-3 * (i % 3 - 1);
        const double old[STATE] = {[NON_RETURN_STATE_FLOW] = before, [NON_RETURN_STATE_RATE] = 7.0};
        double next[STATE];
        (void)non_return_motion.drop(&ideal_part, &now, old, flow, next);
        const bool goes_on = before * flow > 0.0 || !(before < 0.0 || before > 0.0);
        cr_expect_float_eq(next[NON_RETURN_STATE_RATE], goes_on ? (flow - before) / 0.1 : 0.0,
                           1e-15, "%d", i);
    }
}

/* A leaky part on its seat: pressed on it by water that goes back it meets nothing and stays; water
 * that goes forward lifts it in the very step. */
Test(non_return_steps, leaky_part_is_no_prisoner_of_its_seat)
{
    struct non_return valve = stiff_part();
    valve.leak_area = 1e-6;
    valve.restitution = 0.9;
    valve.opening_head = 1.0 / lift_of(&valve);
    const double area = circle_area(valve.bore);
    const struct instant now = {1.0, 1e-3, 1.0, &water, NULL};
    const double old[STATE] = {[NON_RETURN_STATE_FLOW] = -0.1 * area};
    double next[STATE];
    (void)non_return_motion.drop(&valve, &now, old, -0.1 * area, next);
    cr_expect(next[NON_RETURN_STATE_OPENING] == 0.0 && next[NON_RETURN_STATE_SPEED] == 0.0);
    cr_expect_eq(next[NON_RETURN_STATE_BOUNCES], 0.0);
    (void)non_return_motion.drop(&valve, &now, old, 0.1 * area, next);
    cr_expect_gt(next[NON_RETURN_STATE_OPENING], 1e-3);
}

/* Sucked shut by a steady reverse flow against a force that is level: with F the force and k that
 * of the flow at s = 1 for each (m3/s)^2, I w s'' = -F - k Q^2/s^2, so I w s'^2/2 + F s - k Q^2/s
 * stays (exact); missed by the square of the step. */
Test(non_return_steps, part_sucked_shut_keeps_its_energy)
{
    struct non_return valve = stiff_part();
    const double lift = lift_of(&valve);
    valve.opening_head = 8.0 / lift;
    const double flow = -0.6 * circle_area(0.05);
    const double suction = lift * open_loss(&valve) * flow * flow;
    double errors[4];
    for (int k = 0; k < 4; k++) {
        const double step = ldexp(1e-3, -k);
        double state[STATE] = {1.0};
        double next[STATE];
        state[NON_RETURN_STATE_FLOW] = flow;
        for (int i = 1; i * step < 0.0301; i++) {
            const struct instant now = {i * step, step, 1.0, &water, NULL};
            (void)non_return_motion.drop(&valve, &now, state, flow, next);
            memcpy(state, next, sizeof next);
        }
        const double s = state[NON_RETURN_STATE_OPENING];
        const double speed = state[NON_RETURN_STATE_SPEED];
        cr_assert(s > 0.1 && s < 0.9, "%g", s);
        const double energy = 0.5 * 0.012 * speed * speed + 8.0 * s - suction / s;
        errors[k] = fabs(energy - (8.0 - suction)) / (8.0 - suction);
    }
    for (int k = 1; k < 4; k++) {
        cr_expect_float_eq(log2(errors[k - 1] / errors[k]), 2.0, 0.3, "%g after %g", errors[k],
                           errors[k - 1]);
    }
}

/* A part that comes back rises by v^2/2a under the force that holds it shut (a fall: exact); less
 * than a ten-thousandth of its travel is not followed (ours). */
Test(non_return_steps, rebounds_lower_than_a_hair_are_swallowed)
{
    static const double rises[] = {0.95e-4, 1.05e-4}; /* shares of the travel */
    for (int i = 0; i < 2; i++) {
        struct non_return valve = stiff_part();
        valve.restitution = 0.9;
        const double fall = 800.0 / 0.6;
        valve.opening_head = 800.0 / lift_of(&valve);
        valve.full_open_velocity = non_return_velocity_of_force(&valve, &water, 2400.0);
        const double speed = sqrt(2.0 * fall * rises[i] * valve.travel) / 0.9;
        const double step = 2.0 * 0.9 * speed / fall / 50.0;
        const double before = speed - 0.5 * step * fall;
        double old[STATE] = {0.25 * step * (before + speed) / valve.travel, -before / valve.travel};
        double next[STATE];
        const struct instant now = {1.0, step, 1.0, &water, NULL};
        old[NON_RETURN_STATE_LIFTED] = 1.0;
        (void)non_return_motion.drop(&valve, &now, old, 0.0, next);
        cr_expect_eq(next[NON_RETURN_STATE_SPEED] > 0.0, i == 1, "%g",
                     next[NON_RETURN_STATE_SPEED]);
        cr_expect_eq(next[NON_RETURN_STATE_BOUNCES], (double)i);
    }
}

/* A part counts as lifted, so that its coming back is a shutting, from a ten-thousandth of its
 * travel on (ours): in a ten-millionth of a second it stays where it is. */
Test(non_return_steps, part_counts_as_lifted_from_a_hair_on)
{
    static const double places[] = {0.9e-4, 1.1e-4, 0.5, 0.999};
    const struct non_return valve = stiff_part();
    const struct instant now = {1.0, 1e-7, 1.0, &water, NULL};
    for (int i = 0; i < 4; i++) {
        const double old[STATE] = {places[i]};
        double next[STATE];
        (void)non_return_motion.drop(&valve, &now, old, 0.0, next);
        cr_expect_float_eq(next[NON_RETURN_STATE_OPENING], places[i], 1e-6);
        cr_expect_eq(next[NON_RETURN_STATE_LIFTED], i > 0 ? 1.0 : 0.0, "%g", places[i]);
    }
}

/* A large part with a long way comes back slowly, as a share of it: 0.9 of 0.05 m/s on 1 m. It has
 * sprung off, and stands off its seat. */
Test(non_return_steps, slow_rebound_of_a_long_part_counts)
{
    struct non_return valve = stiff_part();
    const double fall = 1.0;
    valve.travel = 1.0;
    valve.restitution = 0.9;
    valve.opening_head = 0.6 * fall / lift_of(&valve);
    const double speed = 0.05;
    const double step = 2.0 * 0.9 * speed / fall / 50.0;
    const double before = speed - 0.5 * step * fall;
    const double old[STATE] = {[NON_RETURN_STATE_OPENING] = 0.25 * step * (before + speed),
                               [NON_RETURN_STATE_SPEED] = -before,
                               [NON_RETURN_STATE_LIFTED] = 1.0};
    double next[STATE];
    const struct instant now = {1.0, step, 1.0, &water, NULL};
    (void)non_return_motion.drop(&valve, &now, old, 0.0, next);
    cr_expect_float_eq(next[NON_RETURN_STATE_SPEED], 0.045, 1e-4);
    cr_expect_eq(next[NON_RETURN_STATE_BOUNCES], 1.0);
    cr_expect_gt(next[NON_RETURN_STATE_OPENING], 0.0);
}
