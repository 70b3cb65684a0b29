/* Unsteady friction: the weights against the exact functions, and laboratory layouts against
 * independent runs with the same weights (computed, not measured; layouts from memory). */
#include "solver/surge/unsteady.h"
#include "tests/solver/laboratory.h"

/* Zielke, J. Basic Engineering 90, 1968: sum over 20 000 zeros of J2 (computed). */
Test(surge_unsteady, laminar_weights_follow_zielke)
{
    static const double exact[][2] = {{1e-5, 87.9596},  {1e-4, 26.97015}, {1e-3, 7.705023},
                                      {1e-2, 1.686457}, {0.02, 0.913967}, {0.05, 0.297603},
                                      {0.1, 0.0723816}};
    struct unsteady_weight weight = unsteady_weight_of(0.0);
    for (int i = 0; i < 7; i++) {
        double here = unsteady_weight_at(&weight, exact[i][0]);
        cr_expect_float_eq(here / exact[i][1], 1.0, 7e-3, "%g: %g", exact[i][0], here);
    }
}

/* Vardy & Brown 2003, smooth pipe: exp(-B psi)/(2 sqrt(pi psi)); B at three Reynolds numbers
 * (computed from the formula). The fits hold to B psi = 4.75, where 0.25 % of the integral is left;
 * then W, here below 1 % of what it was at a tenth of that, may only fall on. */
Test(surge_unsteady, turbulent_weights_follow_vardy_and_brown)
{
    static const double shear[][2] = {{3750.0, 250.96}, {1e4, 526.25}, {1e6, 9036.6}};
    for (int i = 0; i < 3; i++) {
        struct unsteady_weight weight = unsteady_weight_of(shear[i][0]);
        for (double psi = 1e-5; psi < 0.1 && shear[i][1] * psi < 4.75; psi *= 1.1) {
            double share = unsteady_weight_at(&weight, psi) * exp(shear[i][1] * psi) /
                           (0.28209479177387814 / sqrt(psi));
            cr_assert_float_eq(share, 1.0, 1e-2, "Re %g psi %g: %g", shear[i][0], psi, share);
        }
    }
}

/* The sums of ten terms of Vitkovsky, Stephens, Bergant, Lambert & Simpson 2004 (from memory; both
 * against the exact functions better than 0.3 % from 1e-5 to 0.1, which is tested here too). */
static const double ten_laminar[2][10] = {
    {1.0, 1.16725, 2.20064, 3.92861, 6.78788, 11.6761, 20.0612, 34.4541, 59.1642, 101.590},
    {26.3744, 72.8033, 187.424, 536.626, 1570.60, 4618.13, 13601.1, 40082.5, 118153, 348316}};
static const double ten_turbulent[2][10] = {
    {5.03392, 6.48760, 10.7735, 19.9040, 37.4754, 70.7117, 133.460, 251.933, 476.597, 932.860},
    {4.78793, 51.0897, 210.868, 765.030, 2731.01, 9731.44, 34668.5, 123511, 440374, 1590300}};

static double ten_at(const double ten[2][10], double psi)
{
    double sum = 0.0;
    for (int k = 0; k < 10; k++) {
        sum += ten[0][k] * exp(-ten[1][k] * psi);
    }
    return sum;
}

Test(surge_unsteady, ten_terms_are_vardy_and_browns_but_for_the_shear)
{
    for (double psi = 1e-5; psi < 0.1; psi *= 1.1) {
        cr_assert_float_eq(ten_at(ten_turbulent, psi) * sqrt(psi), 1.0, 3e-3, "%g", psi);
    }
}

/* Few terms are the ten to 0.7 % at all times, the shortest too, until 0.25 % of their integral is
 * left, and so is the integral, to which a change of flow that goes on for long tends. */
static void hold_to_ten(double reynolds, const double ten[2][10], double size, double shear,
                        double end, int count)
{
    const struct unsteady_weight weight = unsteady_weight_of(reynolds);
    double all = 0.0;
    double rest = 0.0;
    double fitted = 0.0;
    cr_expect_eq(weight.count, count, "Re %g: %d", reynolds, weight.count);
    for (double psi = 1e-9; psi < end; psi *= 1.02) {
        const double exact = size * exp(-shear * psi) * ten_at(ten, psi);
        cr_assert_float_eq(unsteady_weight_at(&weight, psi) / exact, 1.0, 7e-3, "Re %g, %g",
                           reynolds, psi);
    }
    for (int k = 0; k < 10; k++) {
        const double decay = ten[1][k] + shear;
        all += size * ten[0][k] / decay;
        rest += size * ten[0][k] / decay * exp(-decay * end);
    }
    for (int k = 0; k < weight.count; k++) {
        fitted += weight.size[k] / weight.decay[k];
    }
    cr_expect_lt(rest, 2.5e-3 * all, "Re %g: %g", reynolds, rest / all);
    cr_expect_float_eq(fitted / all, 1.0, 7e-3, "Re %g: %g", reynolds, fitted / all);
}

Test(surge_unsteady, few_terms_are_the_ten_that_were_published)
{
    static const double numbers[] = {2001.0, 4000.0, 1.2e4, 5e4, 1e5, 1e6, 1e7};
    static const int counts[] = {8, 8, 7, 6, 6, 5, 5};
    hold_to_ten(0.0, ten_laminar, 1.0, 0.0, 0.2, 8);
    for (int i = 0; i < 7; i++) {
        const double shear = pow(numbers[i], log10(15.29 / pow(numbers[i], 0.0567))) / 12.86;
        hold_to_ten(numbers[i], ten_turbulent, 0.28209479177387814, shear, 4.75 / shear, counts[i]);
    }
}

/* Each fit up to where 0.25 % is left, B psi = 4.75, and the next one below; of flows so fast that
 * B falls again (Re > 1e15, as no water is) the longest. */
Test(surge_unsteady, fit_is_the_shortest_that_lasts)
{
    static const double ends[] = {0.00058, 0.003, 0.015};
    for (int i = 0; i < 3; i++) {
        double low = 2100.0;
        double high = 1e8;
        for (int k = 0; k < 60; k++) {
            const double reynolds = sqrt(low * high);
            const double shear = pow(reynolds, log10(15.29 / pow(reynolds, 0.0567))) / 12.86;
            *(shear * ends[i] > 4.75 ? &high : &low) = reynolds;
        }
        cr_expect_eq(unsteady_weight_of(1.01 * high).count, 5 + i);
        cr_expect_eq(unsteady_weight_of(0.99 * low).count, 6 + i);
    }
    cr_expect_eq(unsteady_weight_of(1e21).count, 8);
    cr_expect_eq(unsteady_weight_of(1999.0).count, 8);
}

/* By the Reynolds number v D/nu of the steady flow, whichever way it goes. */
Test(surge_unsteady, reach_of_a_pipe_has_its_weight)
{
    const struct water water = {.gravity = 9.81, .viscosity = 1.7e-6};
    const struct pipe pipe = {.friction = {.length = 70.0, .bore = 0.05}};
    const double area = 3.14159265358979323846 / 4.0 * 0.05 * 0.05;
    const struct unsteady_reach reach = {10.0, 0.05, area, 1.7e-6, 9.81, 0.01};
    for (double velocity = 0.03; velocity < 50.0; velocity *= 2.7) {
        const struct unsteady_weight weight = unsteady_weight_of(velocity * 0.05 / 1.7e-6);
        const struct fading wanted = unsteady_of(&weight, &reach);
        for (int sign = -1; sign <= 1; sign += 2) {
            const struct fading here =
                unsteady_of_pipe(&pipe, 7.0, &water, sign * velocity * area, 0.01);
            cr_assert_eq(here.count, wanted.count);
            for (int k = 0; k < here.count; k++) {
                cr_assert_float_eq(here.share[k] / wanted.share[k], 1.0, 1e-12);
                cr_assert_float_eq(here.fade[k], wanted.fade[k], 1e-12);
            }
        }
    }
}

/* Evenly rising flow: the recursion is exact at any step. With what a term remembers before the
 * step, y = share Q - term is what it takes. */
Test(surge_unsteady, recursion_is_exact_for_even_change)
{
    struct unsteady_weight weight = unsteady_weight_of(1e4);
    for (double step = 1e-4; step < 20.0; step *= 30.0) {
        struct unsteady_reach reach = {10.0, 0.05, 0.002, 1e-6, 9.81, step};
        struct fading unsteady = unsteady_of(&weight, &reach);
        double term[FADING_TERMS] = {0.0};
        double scale = 16.0 * 1e-6 * 10.0 / (9.81 * 0.05 * 0.05 * 0.002);
        for (int n = 1; n <= 50; n++) {
            double psi = 4.0 * 1e-6 * n * step / (0.05 * 0.05);
            for (int k = 0; k < weight.count; k++) {
                double decay = weight.decay[k];
                double exact = scale * weight.size[k] * -expm1(-decay * psi) / decay * n / psi;
                cr_assert_float_eq((unsteady.share[k] * n - term[k]) / exact, 1.0, 1e-12);
            }
            (void)fading_step(&unsteady, n, term);
        }
    }
}

/* Bergant, Simpson & Vitkovsky, J. Hydraulic Research 39(3), 2001: copper, 37.23 m, 22.1 mm,
 * 1319 m/s, tank 32 m, closed in 9 ms. */
static void run_copper(struct rig *rig, struct rig_valve *valve, double velocity, bool is_unsteady)
{
    struct laboratory copper = {37.23, 0.0221, 1319.0, 1.18e-6, velocity, 32.0,
                                0.009, 0.0,    NULL,   128,     10.0};
    laboratory_open(rig, &copper, valve);
    rig->site.surge.is_friction_unsteady = is_unsteady;
    rig_run(rig);
}

static void check_copper(double velocity, bool is_unsteady, const double expected[3],
                         double tolerance)
{
    struct rig rig;
    struct rig_valve valve;
    run_copper(&rig, &valve, velocity, is_unsteady);
    for (int k = 0; k < 3; k++) {
        int cycle = (int[]){1, 5, 10}[k];
        double highest = laboratory_extreme(&rig, cycle, 1.0);
        cr_expect_float_eq(highest, expected[k], tolerance, "%g m/s cycle %d: %.3f not %.2f",
                           velocity, cycle, highest, expected[k]);
    }
    cr_expect_lt(fabs(rig.result.mass_residual), 1e-14, "%g m3", rig.result.mass_residual);
    rig_close(&rig);
}

Test(surge_unsteady, copper_pipe_decays_as_independent_runs_say)
{
    check_copper(0.1, false, (double[]){45.44, 45.21, 44.93}, 0.02);
    check_copper(0.2, false, (double[]){58.88, 57.87, 56.69}, 0.02);
    check_copper(0.3, false, (double[]){72.32, 70.27, 67.95}, 0.02);
    check_copper(0.1, true, (double[]){45.75, 43.74, 41.47}, 0.08);
    check_copper(0.2, true, (double[]){59.5, 54.99, 50.24}, 0.08);
    check_copper(0.3, true, (double[]){73.2, 66.15, 58.85}, 0.08);
}

/* What any weighting function must show in that pipe: the tenth cycle stands over the tank by about
 * 70 % (0.1 m/s) or 65 % (0.3 m/s) of the first; without it by more than 88 %. */
Test(surge_unsteady, tenth_cycle_keeps_two_thirds)
{
    for (int i = 0; i < 4; i++) {
        struct rig rig;
        struct rig_valve valve;
        bool is_unsteady = i >= 2;
        run_copper(&rig, &valve, i % 2 == 0 ? 0.1 : 0.3, is_unsteady);
        double kept =
            (laboratory_extreme(&rig, 10, 1.0) - 32.0) / (laboratory_extreme(&rig, 1, 1.0) - 32.0);
        double expected = i % 2 == 0 ? 0.70 : 0.65;
        cr_expect(is_unsteady ? fabs(kept - expected) < 0.02 : kept > 0.88, "%d: %g", i, kept);
        rig_close(&rig);
    }
}

/* Holmboe & Rouleau, J. Basic Engineering 89(1), 1967: laminar oil, stopped at once; excess over
 * the tank as a share of Joukowsky's rise by cycle (computed; 40 and 160 reaches alike to 0.01). */
static void check_oil(bool is_unsteady, const double expected[5])
{
    struct rig rig;
    struct rig_valve valve;
    struct laboratory oil = {36.09, 0.0254, 1324.0, 3.967e-5, 0.128, 50.0, 0.0, 0.0, NULL, 40, 5.0};
    laboratory_open(&rig, &oil, &valve);
    rig.site.surge.is_friction_unsteady = is_unsteady;
    rig_run(&rig);
    for (int cycle = 1; cycle <= 5; cycle++) {
        double share = (laboratory_extreme(&rig, cycle, 1.0) - 50.0) / (1324.0 * 0.128 / 9.81);
        cr_expect_float_eq(share, expected[cycle - 1], 0.015, "cycle %d: %.3f not %.2f", cycle,
                           share, expected[cycle - 1]);
    }
    rig_close(&rig);
}

Test(surge_unsteady, oil_decays_as_zielke_says)
{
    check_oil(false, (double[]){1.00, 0.90, 0.81, 0.73, 0.65});
    check_oil(true, (double[]){1.09, 0.86, 0.67, 0.51, 0.38});
}

/* Water at rest in the steady state stays there. */
Test(surge_unsteady, steady_start_is_held)
{
    struct rig rig;
    struct rig_valve valve;
    struct laboratory copper = {37.23, 0.0221, 1319.0, 1.18e-6, 0.3, 32.0,
                                0.0,   0.0,    NULL,   16,      50.0};
    laboratory_open(&rig, &copper, &valve);
    rig.site.surge.is_friction_unsteady = true;
    rig.site.surge.event_count = 0;
    rig_run(&rig);
    cr_expect_lt(rig.result.drift, 1e-10, "%g m", rig.result.drift);
    rig_close(&rig);
}
