/* Networks and pump systems from textbooks and papers. "(computed)" marks figures worked out for
 * this test from the printed input; "(from memory)" input not seen on a page while writing. */
#include "tests/solver/kit.h"

static struct kit kit;

enum { JUNCTION = 3 };

/* Three tanks and a junction; links lead from the tanks to it. */
static void three_tanks(double a, double b, double c)
{
    kit_init(&kit);
    kit_held(&kit, a);
    kit_held(&kit, b);
    kit_held(&kit, c);
    kit_free(&kit, 0);
}

static void three_resistances(double a, double b, double c)
{
    kit_link(&kit, 0, JUNCTION, kit_resistance(a));
    kit_link(&kit, 1, JUNCTION, kit_resistance(b));
    kit_link(&kit, 2, JUNCTION, kit_resistance(c));
    kit_solve(&kit);
}

static void check_three(double head, double a, double b, double c, double head_slack,
                        double flow_slack)
{
    cr_expect_float_eq(kit.answer.head[JUNCTION], head, head_slack);
    cr_expect_float_eq(kit.answer.flow[0], a, flow_slack);
    cr_expect_float_eq(kit.answer.flow[1], b, flow_slack);
    cr_expect_float_eq(kit.answer.flow[2], c, flow_slack);
    kit_clear(&kit);
}

/* White, Fluid Mechanics, three-reservoir example (input from memory; book 34.53 m, 52.8, 47.0, 5.8
 * m3/h; (computed) 34.541, -52.848, 47.010, 5.838 with Colebrook). Book's tolerance, and the last
 * digit of the computed. */
Test(steady_published, white_three_reservoirs)
{
    three_tanks(20, 100, 40);
    kit.water.viscosity = 1.02e-6;
    const struct friction one = {.length = 100, .bore = 0.08, .roughness = 0.24e-3};
    const struct friction two = {.length = 150, .bore = 0.06, .roughness = 0.12e-3};
    const struct friction three = {.length = 80, .bore = 0.04, .roughness = 0.20e-3};
    kit_pipe(&kit, 0, JUNCTION, one);
    kit_pipe(&kit, 1, JUNCTION, two);
    kit_pipe(&kit, 2, JUNCTION, three);
    kit_solve(&kit);
    cr_expect_float_eq(kit.answer.head[JUNCTION], 34.53, 0.1);
    const double hour = 3600;
    check_three(34.541, -52.848 / hour, 47.010 / hour, 5.838 / hour, 0.0006, 0.0006 / hour);
}

/* Douglas, Gasiorek & Swaffield, Fluid Mechanics, ex. 14.8 (book title from memory): h = f L
 * Q^2/(3 d^5), f 0.01; 34.776657 m, 0.110718311, 0.041824206, 0.068894106 m3/s (computed). */
Test(steady_published, douglas_three_reservoirs)
{
    three_tanks(60, 30, 15);
    three_resistances(0.01 * 1500 / (3 * pow(0.30, 5)), 0.01 * 800 / (3 * pow(0.25, 5)),
                      0.01 * 400 / (3 * pow(0.20, 5)));
    check_three(34.776657, 0.110718311, -0.041824206, -0.068894106, 1e-6, 1e-8);
}

/* Textbook companion no. 1962, ex. 9.12, p. 340: 131.6 m; 2.116, 0.565, 1.549 m3/s (book);
 * 131.6048, 2.11444, 0.56518, 1.54926 (computed). */
Test(steady_published, companion_example_9_12)
{
    three_tanks(135, 120, 112);
    three_resistances(0.7594, 36.33, 8.168);
    cr_expect_float_eq(kit.answer.flow[0], 2.116, 0.001 * 2.116);
    check_three(131.6048, 2.11444, -0.56518, -1.54926, 6e-5, 6e-6);
}

/* Same companion, ex. 9.13, p. 342: the reprint's 131 m does not balance; 132.3622 m, 2.18869,
 * 0.53406, 1.65462 m3/s (computed). */
Test(steady_published, companion_example_9_13_in_balance)
{
    three_tanks(136, 122, 110);
    three_resistances(0.7594, 36.33, 8.168);
    check_three(132.3622, 2.18869, -0.53406, -1.65462, 6e-5, 6e-6);
}

/* Homework reprint: 100, 20, 0 ft; 1000, 500, 400 ft of 1 ft bore, f 0.02, g 32.2: 21.2550 ft;
 * 12.5063, 2.2328, 10.2735 ft3/s (computed). */
Test(steady_published, three_reservoirs_in_feet)
{
    three_tanks(100, 20, 0);
    const double pi = 3.14159265358979323846;
    const double r = 8 * 0.02 / (pi * pi * 32.2);
    three_resistances(1000 * r, 500 * r, 400 * r);
    check_three(21.2550, 12.5063, -2.2328, -10.2735, 1e-4, 1e-4);
}

/* Streeter & Wylie layout (input from memory): 24.8822 m; 1.19805, -0.32932, -0.86874 m3/s
 * (computed, Colebrook, g 9.81). */
Test(steady_published, streeter_three_reservoirs)
{
    three_tanks(30, 18, 9);
    const struct friction one = {.length = 3000, .bore = 1.0, .roughness = 0.0002};
    const struct friction two = {.length = 600, .bore = 0.45, .roughness = 0.002 * 0.45};
    const struct friction three = {.length = 1000, .bore = 0.6, .roughness = 0.001 * 0.6};
    kit_pipe(&kit, 0, JUNCTION, one);
    kit_pipe(&kit, 1, JUNCTION, two);
    kit_pipe(&kit, 2, JUNCTION, three);
    kit_solve(&kit);
    check_three(24.8822, 1.19805, -0.32932, -0.86874, 1e-4, 1e-5);
}

/* `series` rows of `parallel` equal pumps from a sump at 0 to a tank; the system's head and flow
 * come out. */
static void check_pumps(struct kit_law pump, int parallel, int series, double static_head,
                        double system, double flow, double head, double slack)
{
    kit_init(&kit);
    int before = kit_held(&kit, 0);
    const int tank = kit_held(&kit, static_head);
    for (int row = 0; row < series; row++) {
        const int after = kit_free(&kit, 0);
        for (int i = 0; i < parallel; i++) {
            kit_link(&kit, before, after, pump);
        }
        before = after;
    }
    const int riser = kit_link(&kit, before, tank, kit_resistance(system));
    kit_solve(&kit);
    cr_expect_float_eq(kit.answer.flow[riser], flow, slack * flow);
    cr_expect_float_eq(kit.answer.head[before], head, slack * head);
    kit_clear(&kit);
}

/* White, pump chapter, 32-in pump (input from memory): book 15200 gal/min and 430 ft, 16300, 21500;
 * (computed) 15.2307, 429.687; 16.2569, 472.821; 21.5316, 738.922 in 1000 gal/min and ft. */
Test(steady_published, white_pumps_alone_parallel_series)
{
    const struct kit_law pump = kit_pump(490, 0.26);
    check_pumps(pump, 1, 1, 120, 1.335, 15.2, 430, 0.005);
    check_pumps(pump, 1, 1, 120, 1.335, 15.2307, 429.687, 4e-6);
    check_pumps(pump, 2, 1, 120, 1.335, 16.2569, 472.821, 4e-6);
    check_pumps(pump, 1, 2, 120, 1.335, 21.5316, 738.922, 4e-6);
}

/* Homework reprint, H = 365 - 20 Q^2 ft, static 290 ft, K 26.3508 s2/ft5 (computed). */
Test(steady_published, homework_pumps_alone_series_parallel)
{
    const struct kit_law pump = kit_pump(365, 20);
    check_pumps(pump, 1, 1, 290, 26.3508, 1.27204, 332.638, 1e-5);
    check_pumps(pump, 1, 2, 290, 26.3508, 2.57515, 464.743, 1e-5);
    check_pumps(pump, 2, 1, 290, 26.3508, 1.54670, 353.039, 1e-5);
}

/* Engineering licence problem 4.9.4: system 35 + 0.002 Q^2 ft, Q gal/min, straight lines between
 * points: 155.682, 83.474; 223.663, 135.050; 169.272, 92.306 (computed). */
Test(steady_published, pumps_by_straight_lines)
{
    const struct kit_law pump = {.count = 6,
                                 .flow = {0, 110, 180, 250, 300, 340},
                                 .head = {100, 90, 80, 60, 40, 20},
                                 .lower = -(double)INFINITY,
                                 .upper = INFINITY};
    check_pumps(pump, 1, 1, 35, 0.002, 155.682, 83.474, 1e-5);
    check_pumps(pump, 1, 2, 35, 0.002, 223.663, 135.050, 1e-5);
    check_pumps(pump, 2, 1, 35, 0.002, 169.272, 92.306, 1e-5);
}

/* Munson, Young & Okiishi, ex. 12.4: system 10 + 4.4304 Q^2 (ft3/s); straight lines 1586.31
 * gal/min, 65.342 ft (computed); book's graph 1600, 66.5 (from memory), 2 %. */
Test(steady_published, munson_pump)
{
    const double gallons = 448.831; /* gal/min in 1 ft3/s */
    const struct kit_law pump = {.count = 7,
                                 .flow = {0, 400, 800, 1400, 1800, 2200, 2300},
                                 .head = {88, 86, 81, 70, 60, 46, 40},
                                 .lower = -(double)INFINITY,
                                 .upper = INFINITY};
    check_pumps(pump, 1, 1, 10, 4.4304 / gallons / gallons, 1586.31, 65.342, 2e-5);
    check_pumps(pump, 1, 1, 10, 4.4304 / gallons / gallons, 1600, 66.5, 0.02);
}
