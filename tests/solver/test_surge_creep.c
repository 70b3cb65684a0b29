/* Creep of plastic walls: the recursion against exact strains, and the PE pipe of Covas et al.
 * against an independent run (layout and creep data from memory; heads computed, not measured). */
#include "solver/surge/creep.h"
#include "tests/solver/laboratory.h"

/* A wall as a reach of pipe has it, whose stress rises by F Pa for each m and gives way by `give` m
 * for each 1/s of strain: S/2 d(strain)/dt is what waves lose. */
struct rig_wall {
    struct pipe pipe;
    struct fading fading;
    double stress;
    double give;
    double step;
    double term[FADING_TERMS];
};

static struct rig_wall wall_open(const struct wall *material, double step)
{
    struct rig_wall rig = {
        .pipe = {.friction = {.bore = 0.05}, .wall = 0.006, .material = material}, .step = step};
    const struct water water = {.density = 1000.0, .gravity = 9.81};
    rig.fading = creep_of_pipe(&rig.pipe, &water, 400.0, 0.3, step);
    rig.stress = creep_stress(&rig.pipe, &water);
    rig.give = 400.0 * 400.0 * 0.3 / 9.81;
    return rig;
}

/* What was remembered of a wall at rest until its stress jumped to that of 1 m: with it the rate of
 * strain is that of the jump, J/tau, when the next step ends after e^-x of it. */
static void wall_jump(struct rig_wall *rig)
{
    for (int k = 0; k < rig->fading.count; k++) {
        const double x = rig->step / rig->pipe.material->creep_time[k];
        rig->term[k] = rig->fading.share[k] * (1.0 + x * exp(-x) / expm1(-x));
    }
}

/* Rate of strain, 1/s, for each Pa, at the end of a step that ends at `head`. */
static double wall_step(struct rig_wall *rig, double head)
{
    double lost = rig->fading.total * head;
    for (int k = 0; k < rig->fading.count; k++) {
        lost -= rig->term[k];
    }
    (void)fading_step(&rig->fading, head, rig->term);
    return lost / (rig->give * rig->stress);
}

/* Strain for each Pa at the end of a step to `head` (from memory.h: an element that its own term
 * follows by e^-x has strained by (1 - s) F + s times what it kept before, s = (1 - e^-x)/x). */
static double wall_strain(const struct rig_wall *rig, double head)
{
    double strain = 0.0;
    for (int k = 0; k < rig->fading.count; k++) {
        const double x = rig->step / rig->pipe.material->creep_time[k];
        const double mean = -expm1(-x) / x;
        strain += rig->pipe.material->creep_compliance[k] *
                  ((1.0 - mean) * head + mean * rig->term[k] / rig->fading.share[k]);
    }
    return strain;
}

/* A stress put on at once: rate F sum J/tau exp(-t/tau). */
Test(surge_creep, step_of_stress_is_exact_at_any_time_step)
{
    const struct wall *wall = wall_find("pe100");
    for (double step = 1e-4; step < 30.0; step *= 7.0) {
        struct rig_wall rig = wall_open(wall, step);
        wall_jump(&rig);
        for (int n = 1; n <= 100; n++) {
            double exact = 0.0;
            for (int k = 0; k < wall->creep_count; k++) {
                const double often = 1.0 / wall->creep_time[k];
                exact += wall->creep_compliance[k] * often * exp(-n * step * often);
            }
            double rate = wall_step(&rig, 1.0);
            /* Of the rate at once, of which what is left is a difference. */
            cr_assert_float_eq(rate, exact, 1e-12 * (exact + 2e-9), "%g s: %.15g", n * step,
                               rate / exact);
        }
    }
}

/* The set's own figures (computed): 1.17598e-4, 2.52715e-4, 3.71254e-4 at 0.1, 1, 10 s of 1 MPa. */
Test(surge_creep, polyethylene_strains_as_its_compliances_say)
{
    struct rig_wall rig = wall_open(wall_find("pe100"), 0.1);
    wall_jump(&rig);
    for (int n = 1; n <= 100; n++) {
        double strain = 1e6 * wall_strain(&rig, 1.0);
        double expected = n == 1     ? 1.17598e-4
                          : n == 10  ? 2.52715e-4
                          : n == 100 ? 3.71254e-4
                                     : strain;
        cr_expect_float_eq(strain, expected, 1e-9, "step %d: %g", n, strain);
        (void)wall_step(&rig, 1.0);
    }
}

/* A stress that rises evenly, F = s t: rate J s (1 - exp(-t/tau)). */
Test(surge_creep, ramp_of_stress_is_exact_at_any_time_step)
{
    struct wall wall = {.creep_count = 1, .creep_compliance = {1e-10}, .creep_time = {0.7}};
    for (double step = 1e-3; step < 30.0; step *= 3.0) {
        struct rig_wall rig = wall_open(&wall, step);
        for (int n = 1; n <= 100; n++) {
            double exact = -1e-10 * expm1(-n * step / 0.7);
            double rate = wall_step(&rig, n * step);
            cr_assert_float_eq(rate / exact, 1.0, 1e-12 * fmax(1.0, n * step), "%g s: %g", n * step,
                               rate / exact);
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
