/* Creep of plastic walls: the recursion against exact strains, and the PE pipe of Covas et al.
 * against an independent run (layout and creep data from memory; heads computed, not measured). */
#include "solver/surge/creep.h"
#include "tests/solver/laboratory.h"

/* What is remembered of a wall that was at rest until its stress jumped to `stress` Pa. */
static void creep_start(const struct creep *creep, double stress, double part[])
{
    for (int k = 0; k < creep->count; k++) {
        part[k] = creep->far[k] * stress;
    }
}

/* Strain of F = 1 MPa put on at once: F sum J (1 - exp(-t/tau)). */
Test(surge_creep, step_of_stress_is_exact_at_any_time_step)
{
    const struct wall *wall = wall_find("pe100");
    for (double step = 1e-4; step < 30.0; step *= 7.0) {
        struct creep creep = creep_of(wall, step);
        double part[WALL_CREEP_MAX];
        creep_start(&creep, 1e6, part);
        for (int n = 1; n <= 100; n++) {
            double exact = 0.0;
            for (int k = 0; k < wall->creep_count; k++) {
                exact -= 1e6 * wall->creep_compliance[k] * expm1(-n * step / wall->creep_time[k]);
            }
            double strain = creep_step(&creep, 1e6, part);
            cr_assert_float_eq(strain / exact, 1.0, 1e-12, "%g s: %.15g", n * step, strain / exact);
        }
    }
}

/* The set's own figures (computed): 1.17598e-4, 2.52715e-4, 3.71254e-4 at 0.1, 1, 10 s. */
Test(surge_creep, polyethylene_strains_as_its_compliances_say)
{
    struct creep creep = creep_of(wall_find("pe100"), 0.1);
    double part[WALL_CREEP_MAX];
    creep_start(&creep, 1e6, part);
    for (int n = 1; n <= 100; n++) {
        double strain = creep_step(&creep, 1e6, part);
        double expected = n == 1     ? 1.17598e-4
                          : n == 10  ? 2.52715e-4
                          : n == 100 ? 3.71254e-4
                                     : strain;
        cr_expect_float_eq(strain, expected, 1e-9, "step %d: %g", n, strain);
    }
}

/* F = s t: J s (t - tau (1 - exp(-t/tau))). */
Test(surge_creep, ramp_of_stress_is_exact_at_any_time_step)
{
    struct wall wall = {.creep_count = 1, .creep_compliance = {1e-10}, .creep_time = {0.7}};
    for (double step = 1e-3; step < 30.0; step *= 3.0) {
        struct creep creep = creep_of(&wall, step);
        double part[WALL_CREEP_MAX];
        creep_start(&creep, 0.0, part);
        for (int n = 1; n <= 100; n++) {
            double time = n * step;
            double exact = 1e-10 * 1e5 * (time + 0.7 * expm1(-time / 0.7));
            double strain = creep_step(&creep, 1e5 * time, part);
            /* Of the terms of the exact strain, which nearly cancel while t is small. */
            cr_assert_float_eq(strain, exact, 1e-12 * 1e-10 * 1e5 * fmax(time, 0.7), "%g s", time);
        }
    }
}

/* Covas et al., J. Hydraulic Research 42(5) 2004, 43(1) 2005: 277 m, 50.6 mm x 6.2 mm, 395 m/s. */
static void open_polyethylene(struct rig *rig, struct rig_valve *valve, const struct wall *material,
                              int reaches)
{
    double area = 3.14159265358979323846 / 4.0 * 0.0506 * 0.0506;
    struct laboratory rig_data = {277.0,  0.0506,   395.0,   1e-6, 1.008e-3 / area, 45.0, 0.0,
                                  0.0062, material, reaches, 5.0};
    laboratory_open(rig, &rig_data, valve);
}

/* Within `tolerance` m. */
static void check_polyethylene(bool is_creeping, int reaches, const double highest[5],
                               const double lowest[5], double tolerance)
{
    struct rig rig;
    struct rig_valve valve;
    open_polyethylene(&rig, &valve, wall_find("pe100"), reaches);
    rig.site.surge.is_wall_creeping = is_creeping;
    rig_run(&rig);
    for (int cycle = 1; cycle <= 5; cycle++) {
        double high = laboratory_extreme(&rig, cycle, 1.0);
        double low = laboratory_extreme(&rig, cycle, -1.0);
        cr_expect_float_eq(high, highest[cycle - 1], tolerance, "%d: %.3f not %.3f", cycle, high,
                           highest[cycle - 1]);
        cr_expect(!lowest || fabs(low - lowest[cycle - 1]) < tolerance, "%d: %.3f not %.3f", cycle,
                  low, lowest ? lowest[cycle - 1] : 0.0);
    }
    cr_expect_lt(fabs(rig.result.mass_residual), 1e-13, "%g m3", rig.result.mass_residual);
    rig_close(&rig);
}

/* The creeping heads by a second program of the characteristics (computed apart, not measured), one
 * with the creep taken in half at each end of a reach, as here. */
Test(surge_creep, polyethylene_pipe_decays_as_an_independent_run_says)
{
    check_polyethylene(false, 64, (double[]){65.15, 62.29, 60.07, 58.31, 56.87}, NULL, 0.02);
    check_polyethylene(true, 64, (double[]){63.161, 57.288, 53.376, 50.608, 48.736},
                       (double[]){30.378, 30.929, 34.824, 38.136, 40.423}, 0.02);
    check_polyethylene(true, 256, (double[]){63.343, 57.306, 53.385, 50.615, 48.741},
                       (double[]){30.361, 30.775, 34.815, 38.128, 40.417}, 0.02);
}

/* Elements without compliance: the elastic answer. */
Test(surge_creep, no_compliance_is_elastic)
{
    struct wall stiff = *wall_find("pe100");
    for (int k = 0; k < stiff.creep_count; k++) {
        stiff.creep_compliance[k] = 0.0;
    }
    struct rig rigs[2];
    struct rig_valve valves[2];
    for (int i = 0; i < 2; i++) {
        open_polyethylene(&rigs[i], &valves[i], &stiff, 64);
        rigs[i].site.surge.is_wall_creeping = i == 1;
        rig_run(&rigs[i]);
    }
    for (int i = 0; i < rigs[0].result.time_count; i++) {
        cr_assert_float_eq(rig_head(&rigs[0], i, 0), rig_head(&rigs[1], i, 0), 1e-11);
    }
    rig_close(&rigs[0]);
    rig_close(&rigs[1]);
}

/* Elements far quicker than a step: an elastic wall of compliance J0 + sum J. With 2.19 GPa, 998
 * kg/m3, c1 = 1.07, D/e = 8.16, waves fall from 390.7 to 315.2 m/s (computed), so the head at the
 * valve first returns through the tank's level after 2L/a of the slower. */
Test(surge_creep, quick_elements_only_slow_the_waves)
{
    struct wall quick = *wall_find("pe100");
    quick.poisson = 0.46;
    for (int k = 0; k < quick.creep_count; k++) {
        quick.creep_time[k] = 1e-5;
    }
    struct rig rig;
    struct rig_valve valve;
    open_polyethylene(&rig, &valve, &quick, 256);
    rig.pipes[0].stated_wave_speed = 390.7;
    rig.site.water.density = 998.0;
    rig.site.surge.is_wall_creeping = true;
    rig_run(&rig);
    int crossings = 0;
    double last = 0.0;
    for (int i = 2; i < rig.result.time_count; i++) {
        bool is_over = rig_head(&rig, i, 0) > 45.0;
        if (is_over != (rig_head(&rig, i - 1, 0) > 45.0) && crossings < 5) {
            crossings++;
            last = rig.result.time[i];
        }
    }
    double speed = crossings * 2.0 * 277.0 / last;
    cr_expect_eq(crossings, 5);
    cr_expect_float_eq(speed / 315.2, 1.0, 0.01, "%g m/s", speed);
    rig_close(&rig);
}

Test(surge_creep, steady_start_is_held)
{
    struct rig rig;
    struct rig_valve valve;
    open_polyethylene(&rig, &valve, wall_find("pe100"), 32);
    rig.site.surge.is_wall_creeping = true;
    rig.site.surge.event_count = 0;
    rig_run(&rig);
    cr_expect_lt(rig.result.drift, 1e-10, "%g m", rig.result.drift);
    rig_close(&rig);
}
