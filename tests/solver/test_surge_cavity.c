/* Water that boils: the exact solution for one cavity at a valve (from the frictionless equations,
 * discrete vapour cavity as in Wylie & Streeter 1993, ch. 8; review Bergant, Simpson & Tijsseling,
 * J. Fluids and Structures 22(2), 2006), one node, and the balance of water. All computed. */
#include "solver/surge/boiling.h"
#include "solver/surge/cavity.h"
#include "solver/surge/kernel.h"
#include "solver/surge/memory.h"
#include "tests/solver/surge_rig.h"

static const double length = 36.0;
static const double speed = 1280.0;
static const double area = 0.01;

/* A valve at elevation `at` that stops the flow into a pipe leading to a tank 32 m above the
 * boiling head there. */
static void make_stopped_at(struct rig *rig, struct rig_valve *valve, double widths,
                            double duration, double at)
{
    rig_open(rig, duration);
    double boiling = water_vapour_head(&rig->site.water) + at;
    double flow = widths * 9.81 * 32.0 / speed * area;
    valve->capacity = flow;
    int feed = rig_add_tank(rig, boiling + 33.0);
    int point = rig_add_point(rig, boiling + 32.0);
    int tank = rig_add_tank(rig, boiling + 32.0);
    rig_add_link(rig, feed, point, area, &rig_valve_element, valve, flow);
    rig_add_pipe(rig, point, tank, length, area, speed, flow);
    rig->points[point].elevation = at; /* the pipe itself lies deep: only the valve boils */
    rig->site.surge.reaches = 70;
    rig_add_event(rig, SURGE_EVENT_SET, 0.0, 0, 0.0, 0.0);
    rig_add_gauge(rig, point, false);
}

static void make_stopped(struct rig *rig, struct rig_valve *valve, double widths, double duration)
{
    make_stopped_at(rig, valve, widths, duration, 0.0);
}

/* A point with nothing but a valve and a draw: once the valve is shut no head gives the draw its
 * water, and what is drawn comes from the cavity that opens (exact). */
Test(surge_cavity, draw_behind_a_shut_valve_is_fed_by_the_cavity)
{
    const double flow = 1e-3;
    const double duration = 0.2;
    struct rig rig;
    struct rig_valve valve = {.capacity = flow};
    rig_open(&rig, duration);
    const double boiling = water_vapour_head(&rig.site.water);
    const int feed = rig_add_tank(&rig, boiling + 33.0);
    const int point = rig_add_point(&rig, boiling + 32.0);
    const int tank = rig_add_tank(&rig, boiling + 33.0);
    rig_add_link(&rig, feed, point, area, &rig_valve_element, &valve, flow);
    rig_add_pipe(&rig, feed, tank, length, area, speed, 0.0);
    rig.points[point].elevation = 0.0; /* the pipe itself lies deep */
    rig.points[point].draw = flow;
    rig.site.surge.reaches = 10;
    rig_add_event(&rig, SURGE_EVENT_SET, 0.0, 0, 0.0, 0.0);
    rig_add_gauge(&rig, point, false);
    rig_run(&rig);
    const double time = rig.result.step * rig.result.step_count;
    cr_expect_float_eq(rig.result.largest_cavity, flow * time, 1e-12 * flow);
    cr_expect_eq(rig.result.vapour_point, point);
    cr_expect_float_eq(rig_head(&rig, rig.result.time_count - 1, 0), boiling, 1e-9);
    cr_expect_lt(fabs(rig.result.mass_residual), 1e-14);
    cr_expect_lt(rig.result.law_residual, 1e-9);
    rig_close(&rig);
}

/* V0 = 3.5 g h/a: collapse at 3.428571 periods of 2L/a, then 3.5 h above boiling to the end of the
 * fourth, then 5.5 h (more than Joukowsky's 4.5 h) until 4.428571. */
Test(surge_cavity, collapse_beats_joukowsky_by_the_head_over_boiling)
{
    struct rig rig;
    struct rig_valve valve;
    make_stopped(&rig, &valve, 3.5, 5.0 * 2.0 * length / speed);
    /* The window goes by the slowest run, not by one without a pipe. */
    struct run runs[] = {{.name = "main", .link_count = rig.network.link_count}, {.name = "none"}};
    rig.network.runs = runs;
    rig.network.run_count = 2;
    rig_run(&rig);
    double boiling = water_vapour_head(&rig.site.water);
    for (int i = 1; i < rig.result.time_count; i++) {
        double share = i <= 480 || i > 620 ? 0.0 : i <= 560 ? 3.5 : 5.5;
        cr_assert_float_eq(rig_head(&rig, i, 0) - boiling, 32.0 * share, 1e-8, "step %d: %g", i,
                           rig_head(&rig, i, 0) - boiling);
    }
    double width = 9.81 * 32.0 / speed;
    double period = 2.0 * length / speed;
    cr_expect_float_eq(rig.result.largest_cavity, 3.0 * area * width * period, 1e-12);
    cr_expect(rig.result.is_boiling);
    cr_expect_eq(rig.result.vapour_point, 1);
    cr_expect_float_eq(rig.result.vapour_time, rig.result.step, 1e-12);
    cr_expect_lt(fabs(rig.result.mass_residual), 1e-14);
    /* The blow: the cavity shuts at 3 + 1.5/3.5 periods; its highest head is not the 3.5 h then,
     * but the 5.5 h that begin with the fourth period, 1.14 L/a later (exact). */
    const struct surge_collapse *blow = &rig.result.collapse;
    cr_expect_eq(blow->count, 1);
    cr_expect_eq(blow->point, 1);
    cr_expect_float_eq(blow->window, period, 1e-12);
    cr_expect_float_eq(blow->shut_time, (3.0 + 1.5 / 3.5) * period, 1.001 * rig.result.step);
    cr_expect_float_eq(blow->time, 4.0 * period, 1.001 * rig.result.step);
    cr_expect_float_eq(blow->head - boiling, 5.5 * 32.0, 1e-8);
    cr_expect_float_eq(blow->pressure, blow->head, 1e-12);
    cr_expect(isnan(blow->band));
    rig_close(&rig);
}

/* The same pipe lying where its water boils 0.3 m sooner than at the valve: as the wave of the stop
 * runs up it, each node boils beside the one before, and the next wave fills them again. However
 * many nodes that are, two cavities shut, and on the finest grid a small one beside the second (own
 * runs; node by node it would be hundreds, more on each finer grid, and one more where nodes count
 * that round-off alone has opened, by 1e-22 m3). */
Test(surge_cavity, nodes_side_by_side_are_one_cavity)
{
    for (int i = 0; i < 3; i++) {
        struct rig rig;
        struct rig_valve valve;
        make_stopped(&rig, &valve, 1.05, 3.0 * 2.0 * length / speed);
        rig.pipes[1].vertical_from = 0.3;
        rig.pipes[1].vertical_to = 0.3;
        rig.site.surge.reaches = 35 << i;
        rig_run(&rig);
        cr_expect_eq(rig.result.collapse.count, i < 2 ? 2 : 3, "%d", rig.result.collapse.count);
        rig_close(&rig);
    }
}

/* A stop that brings the head just to boiling opens by round-off what is no cavity. Of one that
 * goes on for a period of 140 steps at 3e-9 m below, nobody could tell; at 3e-5 m it is told of. */
Test(surge_cavity, water_that_boils_by_round_off_alone_does_not_boil)
{
    static const double widths[] = {1.0, 1.0 + 1e-13, 1.0 + 1e-10, 1.0 + 1e-6, 1.0001};
    for (int i = 0; i < 5; i++) {
        struct rig rig;
        struct rig_valve valve;
        make_stopped(&rig, &valve, widths[i], 3.0 * 2.0 * length / speed);
        rig_run(&rig);
        cr_expect_eq(rig.result.is_boiling, i >= 3, "%d", i);
        cr_expect_eq(rig.result.collapse.count > 0, i >= 3, "%d: %d", i, rig.result.collapse.count);
        cr_expect_eq(rig.result.largest_cavity > 0.0, i >= 3);
        cr_expect_eq(isnan(rig.result.vapour_time), i < 3);
        rig_close(&rig);
    }
}

/* Where it all lies does not matter: higher by so much the blow has the same pressure, so much more
 * head, and begins at the same time: heads that differ by round-off are one blow. */
Test(surge_cavity, blow_is_told_by_pressure_wherever_it_is)
{
    static const double at[] = {0.0, 7.0, 0.3, 123.4, -61.7};
    for (int i = 0; i < 5; i++) {
        struct rig rig;
        struct rig_valve valve;
        make_stopped_at(&rig, &valve, 3.5, 5.0 * 2.0 * length / speed, at[i]);
        rig_run(&rig);
        const struct surge_collapse *blow = &rig.result.collapse;
        const double boiling = water_vapour_head(&rig.site.water);
        cr_expect_float_eq(blow->pressure - boiling, 5.5 * 32.0, 1e-8);
        cr_expect_float_eq(blow->head - at[i] - boiling, 5.5 * 32.0, 1e-8);
        cr_expect_float_eq(blow->time, 4.0 * 2.0 * length / speed, 1.001 * rig.result.step);
        rig_close(&rig);
    }
}

/* A pipe that lies deep but for one peak, 12 m from the valve: water boils there alone. */
Test(surge_cavity, blow_inside_a_pipe_is_told_with_its_place)
{
    static const double distance[] = {0, 11.2, 12, 12.8, 36};
    static const double elevation[] = {-80, -80, 4, -80, -80};
    struct rig rig;
    struct rig_valve valve;
    make_stopped_at(&rig, &valve, 1.6, 5.0 * 2.0 * length / speed, 4.0);
    rig.points[1].elevation = -80.0;
    rig.pipes[1].profile_count = 5;
    rig.pipes[1].profile_distance = distance;
    rig.pipes[1].profile_elevation = elevation;
    rig.site.surge.reaches = 36;
    rig_run(&rig);
    const struct surge_collapse *blow = &rig.result.collapse;
    cr_expect_geq(blow->count, 1);
    cr_expect_eq(blow->link, 1);
    cr_expect_eq(blow->point, NETWORK_NONE);
    cr_expect_float_eq(blow->distance, 12.0, 1e-9, "%g", blow->distance);
    cr_expect_float_eq(blow->pressure, blow->head - 4.0, 1e-9);
    rig_close(&rig);
}

/* One node inside a pipe with p = 5 m, m = -60 m arriving, boiling at -8.1 m, B = 20766.394 s/m2
 * and 2 cm3 of cavity; the heads and flows of a gas cavity of share 1e-7 (computed), which this one
 * meets up to the gas. */
Test(surge_cavity, one_node_grows_as_the_two_sides_part)
{
    struct arena *arena = arena_new();
    struct failure failure;
    struct kernel kernel;
    cr_assert(kernel_init(&kernel, 1, (int[]){2}, arena, &failure));
    kernel.step = 0.02;
    kernel.pipes[0].impedance = 20766.394;
    kernel.pipes[0].cavity_count = 1;
    kernel_set_vapour(&kernel, 0, (double[]){-INFINITY, -8.1, -INFINITY});
    kernel.volume[1] = 2.0e-6;
    kernel.right[kernel.slack] = 5.0;
    kernel.left[2] = -60.0;
    kernel_step(&kernel);
    cr_assert_eq(kernel.cavity_count, 1);
    cr_expect_float_eq(kernel_head(&kernel, 0, 1), -8.1, 1e-12);
    cr_expect_float_eq(kernel.volume[1], 3.9368463e-5, 1e-9);
    double upstream = (5.0 + 8.1) / 20766.394;
    double downstream = (-8.1 + 60.0) / 20766.394;
    cr_expect_float_eq(upstream, 6.308170e-4, 2e-8);
    cr_expect_float_eq(downstream, 2.4992401e-3, 2e-8);
    cr_expect_float_eq(kernel_flow(&kernel, 0, 1), 0.5 * (upstream + downstream), 1e-12);
    arena_free(arena);
}

/* Where the two values meet below boiling, at any elevation, a cavity opens, its head is that of
 * boiling, and it is as large as the two sides part in the step (definition): dt 2 (h_v - mean)/B.
 */
Test(surge_cavity, node_opens_where_its_values_meet_below_boiling)
{
    for (int i = 0; i < 2; i++) {
        const double boiling = i == 0 ? -8.1 : 120.0;
        struct arena *arena = arena_new();
        struct failure failure;
        struct kernel kernel;
        cr_assert(kernel_init(&kernel, 1, (int[]){2}, arena, &failure));
        kernel.step = 0.02;
        kernel.pipes[0].impedance = 20000.0;
        kernel_set_vapour(&kernel, 0, (double[]){-INFINITY, boiling, -INFINITY});
        kernel.right[kernel.slack] = boiling + 3.0;
        kernel.left[2] = boiling - 23.0;
        kernel_step(&kernel);
        cr_assert_eq(kernel.cavity_count, 1);
        cr_expect_float_eq(kernel_head(&kernel, 0, 1), boiling, 1e-12);
        cr_expect_float_eq(kernel.volume[1], 0.02 * 2.0 * 10.0 / 20000.0, 1e-18);
        arena_free(arena);
    }
}

static void check_whole_pipe(bool is_gas)
{
    struct rig rig;
    struct rig_valve valve;
    make_stopped(&rig, &valve, 4.2, 3.0);
    rig.pipes[1].vertical_from = -0.5; /* the pipe rises to the tank: its upper part boils */
    rig.pipes[1].vertical_to = 6.0;
    rig.pipes[1].friction.roughness = 1e-4;
    rig.links[1].element = &pipe_element;
    rig.points[0].held_head += 10.0;
    rig.head[2] = rig.points[2].held_head;
    double loss = pipe_element.drop(&rig.pipes[1], &rig.site.water, rig.flow[1]).head;
    rig.head[1] = rig.head[2] + loss;
    rig.points[0].held_head = rig.head[1] + 1.0;
    rig_add_event(&rig, SURGE_EVENT_SET, 1.5, 0, 1.0, 0.5);
    rig.site.surge.is_cavity_gas = is_gas;
    rig_run(&rig);
    cr_expect(rig.result.is_boiling);
    cr_expect_gt(rig.result.largest_cavity, 1e-6);
    cr_expect_lt(fabs(rig.result.mass_residual), 1e-13, "%g m3", rig.result.mass_residual);
    cr_expect_gt(rig.result.collapse.count, 1);
    cr_expect_gt(rig.result.collapse.time, rig.result.collapse.shut_time - 1e-12);
    rig_close(&rig);
}

Test(surge_cavity, no_water_is_lost_when_a_whole_pipe_boils)
{
    check_whole_pipe(false);
    check_whole_pipe(true);
}

/* The same node with gas of share 1e-7 at 101 325 Pa in 4 m of pipe: the whole one-node example
 * (computed). */
Test(surge_cavity, one_node_with_gas_meets_every_digit)
{
    struct arena *arena = arena_new();
    struct failure failure;
    struct kernel kernel;
    cr_assert(kernel_init(&kernel, 1, (int[]){2}, arena, &failure));
    kernel.step = 0.02;
    kernel.pipes[0].impedance = 20766.394;
    kernel_set_vapour(&kernel, 0, (double[]){-100.0, -8.1, -100.0});
    kernel_set_gas(&kernel, 0, 8.112178e-9);
    kernel.volume[1] = 2.0e-6;
    kernel.right[kernel.slack] = 5.0;
    kernel.left[2] = -60.0;
    kernel_step(&kernel);
    double head = kernel_head(&kernel, 0, 1);
    cr_expect_float_eq(head + 8.1, 2.0605778e-4, 1e-11);
    cr_expect_float_eq(head, -8.09979394, 1e-8);
    cr_expect_float_eq((5.0 - head) / 20766.394, 6.308170e-4, 1e-10);
    cr_expect_float_eq((head + 60.0) / 20766.394, 2.4992401e-3, 1e-10);
    cr_expect_float_eq(kernel.volume[1], 3.9368463e-5, 1e-12);
    double balance = 2.0e-6 + 0.02 * (2.0 * head + 55.0) / 20766.394;
    cr_expect_float_eq(kernel.volume[1] / balance, 1.0, 1e-10); /* of a rounded impedance */
    arena_free(arena);
}

/* Gas in a wall that creeps: the gas keeps its pressure times volume, and what the two sides part
 * goes to the gas, M = (1 + total) H - sum of terms being the mean of the two values (memory.h). */
Test(surge_cavity, gas_in_a_creeping_wall_meets_both_its_laws)
{
    struct arena *arena = arena_new();
    struct failure failure;
    struct kernel kernel;
    cr_assert(kernel_init(&kernel, 1, (int[]){2}, arena, &failure));
    for (int i = -3; i <= 3; i++) {
        double heads[] = {0.0, 0.7, 0.0};
        struct memory memory = {.wall = {.count = 1, .total = 0.25},
                                .stiffness = 1.0 / 1.25,
                                .heads = heads,
                                .strain = heads};
        const double arrived[] = {5.0 + 10.0 * i, -60.0 + 10.0 * i};
        kernel.step = 0.02;
        kernel.pipes[0].impedance = 20000.0;
        kernel.pipes[0].memory = &memory;
        kernel_set_vapour(&kernel, 0, (double[]){-100.0, -8.1, -100.0});
        kernel_set_gas(&kernel, 0, 8e-9);
        kernel.volume[1] = 2.0e-6;
        kernel.cavity_count = 0; /* as kernel_step leaves it */
        row_right(&kernel)[1] = arrived[0];
        row_left(&kernel)[1] = arrived[1];
        kernel.cavity_count = 0; /* as each step of the kernel begins */
        boiling_step(&kernel, &kernel.pipes[0], 1, 1, false);
        const double head = kernel.head[1];
        const double mean = 1.25 * head - 0.7;
        const double parted = 0.02 * (2.0 * mean - arrived[0] - arrived[1]) / 20000.0;
        cr_expect_float_eq(kernel.volume[1] * (head + 8.1) / 8e-9, 1.0, 1e-9);
        cr_expect_float_eq(kernel.volume[1], 2.0e-6 + parted, 1e-9 * (2.0e-6 + fabs(parted)), "%g",
                           kernel.volume[1]);
        cr_expect_float_eq(row_right(&kernel)[1], 2.0 * mean - arrived[1], 1e-9);
    }
    arena_free(arena);
}

/* The collapse at the valve as above, by gas: the pulse over 4.5 h is there, the cavity as large, a
 * little later and rounder. */
Test(surge_cavity, gas_collapses_as_vapour_does)
{
    struct rig rig;
    struct rig_valve valve;
    make_stopped(&rig, &valve, 3.5, 5.0 * 2.0 * length / speed);
    rig.site.surge.is_cavity_gas = true;
    rig_run(&rig);
    double boiling = water_vapour_head(&rig.site.water);
    double width = 9.81 * 32.0 / speed;
    double period = 2.0 * length / speed;
    cr_expect_float_eq(rig.result.largest_cavity / (3.0 * area * width * period), 1.0, 0.01, "%g",
                       rig.result.largest_cavity / (3.0 * area * width * period));
    cr_expect_float_eq((rig.result.head_max[1] - boiling) / 32.0, 5.5, 0.1, "%g",
                       (rig.result.head_max[1] - boiling) / 32.0);
    cr_expect(rig.result.is_boiling);
    cr_expect_eq(rig.result.largest_point, 1);
    cr_expect_float_eq(rig.result.largest_time, 2.0 * period, 0.05 * period);
    cr_expect_float_eq(rig.result.collapse.shut_time, (3.0 + 1.5 / 3.5) * period, 0.05 * period);
    cr_expect_float_eq((rig.result.collapse.head - boiling) / 32.0, 5.5, 0.1);
    cr_expect_lt(fabs(rig.result.mass_residual), 1e-12, "%g", rig.result.mass_residual);
    rig_close(&rig);
}

/* Gas so small leaves waves alone: a stop that boils nothing, with and without it. */
Test(surge_cavity, gas_leaves_ordinary_waves_alone)
{
    struct rig rigs[2];
    struct rig_valve valves[2];
    for (int i = 0; i < 2; i++) {
        make_stopped(&rigs[i], &valves[i], 0.5, 0.5);
        rigs[i].site.surge.is_cavity_gas = i == 1;
        rigs[i].pipes[1].vertical_from = rigs[i].pipes[1].vertical_to = 0.0;
        rig_run(&rigs[i]);
        cr_expect_not(rigs[i].result.is_boiling);
    }
    for (int i = 0; i < rigs[0].result.time_count; i++) {
        double apart = rig_head(&rigs[0], i, 0) - rig_head(&rigs[1], i, 0);
        bool is_front = (i + 4) % 140 < 8; /* a front is a little later and rounder */
        cr_assert(is_front || fabs(apart) < 0.05, "step %d: %g", i, apart);
    }
    rig_close(&rigs[0]);
    rig_close(&rigs[1]);
}

Test(surge_cavity, gas_at_rest_stays_at_rest)
{
    struct rig rig;
    struct rig_valve valve;
    make_stopped(&rig, &valve, 0.5, 2.0);
    rig.site.surge.is_cavity_gas = true;
    rig.pipes[1].vertical_from = rig.pipes[1].vertical_to = 0.0;
    rig.site.surge.event_count = 0;
    rig_run(&rig);
    cr_expect_lt(rig.result.drift, 1e-9, "%g", rig.result.drift);
    rig_close(&rig);
}

/* The laws at a point, as cavity.h tells them. Vapour loses no head; it may flow back no faster
 * than uses it up in the step, and what round-off then leaves, below 1e-15 of what was, is none. */
Test(surge_cavity, vapour_at_a_point_is_used_up_and_no_more)
{
    const struct motion *motion = cavity_element.motion;
    const struct instant now = {.step = 1.0};
    double next[CAVITY_STATE_COUNT];
    const struct instant short_step = {.step = 0.01};
    const double small[] = {2e-6};
    const struct span span = motion->span(NULL, &short_step, small);
    cr_expect_float_eq(span.lower, -2e-4, 1e-18);
    cr_expect(isinf(span.upper));
    const struct drop drop = motion->drop(NULL, &short_step, small, 1e-3, next);
    cr_expect_eq(drop.head, 0);
    cr_expect_eq(drop.slope, 0);
    cr_expect_float_eq(next[0], 2e-6 + 0.01 * 1e-3, 1e-18);
    /* Volumes beside 1.5 m3 are multiples of 2^-52 = 2.2e-16 apart. */
    static const double left[] = {0, 6 * 0x1p-52, 7 * 0x1p-52, 1.0};
    for (int i = 0; i < 4; i++) {
        const double old[] = {1.5};
        (void)motion->drop(NULL, &now, old, left[i] - 1.5, next);
        cr_expect_float_eq(next[0], i < 2 ? 0 : left[i], 1e-20);
        cr_expect_eq(cavity_is_open(&cavity_element, NULL, next), i >= 2);
    }
    const double full[] = {1.0};
    motion->start(NULL, NULL, 0, -5.0, next);
    cr_expect_eq(next[0], 0);
    cr_expect_eq(motion->span(NULL, &now, full).lower, -1);
}

/* Gas keeps volume times head over boiling; it is pressed no smaller than at 1e5 m, beyond any
 * pipe, begins no thinner than at 0.1 m, and is a cavity below that. */
Test(surge_cavity, gas_at_a_point_follows_its_isotherm)
{
    const struct gas_pocket pocket = {.gas = 8e-9};
    const struct motion *motion = gas_cavity_element.motion;
    const struct instant now = {.step = 0.01};
    static const double over[] = {2.0, 0.11, 0.09, -3.0};
    double next[CAVITY_STATE_COUNT];
    for (int i = 0; i < 4; i++) {
        motion->start(&pocket, NULL, 0, -over[i], next);
        cr_expect_float_eq(next[0] * fmax(over[i], 0.1) / 8e-9, 1, 1e-12);
    }
    static const double old[] = {4e-9};
    const struct span span = motion->span(&pocket, &now, old);
    cr_expect_float_eq(span.lower, (8e-9 / 1e5 - 4e-9) / 0.01, 1e-20);
    cr_expect(isinf(span.upper));
    static const double pressed[] = {4e-14}; /* smaller than it can be: it need not grow */
    cr_expect_eq(motion->span(&pocket, &now, pressed).lower, 0);
    for (int i = -3; i <= 8; i++) {
        const double flow = 1e-7 * i;
        const struct drop drop = motion->drop(&pocket, &now, old, flow, next);
        const double volume = 4e-9 + 0.01 * flow;
        cr_expect_float_eq(next[0] / volume, 1, 1e-12);
        cr_expect_float_eq(drop.head * volume / -8e-9, 1, 1e-12);
        const double behind = motion->drop(&pocket, &now, old, flow - 1e-12, next).head;
        const double before = motion->drop(&pocket, &now, old, flow + 1e-12, next).head;
        cr_expect_float_eq(drop.slope / ((before - behind) / 2e-12), 1, 1e-5);
    }
    const struct drop hardest = motion->drop(&pocket, &now, old, -1.0, next);
    cr_expect_float_eq(hardest.head / -1e5, 1, 1e-12);
    cr_expect_float_eq(next[0] / (8e-9 / 1e5), 1, 1e-12);
    for (int i = 0; i < 2; i++) {
        const double volume[] = {i == 0 ? 7.9e-8 : 8.1e-8}; /* 0.101 and 0.099 m over boiling */
        cr_expect_eq(cavity_is_open(&gas_cavity_element, &pocket, volume), i == 1);
    }
}
