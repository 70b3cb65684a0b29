/* Tees, regulators and rising pump curves in a group of a surge run: the laws of the steady solver
 * at every step. Waves at a tee in closed form (Joukowsky and the characteristic of each pipe:
 * Wylie & Streeter, Fluid Transients in Systems, 1993, ch. 3), a reference run by elimination on
 * the whole system, and the steady solver's answer where a run comes to rest. */
#include "models/circle.h"
#include "models/pump_curve.h"
#include "models/regulator.h"
#include "models/tee.h"
#include "solver/steady/safeguard.h"
#include "tests/solver/surge_rig_start.h"

static const double gravity = 9.81;
static const double area = 0.002;
static const double wave = 400.0;

/* --- parts --- */

struct junction {
    struct tee tee;
    struct tee_leg legs[TEE_LEGS];
};

/* A square tee, all legs from these points to a middle; returns the middle. */
static int add_tee(struct rig *rig, struct junction *junction, const int points[TEE_LEGS],
                   const double flow[TEE_LEGS], double branch_area)
{
    const struct place nowhere = {0};
    junction->tee =
        (struct tee){.run_area = area, .branch_area = branch_area, .angle = 0.5 * circle_pi};
    const int middle = rig_add_point(rig, rig->head[points[0]]);
    for (int i = 0; i < TEE_LEGS; i++) {
        junction->legs[i] = (struct tee_leg){.tee = &junction->tee, .leg = i};
        junction->tee.link[i] =
            rig_add_link(rig, points[i], middle, area, &tee_element, &junction->legs[i], flow[i]);
    }
    cr_assert(tee_init(&junction->tee, nowhere, &rig->failure));
    return middle;
}

struct lifter {
    struct pump pump;
    struct pump_curve curve;
    struct pump_unit unit;
};

/* A pump whose head rises from 20 m at rest to 22 m at 2 L/s and then falls. */
static void make_lifter(struct rig *rig, struct lifter *lifter)
{
    lifter->pump = (struct pump){.name = "lift",
                                 .speed = 2900.0 / 60.0,
                                 .count = 6,
                                 .flow = {0.0, 1e-3, 2e-3, 3e-3, 4e-3, 5e-3},
                                 .head = {20.0, 21.5, 22.0, 20.0, 15.0, 8.0},
                                 .inertia = 0.01};
    cr_assert(pump_curve_split(&lifter->pump, &lifter->curve, &rig->failure));
    cr_assert(pump_init(&lifter->pump, &rig->site.water, &rig->failure));
    lifter->unit = (struct pump_unit){.pump = &lifter->pump, .speed = 1.0, .is_running = true};
}

/* DN50, K 6 fully open. */
static struct regulator make_regulator(double most_behind, double stroke)
{
    return (struct regulator){.area = area,
                              .open_loss = 6.0,
                              .most_behind = most_behind,
                              .least_before = -(double)INFINITY,
                              .stroke = stroke};
}

static void roughen(struct rig *rig, int link)
{
    rig->pipes[link].friction.roughness = 1e-4;
    rig->links[link].element = &pipe_element;
}

/* --- a whole site --- */

struct site_parts {
    struct rig rig;
    struct junction junction;
    struct lifter lifter;
    struct regulator regulator;
    struct rig_valve tap;
    int tap_link;
    int pump_link;
};

/* Sump - pump - pipe - tee: the run goes on to a tank, the branch over a regulator and a pipe to a
 * tap. */
static void lay_site(struct site_parts *site, double stroke, double duration)
{
    struct rig *rig = &site->rig;
    static const double still[TEE_LEGS] = {0};
    rig_open(rig, duration);
    make_lifter(rig, &site->lifter);
    site->regulator = make_regulator(8.0, stroke);
    site->tap = (struct rig_valve){.capacity = 4e-4};
    const int sump = rig_add_tank(rig, 0.0);
    const int out = rig_add_point(rig, 0.0);
    const int legs[TEE_LEGS] = {rig_add_point(rig, 0.0), rig_add_point(rig, 0.0),
                                rig_add_point(rig, 0.0)};
    const int behind = rig_add_point(rig, 0.0);
    const int end = rig_add_point(rig, 0.0);
    const int tank = rig_add_tank(rig, 12.0);
    const int drain = rig_add_tank(rig, 0.0);
    site->pump_link =
        rig_add_link(rig, sump, out, area, &rising_pump_element, &site->lifter.unit, 0.0);
    roughen(rig, rig_add_pipe(rig, out, legs[TEE_RUN_1], 40.0, area, wave, 0.0));
    roughen(rig, rig_add_pipe(rig, legs[TEE_RUN_2], tank, 60.0, area, wave, 0.0));
    rig_add_link(rig, legs[TEE_BRANCH], behind, area, &regulator_element, &site->regulator, 0.0);
    roughen(rig, rig_add_pipe(rig, behind, end, 30.0, area, wave, 0.0));
    site->tap_link = rig_add_link(rig, end, drain, area, &rig_valve_element, &site->tap, 0.0);
    (void)add_tee(rig, &site->junction, legs, still, area);
    rig->site.surge.reaches = 4;
    rig_solve_start(rig);
}

Test(surge_coupled, site_holds_still_before_anything_happens)
{
    static const double strokes[] = {0.0, 5.0, INFINITY};
    for (int i = 0; i < 3; i++) {
        struct site_parts site;
        lay_site(&site, strokes[i], 5.0);
        rig_run(&site.rig);
        cr_expect_gt(site.rig.start.flow[site.tap_link], 1e-4);
        cr_expect_lt(site.rig.result.drift, 1e-11, "%g m", site.rig.result.drift);
        cr_expect_lt(site.rig.result.law_residual, 1e-11, "%g m", site.rig.result.law_residual);
        rig_close(&site.rig);
    }
}

/* The tap is shut to a fifth: after a minute all heads are those that the steady solver finds for
 * that tap. So with a regulator that takes its time. */
Test(surge_coupled, run_comes_to_rest_at_the_new_steady_answer)
{
    static const double strokes[] = {0.0, 5.0};
    for (int i = 0; i < 2; i++) {
        struct site_parts site;
        double head[RIG_POINTS];
        lay_site(&site, strokes[i], 60.0);
        struct rig *rig = &site.rig;
        rig_add_event(rig, SURGE_EVENT_SET, 0.5, site.tap_link, 0.2, 1.0);
        for (int p = 0; p < 4; p++) {
            rig_add_gauge(rig, p + 2, false);
        }
        rig_run(rig);
        cr_expect_lt(rig->result.law_residual, 1e-10, "%g m", rig->result.law_residual);
        cr_expect_lt(fabs(rig->result.mass_residual), 1e-12);
        cr_expect_lt(fabs(rig->result.energy.residual), 1e-8 * rig->result.energy.from_pumps);
        site.tap.capacity *= 0.2;
        rig_solve_start(rig);
        memcpy(head, rig->start.head, sizeof head[0] * (size_t)rig->network.point_count);
        for (int p = 0; p < 4; p++) {
            const double found = rig_head(rig, rig->result.time_count - 1, p);
            cr_expect_float_eq(found, head[p + 2], 1e-4, "point %d: %.9g, steady %.9g", p + 2,
                               found, head[p + 2]);
        }
        rig_close(rig);
    }
}

/* The power fails: the pump runs down along the maker's curve, flow turns back through tee and
 * pump, the regulator lets none back. */
Test(surge_coupled, power_failure_turns_the_flow_in_the_tee_and_every_law_holds)
{
    struct site_parts site;
    lay_site(&site, 5.0, 20.0);
    struct rig *rig = &site.rig;
    rig_add_event(rig, SURGE_EVENT_STOP, 0.1, site.pump_link, 0.0, 0.0);
    for (int i = 0; i < 3; i++) {
        rig_add_gauge(rig, site.junction.tee.link[i], true);
    }
    rig_run(rig);
    const int last = rig->result.time_count - 1;
    cr_expect_gt(rig_flow(rig, 0, TEE_RUN_1), 1e-3);
    cr_expect_lt(rig_flow(rig, last, TEE_RUN_1), -1e-3);
    cr_expect_leq(rig_flow(rig, last, TEE_BRANCH), 1e-12); /* legs count into the tee */
    cr_expect_lt(rig->result.law_residual, 1e-10, "%g m", rig->result.law_residual);
    cr_expect_lt(fabs(rig->result.mass_residual), 1e-12);
    rig_close(rig);
}

/* --- waves at a tee, closed form --- */

/* Flow Q0 turns from leg 1 into the branch, leg 2 is a dead end; the flow at the far end of leg 1's
 * pipe changes at once to Q0 + q. With B = a/(gA) of both pipes the wave reaches the tee as
 * H1 = H01 + 2 B q - B (Q - Q0), the branch's pipe gives H3 = H03 + B (Q - Q0), and the tee takes
 * k Q^2 with k = (2 - 2 cos 67.5 deg)/(2 g A^2) (models/tee.h, all of it round the corner):
 * k Q^2 + 2 B Q = k Q0^2 + 2 B (Q0 + q). */
Test(surge_coupled, wave_that_turns_the_corner_of_a_tee_is_the_root_of_a_quadratic)
{
    static const double before = 1e-3;
    static const double more = 3e-3;
    struct rig rig;
    struct junction junction;
    struct rig_valve dose = {.capacity = before};
    const double impedance = wave / (gravity * area);
    const double loss = (2.0 - 2.0 * cos(67.5 * circle_pi / 180.0)) / (2.0 * gravity * area * area);
    rig_open(&rig, 0.19);
    const int high = rig_add_tank(&rig, 200.0);
    const int start = rig_add_point(&rig, 100.0);
    const int legs[TEE_LEGS] = {rig_add_point(&rig, 100.0), rig_add_point(&rig, 0.0),
                                rig_add_point(&rig, 100.0 - loss * before * before)};
    const int tank = rig_add_tank(&rig, rig.head[legs[TEE_BRANCH]]);
    static const double flow[TEE_LEGS] = {before, 0.0, -before};
    const int link = rig_add_link(&rig, high, start, area, &rig_dose_element, &dose, before);
    rig_add_pipe(&rig, start, legs[TEE_RUN_1], 40.0, area, wave, before);
    rig_add_pipe(&rig, legs[TEE_BRANCH], tank, 40.0, area, wave, before);
    const int middle = add_tee(&rig, &junction, legs, flow, area);
    double head[TEE_LEGS];
    double by_flow[TEE_LEGS][TEE_LEGS];
    tee_heads(&junction.tee, &rig.site.water, flow, head, by_flow);
    rig.head[middle] = 100.0 - head[TEE_RUN_1];
    rig.head[legs[TEE_RUN_2]] = rig.head[middle] + head[TEE_RUN_2];
    rig_add_event(&rig, SURGE_EVENT_SET, 0.01, link, 1.0 + more / before, 0.0);
    rig_add_gauge(&rig, junction.tee.link[TEE_RUN_1], true);
    rig_add_gauge(&rig, legs[TEE_BRANCH], false);
    rig.site.surge.reaches = 20;
    rig_run(&rig);
    const int last = rig.result.time_count - 1;
    const double right = loss * before * before + 2.0 * impedance * (before + more);
    const double exact = (sqrt(impedance * impedance + loss * right) - impedance) / loss;
    cr_expect_lt(rig.result.drift, 1e-11);
    cr_expect_float_eq(rig_flow(&rig, last, 0), exact, 1e-12 * exact, "%.15g %.15g",
                       rig_flow(&rig, last, 0), exact);
    cr_expect_float_eq(rig_head(&rig, last, 1),
                       rig.head[legs[TEE_BRANCH]] + impedance * (exact - before), 1e-9);
    rig_close(&rig);
}

/* --- a reference run --- */

/* Tank - pipe - pump - tee; the run goes on by a pipe to a tap, the branch over a regulator and a
 * pipe to a second tank. Each pipe is one reach without friction, so a step needs of the step
 * before only heads and flows at the pipes' ends. */
enum { BEFORE_PUMP, RUN_IN, RUN_OUT, BRANCH, BEHIND, MIDDLE, HEADS };
enum { PUMP = HEADS, LEG_1, LEG_2, LEG_3, REGULATOR, UNKNOWNS };

struct reference {
    const struct lifter *lifter;
    const struct tee *tee;
    const struct regulator *regulator;
    const struct water *water;
    double impedance;
    double source; /* m, heads of the tanks */
    double sink;
    double from_source; /* m, waves that arrive at the group */
    double from_tap;
    double from_sink;
    double x[UNKNOWNS];
    double source_flow; /* at the pipes' far ends, along the pipes */
    double tap_flow;
    double tap_head;
    double sink_flow;
};

/* All equations of a step in heads and flows, as they stand in the books. */
static void equations(const struct reference *at, const double x[], double value[])
{
    const double b = at->impedance;
    const double flow[TEE_LEGS] = {x[LEG_1], x[LEG_2], x[LEG_3]};
    double head[TEE_LEGS];
    double by_flow[TEE_LEGS][TEE_LEGS];
    tee_heads(at->tee, at->water, flow, head, by_flow);
    const double velocity = x[REGULATOR] / at->regulator->area;
    const double open = at->regulator->open_loss * velocity * fabs(velocity) / (2.0 * gravity);
    const double claim =
        fmax(open - (x[BRANCH] - x[BEHIND]), x[BEHIND] - at->regulator->most_behind);
    value[0] = (at->from_source - x[BEFORE_PUMP]) / b - x[PUMP];
    value[1] = x[PUMP] - x[LEG_1];
    value[2] = x[LEG_1] + x[LEG_2] + x[LEG_3];
    value[3] = (at->from_tap - x[RUN_OUT]) / b - x[LEG_2];
    value[4] = x[LEG_3] + x[REGULATOR];
    value[5] = (at->from_sink - x[BEHIND]) / b + x[REGULATOR];
    value[6] = x[BEFORE_PUMP] - x[RUN_IN] + pump_curve_head(&at->lifter->pump, x[PUMP], 1.0).head;
    value[7] = x[RUN_IN] - x[MIDDLE] - head[TEE_RUN_1];
    value[8] = x[RUN_OUT] - x[MIDDLE] - head[TEE_RUN_2];
    value[9] = x[BRANCH] - x[MIDDLE] - head[TEE_BRANCH];
    value[10] = fmin(velocity, claim);
}

/* a x = b by Gauss and Jordan with the largest pivot of the column. */
static void eliminate(double a[UNKNOWNS][UNKNOWNS + 1])
{
    for (int j = 0; j < UNKNOWNS; j++) {
        int pivot = j;
        for (int i = j; i < UNKNOWNS; i++) {
            pivot = fabs(a[i][j]) > fabs(a[pivot][j]) ? i : pivot;
        }
        for (int k = 0; k <= UNKNOWNS; k++) {
            const double kept = a[j][k];
            a[j][k] = a[pivot][k];
            a[pivot][k] = kept;
        }
        for (int i = 0; i < UNKNOWNS; i++) {
            const double share = i == j ? 0.0 : a[i][j] / a[j][j];
            for (int k = j; k <= UNKNOWNS; k++) {
                a[i][k] -= share * a[j][k];
            }
        }
    }
}

/* The largest error, m. */
static double reference_error(const struct reference *at, const double x[])
{
    double value[UNKNOWNS];
    double most = 0.0;
    equations(at, x, value);
    for (int i = 0; i < UNKNOWNS; i++) {
        most = fmax(most, fabs(value[i]) * (i < HEADS ? at->impedance : 1.0));
    }
    return most;
}

/* Goes the share of a step, of 1, 1/2, 1/4 ..., that leaves the least error. */
static void go_reference(struct reference *at, const double step[])
{
    double best[UNKNOWNS];
    double least = INFINITY;
    for (double share = 1.0; share > 1e-3; share *= 0.5) {
        double x[UNKNOWNS];
        for (int j = 0; j < UNKNOWNS; j++) {
            x[j] = at->x[j] + share * step[j];
        }
        const double error = reference_error(at, x);
        if (error < least) {
            least = error;
            memcpy(best, x, sizeof best);
        }
    }
    memcpy(at->x, best, sizeof best);
}

/* Newton; every derivative by a difference quotient. */
static void solve_reference(struct reference *at)
{
    for (int round = 0; round < 40; round++) {
        double a[UNKNOWNS][UNKNOWNS + 1];
        double here[UNKNOWNS];
        double there[UNKNOWNS];
        equations(at, at->x, here);
        for (int j = 0; j < UNKNOWNS; j++) {
            const double kept = at->x[j];
            const double move = j < HEADS ? 1e-6 : 1e-10;
            at->x[j] = kept + move;
            equations(at, at->x, there);
            at->x[j] = kept;
            for (int i = 0; i < UNKNOWNS; i++) {
                a[i][j] = (there[i] - here[i]) / move;
                a[i][UNKNOWNS] = -here[i];
            }
        }
        eliminate(a);
        for (int j = 0; j < UNKNOWNS; j++) {
            there[j] = a[j][UNKNOWNS] / a[j][j];
        }
        go_reference(at, there);
    }
    cr_assert_lt(reference_error(at, at->x), 1e-9);
}

/* A step: what left the far ends arrives at the group, what left the group at the far ends. The tap
 * takes H = (q/c)^2, so c^2 H + c^2 B q = c^2 C. */
static void step_reference(struct reference *at, double capacity)
{
    const double b = at->impedance;
    const double to_source = at->x[BEFORE_PUMP] - b * at->x[PUMP];
    const double to_tap = at->x[RUN_OUT] - b * at->x[LEG_2];
    const double to_sink = at->x[BEHIND] + b * at->x[REGULATOR];
    const double half = 0.5 * b * capacity * capacity;
    at->from_source = at->source + b * at->source_flow;
    at->from_tap = at->tap_head - b * at->tap_flow;
    at->from_sink = at->sink - b * at->sink_flow;
    at->source_flow = (at->source - to_source) / b;
    at->sink_flow = (to_sink - at->sink) / b;
    at->tap_flow = sqrt(half * half + capacity * capacity * to_tap) - half;
    at->tap_head = to_tap - b * at->tap_flow;
    solve_reference(at);
}

static void start_reference(struct reference *at, const struct rig *rig, const int point[HEADS],
                            const int link[UNKNOWNS])
{
    for (int i = 0; i < UNKNOWNS; i++) {
        at->x[i] = i < HEADS ? rig->start.head[point[i]] : rig->start.flow[link[i]];
    }
    at->source_flow = at->x[PUMP];
    at->tap_flow = -at->x[LEG_2];
    at->sink_flow = at->x[REGULATOR];
    at->tap_head = at->x[RUN_OUT];
}

/* The tap is nearly shut at once and opened again later. Round-off of difference quotients is the
 * tolerance. */
Test(surge_coupled, run_is_that_of_elimination_on_the_whole_system)
{
    struct rig rig;
    struct junction junction;
    struct lifter lifter;
    struct regulator regulator = make_regulator(30.0, 0.0);
    struct rig_valve tap = {.capacity = 3e-4};
    static const double still[TEE_LEGS] = {0};
    rig_open(&rig, 8.0);
    make_lifter(&rig, &lifter);
    const int source = rig_add_tank(&rig, 20.0);
    const int sink = rig_add_tank(&rig, 29.0);
    const int drain = rig_add_tank(&rig, 0.0);
    int point[HEADS];
    for (int i = BEFORE_PUMP; i < MIDDLE; i++) {
        point[i] = rig_add_point(&rig, 0.0);
    }
    const int end = rig_add_point(&rig, 0.0);
    int link[UNKNOWNS];
    point[MIDDLE] = add_tee(&rig, &junction, &point[RUN_IN], still, area);
    memcpy(&link[LEG_1], junction.tee.link, sizeof junction.tee.link);
    link[PUMP] = rig_add_link(&rig, point[BEFORE_PUMP], point[RUN_IN], area, &rising_pump_element,
                              &lifter.unit, 0.0);
    link[REGULATOR] =
        rig_add_link(&rig, point[BRANCH], point[BEHIND], area, &regulator_element, &regulator, 0.0);
    rig_add_pipe(&rig, source, point[BEFORE_PUMP], 40.0, area, wave, 0.0);
    rig_add_pipe(&rig, point[RUN_OUT], end, 40.0, area, wave, 0.0);
    rig_add_pipe(&rig, point[BEHIND], sink, 40.0, area, wave, 0.0);
    const int mouth = rig_add_link(&rig, end, drain, area, &rig_valve_element, &tap, 0.0);
    rig.site.surge.reaches = 1;
    rig_add_event(&rig, SURGE_EVENT_SET, 1.05, mouth, 0.1, 0.0);
    rig_add_event(&rig, SURGE_EVENT_SET, 4.05, mouth, 1.0, 0.0);
    rig_add_gauge(&rig, point[RUN_IN], false);
    rig_add_gauge(&rig, point[BEHIND], false);
    rig_add_gauge(&rig, link[LEG_1], true);
    rig_add_gauge(&rig, link[LEG_3], true);
    rig_solve_start(&rig);
    rig_run(&rig);
    cr_assert_eq(rig.result.stub_count, 0);
    cr_assert_float_eq(rig.result.step, 0.1, 1e-12);
    struct reference reference = {.lifter = &lifter,
                                  .tee = &junction.tee,
                                  .regulator = &regulator,
                                  .water = &rig.site.water,
                                  .impedance = wave / (gravity * area),
                                  .source = 20.0,
                                  .sink = 29.0};
    start_reference(&reference, &rig, point, link);
    for (int i = 1; i < rig.result.time_count; i++) {
        const double time = rig.result.time[i];
        step_reference(&reference, tap.capacity * (time > 1.05 && time < 4.05 ? 0.1 : 1.0));
        cr_expect_float_eq(rig_head(&rig, i, 0), reference.x[RUN_IN], 1e-8, "%g s: %.12g, %.12g",
                           time, rig_head(&rig, i, 0), reference.x[RUN_IN]);
        cr_expect_float_eq(rig_head(&rig, i, 1), reference.x[BEHIND], 1e-8, "%g s: %.12g, %.12g",
                           time, rig_head(&rig, i, 1), reference.x[BEHIND]);
        cr_expect_float_eq(rig_flow(&rig, i, 2), reference.x[LEG_1], 1e-12);
        cr_expect_float_eq(rig_flow(&rig, i, 3), reference.x[LEG_3], 1e-12);
    }
    rig_close(&rig);
}

/* --- what guards the way --- */

/* Switched evolution relaxation (Mulder & van Leer 1985): the time step grows as the residual
 * falls, so damping times what the residual became; here no more than tenfold at once. */
Test(surge_coupled, damping_follows_the_residual)
{
    cr_expect_float_eq(safeguard_next_damping(0.5, 4, 1), 0.125, 1e-15);
    cr_expect_float_eq(safeguard_next_damping(0.5, 1, 4), 2, 1e-15);
    cr_expect_float_eq(safeguard_next_damping(0.5, 1, 0), 0.05, 1e-15);
    cr_expect_float_eq(safeguard_next_damping(0.5, 1, INFINITY), 5, 1e-15);
    cr_expect_eq(safeguard_next_damping(safeguard_light_damping, 2, 1), safeguard_light_damping);
    cr_expect_eq(safeguard_next_damping(safeguard_most_damping, 1, 2), safeguard_most_damping);
}

/* Grippo, Lampariello & Lucidi 1986: what a step must stay below is the worst of the last M
 * residuals, less a share of 1e-4 of the step. */
Test(surge_coupled, a_step_may_go_uphill_below_the_worst_of_the_last)
{
    struct safeguard safeguard;
    safeguard_begin(&safeguard, 7);
    for (int i = 0; i < SAFEGUARD_MEMORY; i++) {
        cr_expect_eq(safeguard_bar(&safeguard), 7, "%d", i);
        safeguard_note(&safeguard, i, i == 2 ? 5 : 1);
    }
    cr_expect_eq(safeguard_bar(&safeguard), 5);
    for (int i = 0; i < 3; i++) {
        cr_expect_eq(safeguard_bar(&safeguard), 5);
        safeguard_note(&safeguard, SAFEGUARD_MEMORY + i, 2);
    }
    cr_expect_eq(safeguard_bar(&safeguard), 2);
    cr_expect(safeguard_is_good(1.9998, 2, 1));
    cr_expect_not(safeguard_is_good(1.99981, 2, 1));
    cr_expect(safeguard_is_good(1.99989, 2, 0.5));
    cr_expect_not(safeguard_is_good(2, 2, 0.5));
}
