#include "models/circle.h"
#include "models/non_return.h"
#include "tests/models/limit_kit.h"
#include "tests/models/watched_root.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

static const struct water water = {.gravity = 9.81, .density = 998.2};

/* A sprung poppet: lifts at 0.3 m, fully open at 1.5 m/s with K 5. */
static struct non_return poppet(void)
{
    const struct non_return valve = {
        .type = "poppet",
        .bore = 0.05,
        .port_area = 1e-3,
        .opening_head = 0.3,
        .full_open_loss = 5.0,
        .full_open_velocity = 1.5,
        .seat_area = 1.9634954e-3,
        .arm = 1.0,
        .inertia = 0.2,
        .travel = 0.0125,
        .closing_force = 5.77,
        .opening_floor = 0.01,
    };
    return valve;
}

static double head_at(const struct non_return *valve, double velocity)
{
    return non_return_drop(valve, &water, velocity * circle_area(valve->bore)).head;
}

/* h = h_c + K v^2/2g fitted to a pump maker's table (read; fit computed, worst row 2.9 and 1.7 %).
 */
Test(non_return, paid_on_law_gives_the_published_table_of_foot_and_spring_valves)
{
    const double v[] = {0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0, 4.5, 5.0};
    const double foot[] = {32, 33, 34, 35, 36, 37, 38, 47, 61, 78, 100, 123, 150, 190, 220};
    const double check[] = {31, 32, 32, 32, 33, 34, 35, 40, 48, 58, 71, 85, 100, 120, 140};
    struct non_return valve = poppet();
    valve.full_open_velocity = 0.0;
    valve.opening_head = 0.309;
    valve.full_open_loss = 1.487;
    cr_assert_float_eq(head_at(&valve, 2.0), 0.612, 0.001);
    for (int i = 0; i < 15; i++) {
        cr_assert_float_eq(head_at(&valve, v[i]), 0.01 * foot[i], 0.03 * 0.01 * foot[i]);
    }
    valve.opening_head = 0.304;
    valve.full_open_loss = 0.87;
    for (int i = 0; i < 15; i++) {
        cr_assert_float_eq(head_at(&valve, v[i]), 0.01 * check[i], 0.02 * 0.01 * check[i]);
    }
}

/* Crane TP-410, example 7.5 (read in a text that reprints it): K 26.309 on 77.9 mm, 300 L/min:
 * 14450 Pa. Fully open, so K alone. */
Test(non_return, fully_open_lift_valve_of_the_handbook_example)
{
    struct non_return valve = poppet();
    valve.bore = 0.0779;
    valve.opening_head = 0.1;
    valve.full_open_loss = 26.309;
    valve.full_open_velocity = 1.6194 * pow(62.7 / 77.9, 2.0) * 0.9;
    const double head = non_return_drop(&valve, &water, 0.3 / 60.0).head;
    cr_assert_float_eq(head * 998.2 * 9.81, 14450.0, 10.0);
    cr_assert_float_eq(non_return_opening(&valve, &water, 0.3 / 60.0), 1.0, 0.0);
}

/* The four kinds of law: part open, level, paid on, without opening head. */
static int laws(struct non_return out[])
{
    for (int i = 0; i < 7; i++) {
        out[i] = poppet();
    }
    out[1].full_open_velocity = 0.5; /* K v^2/2g = 0.064 m, below the opening head */
    out[2].full_open_velocity = 0.0;
    out[3].opening_head = 0.0;
    out[4].leak_area = 2e-6;
    out[5].full_open_velocity = 0.0;
    out[5].leak_area = 2e-5;
    out[6].extra_loss = 1.5;
    return 7;
}

/* At the flow 0 itself the slope is that of the law just above it: v/s tends to sqrt(2 g shut/K).
 */
Test(non_return, slope_at_no_flow_is_that_of_the_first_flow)
{
    struct non_return valves[7];
    cr_assert_eq(laws(valves), 7);
    const double d = 1e-6 * valves[0].bore * valves[0].bore;
    const struct drop none = non_return_drop(&valves[0], &water, 0.0);
    const struct drop first = non_return_drop(&valves[0], &water, d);
    cr_assert_gt(none.slope, 100.0); /* m s/m3 */
    cr_assert_float_eq((first.head - none.head) / d, none.slope, 1e-3 * none.slope);
    /* Without an opening head the loss of the part that is all but shut rules: level at rest. */
    cr_assert_eq(non_return_drop(&valves[3], &water, 0.0).slope, 0.0);
}

Test(non_return, law_is_monotone_and_its_slope_agrees_with_differences)
{
    struct non_return valves[7];
    const int count = laws(valves);
    for (int k = 0; k < count; k++) {
        double before = non_return_drop(&valves[k], &water, -1e-9).head;
        for (int i = 1; i < 3000; i++) {
            const double flow = 1e-6 * pow(1.005, i) * 1.0001;
            const double d = 1e-6 * flow;
            const struct drop at = non_return_drop(&valves[k], &water, flow);
            const double after = non_return_drop(&valves[k], &water, flow + d).head;
            const double ahead = non_return_drop(&valves[k], &water, flow - d).head;
            cr_assert(at.head >= before && at.slope >= 0.0);
            if (fabs((after - at.head) - (at.head - ahead)) <
                1e-3 * (after - ahead)) { /* no kink */
                cr_assert_float_eq((after - ahead) / (2.0 * d), at.slope,
                                   1e-4 * at.slope + 1e-15 / d);
            }
            before = at.head;
        }
    }
}

Test(non_return, law_is_continuous_up_to_the_opening_head_at_no_flow)
{
    struct non_return valves[7];
    const int count = laws(valves);
    for (int k = 0; k < count; k++) {
        const bool is_tight = !(valves[k].leak_area > 0.0);
        const struct drop none = non_return_drop(&valves[k], &water, 0.0);
        const struct drop trace = non_return_drop(&valves[k], &water, 1e-12);
        cr_assert_float_eq(none.head, is_tight ? valves[k].opening_head : 0.0, 1e-15);
        cr_assert_float_eq(trace.head, none.head, 1e-6);
        cr_assert(isfinite(none.slope));
        const struct span span = non_return_element.span(&valves[k], &water);
        cr_assert(is_tight ? span.lower == 0.0 : span.lower == -(double)INFINITY);
        cr_assert(span.upper == (double)INFINITY);
    }
}

/* rho g A_seat dH = closing force at the share open that the law gives, and K(s) of that share. */
Test(non_return, every_part_open_point_is_a_balance_of_forces)
{
    struct non_return valves[7];
    const int count = laws(valves);
    for (int k = 0; k < count; k++) {
        const struct non_return *valve = &valves[k];
        const double strainer = valve->extra_loss;
        for (double v = 0.05; v < 1.5; v += 0.05) {
            const double flow = v * circle_area(valve->bore);
            const double s = non_return_opening(valve, &water, flow);
            const double head = head_at(valve, v) - strainer * v * v / (2.0 * 9.81);
            const double loss = fmin(valve->full_open_loss / (s * s), non_return_leak_loss(valve));
            if (s > 0.02 && s < 1.0) {
                const double force = non_return_force(valve, &water, s, NULL);
                cr_assert_float_eq(force / non_return_lift(valve, &water), head, 1e-12);
                cr_assert_float_eq(loss * v * v / (2.0 * 9.81), head, 1e-9);
            }
        }
    }
}

/* What counts as fully open is within 0.95^1.5 of the full-open velocity, and costs at most
 * 1/0.95^2 of the loss fully open: the two bounds from the balance of forces, reached where the
 * part is shut by nothing at first or evenly by all of it. */
Test(non_return, fully_open_is_told_just_below_the_full_open_velocity)
{
    struct non_return valve = poppet();
    const double top = valve.full_open_loss * 1.5 * 1.5 / (2.0 * water.gravity);
    const double heads[] = {0.0, 0.3, top};
    const double velocities[] = {pow(0.95, 1.5), 0.0, 0.95};
    for (int i = 0; i < 3; i++) {
        valve.opening_head = heads[i];
        double low = 0.5;
        double high = 1.0;
        for (int k = 0; k < 60; k++) {
            const double middle = 0.5 * (low + high);
            const double flow = 1.5 * middle * circle_area(valve.bore);
            const bool is_open = non_return_opening(&valve, &water, flow) >= non_return_fully_open;
            *(is_open ? &high : &low) = middle;
        }
        cr_expect_geq(high, velocities[0] - 1e-9, "%d: %g", i, high);
        cr_expect_leq(high, velocities[2] + 1e-9, "%d: %g", i, high);
        cr_expect(i == 1 || fabs(high - velocities[i]) < 1e-9, "%d: %g", i, high);
        const double v = 1.5 * high;
        const double open = valve.full_open_loss * v * v / (2.0 * water.gravity);
        cr_expect_leq(head_at(&valve, v), open / (0.95 * 0.95) * (1.0 + 1e-9), "%d", i);
    }
}

/* Newton's method doubles its digits each time, from within sqrt 2 of the place: 1e-13 in six
 * steps, be the flow a trace or all but that which opens it fully. */
Test(non_return, place_is_found_in_a_few_steps)
{
    static const double heads[] = {0.0, 1e-3, 0.3, 0.57};
    struct non_return valve = poppet();
    for (int i = 0; i < 4; i++) {
        valve.opening_head = heads[i];
        valve.full_open_loss = i < 2 ? 0.5 : 5.0;
        for (double v = 1e-30; v < 1.5; v *= 1.7) {
            (void)non_return_opening(&valve, &water, v * circle_area(valve.bore));
        }
    }
    cr_expect_gt(root_watch.searches, 500);
    cr_expect_leq(root_watch.most, 6);
}

/* A part shut by a force that hangs on nothing: K v^2/(2 g s^2) is that head at every opening, so
 * s = v/v_open, down to the merest trace of flow (exact). */
Test(non_return, part_under_a_constant_force_opens_in_proportion)
{
    struct non_return valve = poppet();
    valve.opening_floor = 0.0;
    valve.opening_head = valve.full_open_loss * 1.5 * 1.5 / (2.0 * water.gravity);
    for (double v = 1.0; v > 1e-60; v *= 1e-3) {
        const double share = non_return_opening(&valve, &water, v * circle_area(valve.bore));
        cr_assert_float_eq(share / (v / 1.5), 1.0, 1e-9, "%g m/s: %g", v, share);
    }
}

/* Nothing is open without flow. Of a part on a spring the first trace opens s = v sqrt(K/2g shut),
 * to all its digits (the spring's own rise is a millionth of a millionth); one that pays its
 * opening head on, and has none, stands open. */
Test(non_return, first_trace_of_flow_opens_by_its_own_law)
{
    struct non_return valve = poppet();
    const double area = circle_area(valve.bore);
    cr_assert_eq(non_return_opening(&valve, &water, 0.0), 0.0);
    cr_assert_eq(non_return_opening(&valve, &water, -1e-3), 0.0);
    const double share = non_return_opening(&valve, &water, 1e-12 * area);
    cr_assert_float_eq(share / (1e-12 * sqrt(5.0 / (19.62 * 0.3))), 1.0, 1e-9);
    valve.full_open_velocity = 0.0;
    valve.opening_head = 0.05;
    cr_assert(isinf(non_return_full_open_flow(&valve, &water)));
    valve.opening_head = 0.0;
    cr_assert_eq(non_return_full_open_flow(&valve, &water), 0.0);
    for (double v = 1e-9; v < 3.0; v *= 7.0) {
        cr_assert_eq(non_return_opening(&valve, &water, v * area), 1.0);
    }
}

Test(non_return, full_open_flow_is_where_the_part_meets_its_stop)
{
    struct non_return valve = poppet();
    const double flow = non_return_full_open_flow(&valve, &water);
    cr_assert_float_eq(flow / circle_area(valve.bore), 1.5, 1e-12);
    cr_assert_float_eq(non_return_opening(&valve, &water, flow), 1.0, 1e-12);
    cr_assert(non_return_opening(&valve, &water, 0.99 * flow) < 1.0);
    valve.full_open_velocity = 0.5; /* too low to carry the opening head: 5 v^2/2g = 0.3 */
    cr_assert_float_eq(non_return_full_open_flow(&valve, &water) / circle_area(valve.bore),
                       sqrt(2.0 * 9.81 * 0.3 / 5.0), 1e-12);
    cr_assert_float_eq(head_at(&valve, 0.9), 0.3, 1e-15);
    valve.full_open_velocity = 0.0;
    cr_assert(isinf(non_return_full_open_flow(&valve, &water)));
}

/* A part whose head rises as shut/(1 - s^2) (its law: h = h_c + K v^2/2g with K v^2/2g = h s^2), in
 * a valve whose leak of 20 mm takes all of the flow: it hangs where that equals the head of the
 * leak. */
Test(non_return, part_hangs_where_the_leak_lets_it)
{
    struct non_return valve = poppet();
    valve.full_open_velocity = 0.0;
    valve.leak_area = circle_area(0.020);
    for (double v = 0.242; v < 0.247; v += 0.001) {
        const double head = head_at(&valve, v);
        const double share = non_return_opening(&valve, &water, v * circle_area(valve.bore));
        cr_assert(head > 0.3 && head < 0.3 + 5.0 * v * v / (2.0 * 9.81));
        cr_assert_float_eq(0.3 / (1.0 - share * share), head, 1e-12);
    }
}

/* Hole of 5 mm, Cd 0.62, 3 m: 336.171 L/h (computed with g 9.80665). */
Test(non_return, leak_lets_water_back_like_a_hole)
{
    const struct water standard = {.gravity = 9.80665, .density = 998.2};
    struct non_return valve = poppet();
    valve.leak_area = circle_area(0.005);
    const double flow = -336.171e-3 / 3600.0;
    cr_assert_float_eq(non_return_drop(&valve, &standard, flow).head, -3.0, 1e-4);
    cr_assert_float_eq(non_return_drop(&valve, &standard, -0.2 * flow).head, 3.0 * 0.04, 1e-5);
}

Test(non_return, ideal_form_takes_no_head_and_lets_nothing_back)
{
    struct non_return valve = poppet();
    valve.form = NON_RETURN_IDEAL;
    valve.opening_head = 0.0;
    valve.full_open_loss = 0.0;
    valve.full_open_velocity = 0.0;
    struct failure failure;
    const struct place nowhere = {0};
    cr_assert(non_return_check(&valve, nowhere, &failure), "%s", failure.message);
    cr_assert_float_eq(head_at(&valve, 3.0), 0.0, 0.0);
    cr_assert_float_eq(non_return_element.span(&valve, &water).lower, 0.0, 0.0);
    cr_assert_float_eq(non_return_opening(&valve, &water, 1e-6), 1.0, 0.0);
}

Test(non_return, numbers_out_of_range_are_refused_by_name)
{
    struct failure failure;
    const struct place nowhere = {0};
    struct non_return valve = poppet();
    cr_assert(non_return_check(&valve, nowhere, &failure), "%s", failure.message);
    valve.full_open_loss = 0.0;
    cr_assert_not(non_return_check(&valve, nowhere, &failure));
    cr_assert(strstr(failure.message, "full-open loss") != NULL);
    valve = poppet();
    valve.opening_head = (double)NAN;
    cr_assert_not(non_return_check(&valve, nowhere, &failure));
    cr_assert(strstr(failure.message, "opening head") != NULL);
    valve = poppet();
    valve.restitution = 1.5;
    cr_assert_not(non_return_check(&valve, nowhere, &failure));
}

static bool accepts(const void *data)
{
    struct failure failure;
    return non_return_check(data, (struct place){0}, &failure);
}

#define NUMBER(member) offsetof(struct non_return, member)

/* Each number at and beside its limits, beyond which it is a slip of the pen (ours; areas against
 * that of the bore). Of the ideal valve some may be 0. */
Test(non_return, numbers_keep_their_limits)
{
    const double area = circle_area(0.05);
    const struct limit limits[] = {
        {NUMBER(port_area), 0, 2 * area, LIMIT_MOST_IN},
        {NUMBER(opening_head), 0, 100, LIMIT_BOTH_IN},
        {NUMBER(full_open_loss), 0, 1e6, LIMIT_MOST_IN},
        {NUMBER(full_open_velocity), 0, 50, LIMIT_BOTH_IN},
        {NUMBER(extra_loss), 0, 1e6, LIMIT_BOTH_IN},
        {NUMBER(seat_area), 0, 10 * area, LIMIT_MOST_IN},
        {NUMBER(inertia), 0, 1e6, LIMIT_MOST_IN},
        {NUMBER(travel), 0, 10, LIMIT_MOST_IN},
        {NUMBER(arm), 0, 10, LIMIT_MOST_IN},
        {NUMBER(damping), 0, 1e9, LIMIT_BOTH_IN},
        {NUMBER(closing_force), 0, 1e9, LIMIT_BOTH_IN},
        {NUMBER(opening_floor), 0, 0.5, LIMIT_MOST_IN},
        {NUMBER(seating_head), 0, 100, LIMIT_BOTH_IN},
        {NUMBER(holding_head), 0, 1000, LIMIT_BOTH_IN},
        {NUMBER(leak_area), 0, area, LIMIT_BOTH_IN},
        {NUMBER(restitution), 0, 1, LIMIT_BOTH_IN},
    };
    const struct limit own[] = {
        {NUMBER(own.preload), 0, 1e9, LIMIT_BOTH_IN},
        {NUMBER(own.rate), 0, 1e9, LIMIT_BOTH_IN},
        {NUMBER(own.weight), 0, 1e9, LIMIT_BOTH_IN},
        {NUMBER(own.seat_angle), 0, circle_pi, LIMIT_BOTH_IN},
        {NUMBER(own.rotation), 0, 10, LIMIT_BOTH_IN},
        {NUMBER(own.stick_velocity), 0, 50, LIMIT_BOTH_IN},
        {NUMBER(own.shut_delay), 0, 1e4, LIMIT_BOTH_IN},
    };
    struct non_return valve = poppet();
    limits_hold(accepts, &valve, sizeof valve, limits, sizeof limits / sizeof limits[0]);
    limits_hold(accepts, &valve, sizeof valve, own, sizeof own / sizeof own[0]);
    valve.bore = 10;
    cr_expect(accepts(&valve));
    valve.bore = 10.01;
    cr_expect_not(accepts(&valve));
    valve = poppet();
    valve.form = NON_RETURN_IDEAL;
    valve.full_open_loss = valve.inertia = valve.travel = 0;
    cr_expect(accepts(&valve));
    valve.opening_floor = 0;
    cr_expect_not(accepts(&valve));
}

/* The force that stands fully open at a velocity: F = rho g A arm K v^2/2g (definition); and the
 * force's slope by opening is its own, of every law. */
Test(non_return, force_and_its_slope_are_those_of_the_law)
{
    struct non_return valves[7];
    const int count = laws(valves);
    const struct non_return valve = poppet();
    const double v = non_return_velocity_of_force(&valve, &water, 12.0);
    cr_expect_float_eq(998.2 * 1.9634954e-3 * 5.0 * v * v / 2.0, 12.0, 1e-10);
    for (int k = 0; k < count; k++) {
        for (double s = -0.19; s < 0.98; s += 0.04) {
            double slope = -1;
            double ignored = 0;
            (void)non_return_force(&valves[k], &water, s, &slope);
            const double rise = non_return_force(&valves[k], &water, s + 1e-7, &ignored) -
                                non_return_force(&valves[k], &water, s - 1e-7, NULL);
            cr_expect_float_eq(slope, rise / 2e-7, 1e-4 * fabs(slope) + 1e-6, "%d at %g", k, s);
        }
        if (valves[k].full_open_velocity <= 0.0 && valves[k].opening_head > 0.0) {
            /* Paid on: shut/(1 - s^2), level beyond a billionth of being fully open. */
            double slope = -1;
            const double lift = non_return_lift(&valves[k], &water);
            const double most = non_return_force(&valves[k], &water, 1.0, &slope);
            cr_expect_float_eq(most / (lift * valves[k].opening_head * 1e9), 1, 1e-6);
            cr_expect_eq(slope, 0);
        }
    }
}

/* A strainer and reducers cost head, and change nothing of how far the part opens; just below the
 * flow that opens it fully it is not quite open. */
Test(non_return, opening_does_not_hang_on_the_strainer)
{
    struct non_return valves[7];
    const int count = laws(valves);
    for (int k = 0; k < count; k++) {
        struct non_return strained = valves[k];
        const double area = circle_area(strained.bore);
        strained.extra_loss = valves[k].extra_loss + 3.0;
        for (double v = 0.03; v < 3.0; v *= 1.3) {
            const double share = non_return_opening(&valves[k], &water, v * area);
            cr_expect_float_eq(non_return_opening(&strained, &water, v * area), share, 1e-6);
            const double more = head_at(&strained, v) - head_at(&valves[k], v);
            cr_expect_float_eq(more, 3.0 * v * v / 19.62, 1e-12);
        }
        const double full = non_return_full_open_flow(&valves[k], &water);
        if (isfinite(full) && full > 0.0 && valves[k].form != NON_RETURN_IDEAL &&
            !(valves[k].leak_area > 0.0)) {
            cr_expect_lt(non_return_opening(&valves[k], &water, 0.999 * full), 1.0, "%d", k);
            cr_expect_eq(non_return_opening(&valves[k], &water, 1.001 * full), 1.0, "%d", k);
        }
    }
}

/* A leak of 20 mm takes the flow while the part hangs on its spring: its place is where the spring
 * holds the leak's head, (h - shut)/rise with shut 0.3 m and rise K v^2/2g - 0.3 at 1.5 m/s. */
Test(non_return, sprung_part_hangs_where_the_leak_lets_it)
{
    struct non_return valve = poppet();
    const double rise = 5.0 * 1.5 * 1.5 / 19.62 - 0.3;
    int seen = 0;
    valve.leak_area = circle_area(0.022);
    for (double v = 0.2; v < 1.0; v += 0.01) {
        const double head = head_at(&valve, v);
        const double leak = non_return_leak_loss(&valve) * v * v / 19.62;
        const double share = non_return_opening(&valve, &water, v * circle_area(0.05));
        if (head > 0.3 && fabs(head - leak) < 1e-12) {
            cr_expect_float_eq(share, (head - 0.3) / rise, 1e-12, "%g", v);
            seen++;
        }
    }
    cr_expect_gt(seen, 0);
}

/* Backward through a leak at rest: the head goes with the flow's square, so the slope is twice head
 * by flow (exact). */
Test(non_return, leak_has_its_slope_backward_too)
{
    const struct non_return valve = {
        .type = "leaky", .bore = 0.05, .full_open_loss = 5.0, .leak_area = 1e-6, .extra_loss = 2.0};
    for (int i = 1; i < 9; i++) {
        const double flow = -1e-6 * i;
        const struct drop drop = non_return_drop(&valve, &water, flow);
        cr_expect(drop.head < 0.0 && drop.slope > 0.0);
        cr_expect_float_eq(drop.slope * flow / drop.head, 2.0, 1e-12);
        struct non_return wide = valve;
        wide.leak_area = 1e-3;
        const double v = flow / circle_area(0.05);
        const double loss = non_return_leak_loss(&wide) + 2.0;
        cr_expect_float_eq(non_return_drop(&wide, &water, flow).head / (v * v), -loss / 19.62,
                           1e-12);
    }
}
