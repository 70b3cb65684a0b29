/* Two published pipe layouts by Hazen-Williams h = 10.667 L Q^1.852/(C^1.852 D^4.871), C 130. */
#include "tests/solver/kit.h"

static struct kit kit;

static void add_pipe(int from, int to, double length, double inches)
{
    kit_pipe(&kit, from, to,
             (struct friction){.length = length,
                               .bore = inches * 0.0254,
                               .hazen_williams = 130,
                               .hazen_williams_constant = 10.667,
                               .hazen_williams_flow_power = 1.852,
                               .hazen_williams_bore_power = 4.871});
}

/* Alperovits & Shamir (1977), Water Resour. Res. 13(6) 885-900 (data from memory): eight pipes of
 * 1000 m; flows m3/h and pressure heads m over the ground (computed) for the design in inches. */
static void check_two_loops(const double inches[8], const double flow[8], const double pressure[6])
{
    static const int ends[8][2] = {{1, 2}, {2, 3}, {2, 4}, {4, 5}, {4, 6}, {6, 7}, {3, 5}, {7, 5}};
    static const double draw[6] = {100, 100, 120, 270, 330, 200};
    static const double ground[6] = {150, 160, 155, 150, 165, 160};
    kit_init(&kit);
    kit_held(&kit, 210);
    for (int i = 0; i < 6; i++) {
        kit_free(&kit, draw[i] / 3600);
    }
    for (int i = 0; i < 8; i++) {
        add_pipe(ends[i][0] - 1, ends[i][1] - 1, 1000, inches[i]);
    }
    kit_solve(&kit);
    for (int i = 0; i < 8; i++) {
        cr_expect_float_eq(kit.answer.flow[i] * 3600, flow[i], 0.002, "pipe %d", i + 1);
    }
    for (int i = 0; i < 6; i++) {
        cr_expect_float_eq(kit.answer.head[i + 1] - ground[i], pressure[i], 0.002, "point %d",
                           i + 2);
    }
    kit_clear(&kit);
}

Test(steady_layouts, two_loops_design_of_419000)
{
    check_two_loops(
        (const double[]){18, 10, 16, 4, 16, 10, 10, 1},
        (const double[]){1120.000, 336.878, 683.122, 32.562, 530.559, 200.559, 236.878, 0.559},
        (const double[]){53.247, 30.462, 43.449, 33.803, 30.445, 30.552});
}

Test(steady_layouts, two_loops_design_of_420000)
{
    check_two_loops(
        (const double[]){20, 10, 16, 1, 14, 10, 10, 1},
        (const double[]){1120.000, 368.389, 651.611, 0.980, 530.630, 200.630, 268.389, 0.630},
        (const double[]){55.958, 30.871, 46.562, 32.478, 30.803, 30.907});
}

/* Fujiwara & Khang (1990), Water Resour. Res. 26(4) 539-549 (data from memory); flows m3/h
 * (computed) for the design of cost 6,081,087. */
static const struct {
    int from;
    int to;
    double length;
    double inches;
    double flow;
} hanoi[34] = {
    {1, 2, 100, 40, 19940.00},   {2, 3, 1350, 40, 19050.00},  {3, 4, 900, 40, 8010.77},
    {4, 5, 1150, 40, 7880.77},   {5, 6, 1450, 40, 7155.77},   {6, 7, 450, 40, 6150.77},
    {7, 8, 850, 40, 4800.77},    {8, 9, 850, 40, 4250.77},    {9, 10, 800, 40, 3725.77},
    {10, 11, 950, 30, 2000.00},  {11, 12, 1200, 24, 1500.00}, {12, 13, 3500, 24, 940.00},
    {10, 14, 800, 20, 1200.77},  {14, 15, 500, 16, 585.77},   {15, 16, 550, 12, 305.77},
    {17, 16, 2730, 12, 119.49},  {18, 17, 1750, 16, 984.49},  {19, 18, 800, 24, 2329.49},
    {3, 19, 400, 20, 2389.49},   {3, 20, 2200, 40, 7799.74},  {20, 21, 1500, 20, 1415.00},
    {21, 22, 500, 12, 485.00},   {20, 23, 2650, 40, 5109.74}, {23, 24, 1230, 30, 3468.76},
    {24, 25, 1300, 30, 2648.76}, {26, 25, 850, 20, -1154.74}, {27, 26, 300, 12, -254.74},
    {16, 27, 750, 12, 115.26},   {23, 28, 1500, 16, 595.97},  {28, 29, 2000, 12, 305.97},
    {29, 30, 1600, 12, -54.03},  {30, 31, 150, 16, -414.03},  {32, 31, 860, 16, 519.03},
    {25, 32, 950, 24, 1324.03}};

/* Points 2 to 32: draw m3/h and head m (computed). */
static const double hanoi_points[31][2] = {
    {890, 97.141},  {850, 61.670}, {130, 56.917}, {725, 51.024},  {1005, 44.810}, {1350, 43.353},
    {550, 41.614},  {525, 40.225}, {525, 39.202}, {500, 37.642},  {560, 34.214},  {940, 30.006},
    {615, 35.523},  {280, 33.718}, {310, 31.301}, {865, 33.407},  {1345, 49.926}, {60, 55.091},
    {1275, 50.611}, {930, 41.262}, {485, 36.097}, {1045, 44.525}, {820, 38.926},  {170, 35.336},
    {900, 31.700},  {370, 30.759}, {290, 38.935}, {360, 30.132},  {360, 30.416},  {105, 30.701},
    {805, 33.182}};

Test(steady_layouts, hanoi)
{
    kit_init(&kit);
    kit_held(&kit, 100);
    for (int i = 0; i < 31; i++) {
        kit_free(&kit, hanoi_points[i][0] / 3600);
    }
    for (int i = 0; i < 34; i++) {
        add_pipe(hanoi[i].from - 1, hanoi[i].to - 1, hanoi[i].length, hanoi[i].inches);
    }
    kit_solve(&kit);
    for (int i = 0; i < 34; i++) {
        cr_expect_float_eq(kit.answer.flow[i] * 3600, hanoi[i].flow, 0.05, "pipe %d", i + 1);
    }
    for (int i = 0; i < 31; i++) {
        cr_expect_float_eq(kit.answer.head[i + 1], hanoi_points[i][1], 0.005, "point %d", i + 2);
    }
    cr_expect_lt(kit.answer.mass_residual, 1e-13);
    cr_expect_lt(kit.answer.energy_residual, 1e-10); /* heads of 100 m */
    kit_clear(&kit);
}
