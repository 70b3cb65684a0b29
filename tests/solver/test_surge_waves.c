/* Exact solutions of the frictionless wave equation (Wylie & Streeter, Fluid Transients in Systems,
 * 1993, ch. 2 and 3; Allievi 1903 for the chain): at Courant number 1 the method of characteristics
 * meets them to round-off. Values of the chain are computed from its equation, not measured. */
#include "solver/surge/grid.h"
#include "solver/surge/kernel.h"
#include "solver/workers.h"
#include "tests/solver/surge_rig.h"

static const double area = 0.01;
static const double speed = 1200.0;
static const double gravity = 9.81;

/* Tank 60 m - pipe 600 m in two halves - valve - air at head 0; v = 0.981 m/s: rise a v/g = 120 m,
 * 2L/a = 1 s. */
static void make_single(struct rig *rig, struct rig_valve *valve, int reaches, double duration)
{
    double flow = 0.981 * area;
    valve->capacity = flow / sqrt(60.0);
    rig_open(rig, duration);
    int tank = rig_add_tank(rig, 60.0);
    int middle = rig_add_point(rig, 60.0);
    int end = rig_add_point(rig, 60.0);
    int air = rig_add_tank(rig, 0.0);
    int first = rig_add_pipe(rig, tank, middle, 300.0, area, speed, flow);
    rig_add_pipe(rig, middle, end, 300.0, area, speed, flow);
    rig_add_link(rig, end, air, area, &rig_valve_element, valve, flow);
    rig->site.surge.reaches = reaches;
    rig_add_gauge(rig, end, false);
    rig_add_gauge(rig, middle, false);
    rig_add_gauge(rig, first, true);
}

Test(surge_waves, sudden_stop_gives_joukowskys_square_wave)
{
    struct rig rig;
    struct rig_valve valve;
    make_single(&rig, &valve, 10, 10.0);
    rig_add_event(&rig, SURGE_EVENT_SET, 0.0, 2, 0.0, 0.0);
    rig_run(&rig);
    int period = 40; /* steps in 2L/a */
    for (int i = 1; i < rig.result.time_count; i++) {
        double sign = (i - 1) / period % 2 == 0 ? 1.0 : -1.0;
        cr_assert_float_eq(rig_head(&rig, i, 0), 60.0 + sign * 120.0, 1e-9);
    }
    cr_expect_lt(fabs(rig.result.mass_residual), 1e-12);
    rig_close(&rig);
}

static bool go_on(void *user, double share)
{
    (void)share;
    ++*(int *)user;
    return true;
}

/* So many reaches that the middles of the pipes go ahead of their ends; also when somebody asks in
 * between how far the run is. */
Test(surge_waves, long_rows_of_nodes_give_the_same_square_wave)
{
    for (int is_asked = 0; is_asked < 2; is_asked++) {
        struct rig rig;
        struct rig_valve valve;
        int asked = 0;
        int reaches = 2100;
        make_single(&rig, &valve, reaches, 1.1);
        rig.options.progress = is_asked ? go_on : NULL;
        rig.options.user = &asked;
        rig_add_event(&rig, SURGE_EVENT_SET, 0.0123, 2, 0.0, 0.0);
        rig_run(&rig);
        int event = (int)floor(0.0123 / rig.result.step + 1e-9);
        int period = 4 * reaches;
        for (int i = 1; i < rig.result.time_count; i++) {
            double rise = i <= event ? 0.0 : (i - 1 - event) / period % 2 == 0 ? 120.0 : -120.0;
            cr_assert_float_eq(rig_head(&rig, i, 0), 60.0 + rise, 1e-9, "step %d", i);
        }
        cr_expect_lt(fabs(rig.result.mass_residual), 1e-11);
        cr_expect_lt(rig.result.drift, 1e-9);
        cr_expect(is_asked == 0 || asked > 100);
        rig_close(&rig);
    }
}

Test(surge_waves, middle_of_the_pipe_sees_plus_nought_minus_nought)
{
    struct rig rig;
    struct rig_valve valve;
    make_single(&rig, &valve, 10, 10.0);
    rig_add_event(&rig, SURGE_EVENT_SET, 0.0, 2, 0.0, 0.0);
    rig_run(&rig);
    const double rise[] = {1.0, 0.0, -1.0, 0.0};
    for (int i = 11; i < rig.result.time_count; i++) {
        double expected = 60.0 + 120.0 * rise[(i - 11) / 20 % 4];
        cr_assert_float_eq(rig_head(&rig, i, 1), expected, 1e-9, "step %d", i);
    }
    rig_close(&rig);
}

Test(surge_waves, square_wave_does_not_decay_in_four_hundred_half_periods)
{
    struct rig rig;
    struct rig_valve valve;
    make_single(&rig, &valve, 8, 400.0); /* 400 half periods */
    rig_add_event(&rig, SURGE_EVENT_SET, 0.0, 2, 0.0, 0.0);
    rig_run(&rig);
    int last = rig.result.time_count - 1;
    cr_expect_float_eq(fabs(rig_head(&rig, last, 0) - 60.0), 120.0, 1e-9);
    cr_expect_float_eq(rig.result.head_max[2], 180.0, 1e-9);
    cr_expect_float_eq(rig.result.head_min[2], -60.0, 1e-9);
    rig_close(&rig);
}

/* Heads H_i/H0 at t = i 2L/a of a valve to the air closing linearly in opening over theta periods,
 * by Allievi's chain equation. */
static void check_chain(double rho, double theta, const double expected[], int count, int reaches)
{
    struct rig rig;
    struct rig_valve valve;
    make_single(&rig, &valve, reaches, 6.0);
    double flow = rho * 2.0 * gravity * 60.0 / speed * area;
    valve.capacity = flow / sqrt(60.0);
    rig.flow[0] = rig.flow[1] = rig.flow[2] = flow;
    rig_add_event(&rig, SURGE_EVENT_SET, 0.0, 2, 0.0, theta);
    rig_run(&rig);
    for (int i = 1; i <= count; i++) {
        double head = rig_head(&rig, i * 4 * reaches, 0) / 60.0;
        cr_assert_float_eq(head, expected[i - 1], 1e-5, "rho %g theta %g i %d: %.6f not %.5f", rho,
                           theta, i, head, expected[i - 1]);
    }
    rig_close(&rig);
}

Test(surge_waves, allievis_chain_is_met_whatever_the_grid)
{
    static const double a[] = {1.10568, 1.03438, 1.08942, 1.04105, 0.95895, 1.04105};
    static const double b[] = {1.18393, 1.10624, 1.15139, 1.11687, 0.88313, 1.11687};
    static const double c[] = {1.29381, 1.28070, 1.28434, 1.28230, 0.71770, 1.28230};
    static const double d[] = {1.42225, 1.61435, 1.64444, 1.63792, 0.36208, 1.63792};
    static const double e[] = {1.69722, 1.60555, 0.39445, 1.60555, 0.39445, 1.60555};
    static const double f[] = {1.18251, 1.03497, 0.96503, 1.03497, 0.96503, 1.03497};
    static const double g[] = {1.18691, 1.25944, 1.27947, 1.28299, 1.28321, 1.28319};
    for (int reaches = 1; reaches <= 10; reaches += 9) {
        check_chain(0.25, 4.0, a, 6, reaches);
        check_chain(0.5, 4.0, b, 6, reaches);
        check_chain(1.0, 4.0, c, 6, reaches);
        check_chain(2.0, 4.0, d, 6, reaches);
        check_chain(1.0, 2.0, e, 6, reaches);
        check_chain(0.2, 2.0, f, 6, reaches);
        check_chain(2.0, 8.0, g, 6, reaches);
    }
}

/* Transmission s = 2 (A1/a1)/sum(A/a) of a wave that comes to a point along pipe 1. The wave is
 * made by stopping the flow at pipe 1's far end. */
static void check_junction(int count, const double areas[], const double speeds[], double expected)
{
    struct rig rig;
    struct rig_valve valve = {.capacity = 1e-3};
    double flow = 1e-3;
    double length = 100.0;
    rig_open(&rig, 3.0 * length / speeds[0]);
    int feed = rig_add_tank(&rig, 51.0);
    int start = rig_add_point(&rig, 50.0);
    int junction = rig_add_point(&rig, 50.0);
    rig_add_link(&rig, feed, start, areas[0], &rig_valve_element, &valve, flow);
    rig_add_pipe(&rig, start, junction, length, areas[0], speeds[0], flow);
    for (int i = 1; i < count; i++) {
        int tank = rig_add_tank(&rig, 50.0);
        rig_add_pipe(&rig, junction, tank, length * 4.0 * speeds[i] / speeds[0], areas[i],
                     speeds[i], i == 1 ? flow : 0.0);
    }
    rig.points[junction].draw = count == 1 ? flow : 0.0;
    rig.site.surge.reaches = 10;
    rig_add_gauge(&rig, start, false);
    rig_add_gauge(&rig, junction, false);
    rig_add_event(&rig, SURGE_EVENT_SET, 0.0, 0, 0.0, 0.0);
    rig_run(&rig);
    double wave = -speeds[0] * flow / (gravity * areas[0]);
    cr_assert_float_eq(rig_head(&rig, 1, 0) - 50.0, wave, 1e-9);
    cr_assert_float_eq((rig_head(&rig, 15, 1) - 50.0) / wave, expected, 1e-10);
    double back = wave + 2.0 * (expected - 1.0) * wave; /* reflected, doubled at the shut end */
    cr_assert_float_eq(rig_head(&rig, 25, 0) - 50.0, back, 1e-9);
    rig_close(&rig);
}

Test(surge_waves, junctions_pass_and_reflect_waves_by_area_over_speed)
{
    check_junction(2, (double[]){0.01, 0.01}, (double[]){400, 400}, 1.0);
    check_junction(3, (double[]){0.01, 0.01, 0.01}, (double[]){400, 400, 400}, 2.0 / 3.0);
    check_junction(3, (double[]){0.010, 0.005, 0.002}, (double[]){400, 300, 1200},
                   2.0 * (0.010 / 400) / (0.010 / 400 + 0.005 / 300 + 0.002 / 1200));
    check_junction(2, (double[]){0.04, 0.01}, (double[]){400, 400}, 1.6);
    check_junction(2, (double[]){0.01, 0.01}, (double[]){1200, 300}, 0.4);
    check_junction(2, (double[]){0.01, 0.01}, (double[]){300, 1200}, 1.6);
    check_junction(1, (double[]){0.01}, (double[]){400}, 2.0); /* dead end with a fixed draw */
}

/* Bounds of a run: 2^30 steps (they are counted in an int), 2e7 nodes, 1e13 node-steps with 100
 * more nodes a link. A hair below each it is taken, a hair above refused at the place of the
 * wishes, told alike. */
Test(surge_waves, runs_without_end_are_refused_at_one_place)
{
    static const struct {
        int reaches;
        double duration;
    } bounds[] = {{1, 0.25 * (1 << 30)},               /* steps of 0.25 s, 302 nodes */
                  {10000000, 1e-3},                    /* nodes, 2 x 10,000,000 */
                  {100000, 2.5e-6 * (1e13 / 200300)}}; /* node-steps */
    for (size_t i = 0; i < sizeof bounds / sizeof *bounds; i++) {
        for (int is_above = 0; is_above < 2; is_above++) {
            struct rig rig;
            struct rig_valve valve;
            struct grid grid;
            const double hair = is_above ? 1.001 : 0.999;
            const bool is_nodes = i == 1;
            make_single(&rig, &valve, 1, 1.0);
            const struct grid_wishes wishes = {
                .place = {"site.yaml", 7, 3},
                .duration = is_nodes ? bounds[i].duration : hair * bounds[i].duration,
                .reaches = (int)(is_nodes ? hair * bounds[i].reaches : bounds[i].reaches),
                .largest_step = 1e3,
                .wave_speed_change = 1.0,
                .refinement = 1};
            cr_expect_eq(
                grid_init(&grid, &rig.network, &rig.site.water, &wishes, rig.arena, &rig.failure),
                !is_above, "bound %zu, %d", i, is_above);
            if (is_above) {
                cr_expect_eq(rig.failure.place.line, 7);
                cr_expect_not_null(strstr(rig.failure.message, "ask for a longer step"), "%s",
                                   rig.failure.message);
            }
            rig_close(&rig);
        }
    }
}

#ifdef _OPENMP
/* Threads are not as many as somebody asks for, but 1024 at most, and small grids have one; seven
 * have the digits of one. */
Test(surge_waves, threads_without_end_are_bounded)
{
    struct arena *arena = arena_new();
    struct failure failure;
    struct kernel small;
    struct kernel large;
    struct rig rig[2];
    struct rig_valve valve[2];
    for (int i = 0; i < 2; i++) {
        omp_set_num_threads(i == 0 ? 1 : 7);
        make_single(&rig[i], &valve[i], 25000, 4e-5);
        rig_add_event(&rig[i], SURGE_EVENT_SET, 0.0, 2, 0.0, 0.0);
        rig_run(&rig[i]);
    }
    cr_expect_geq(rig[0].result.time_count, 4);
    for (int i = 0; i < rig[0].result.time_count; i++) {
        cr_expect_eq(rig_head(&rig[0], i, 0), rig_head(&rig[1], i, 0), "step %d", i);
    }
    omp_set_num_threads(100000);
    cr_assert(kernel_init(&small, 1, (int[]){1000}, arena, &failure));
    cr_assert(kernel_init(&large, 1, (int[]){60000}, arena, &failure));
    cr_expect_eq(small.workers, 1);
    cr_expect_eq(large.workers, WORKERS_MOST);
    rig_close(&rig[0]);
    rig_close(&rig[1]);
    arena_free(arena);
}
#endif
