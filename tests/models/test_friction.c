#include "models/friction.h"

#include <criterion/criterion.h>
#include <math.h>

enum { ROUGHNESSES = 6, REYNOLDS = 10 };

static const double table_roughness[ROUGHNESSES] = {0, 1e-5, 1e-4, 1e-3, 0.01, 0.05};
static const double table_reynolds[REYNOLDS] = {4000, 1e4, 2e4, 5e4, 1e5, 2e5, 5e5, 1e6, 1e7, 1e8};

/* Colebrook-White solved with 40 digits (computed), rounded to 10. */
static const double table_factor[REYNOLDS][ROUGHNESSES] = {
    {.03990701406, .03991716685, .04000843123, .04091038986, .04908226945, .07698683489},
    {.03088295035, .03089842305, .03103721220, .03238180636, .04312658471, .07380127564},
    {.02588307854, .02590505322, .02610146573, .02794571302, .04070544821, .07269007675},
    {.02089144353, .02092764667, .02124788375, .02402078398, .03908164702, .07200997690},
    {.01798977308, .01804380290, .01851386608, .02217453594, .03850354353, .07178092944},
    {.01563722501, .01571916974, .01641039481, .02103361089, .03820649244, .07166595378},
    {.01315794666, .01330274195, .01443018232, .02023546378, .03802553224, .07159682221},
    {.01164504100, .01186954483, .01344143769, .01994346584, .03796474188, .07157375386},
    {.008102669431, .008995711745, .01216608096, .01966705243, .03790982575, .07155298184},
    {.005940466352, .008187559103, .01199905056, .01963863284, .03790432339, .07155090409}};

Test(friction, colebrook_meets_the_forty_digit_table)
{
    for (int i = 0; i < REYNOLDS; i++) {
        for (int j = 0; j < ROUGHNESSES; j++) {
            const double factor = friction_factor(table_reynolds[i], table_roughness[j], NULL);
            cr_assert_float_eq(factor / table_factor[i][j], 1, 1e-9, "Re %g e/D %g",
                               table_reynolds[i], table_roughness[j]);
        }
    }
}

/* Relative error of a factor, by its own equation in long double (one Newton step on 1/sqrt f). */
static double colebrook_error(double reynolds, double roughness, double factor)
{
    const long double x = 1 / sqrtl((long double)factor);
    const long double c = 2.51L / (long double)reynolds;
    const long double u = (long double)roughness / 3.7L + c * x;
    const long double residual = x + 2 * log10l(u);
    const long double slope = 1 + 2 * c / (u * logl(10));
    return (double)(2 * residual / slope / x);
}

Test(friction, colebrook_solves_its_own_equation_to_round_off)
{
    static const double roughness[] = {0,    1e-9, 1e-7, 1e-6, 1e-5, 1e-4,
                                       1e-3, 3e-3, 0.01, 0.05, 0.1};
    double worst = 0;
    for (double reynolds = 4000; reynolds < 1e12; reynolds *= 1.01) {
        for (size_t j = 0; j < sizeof roughness / sizeof roughness[0]; j++) {
            const double factor = friction_factor(reynolds, roughness[j], NULL);
            worst = fmax(worst, fabs(colebrook_error(reynolds, roughness[j], factor)));
        }
    }
    cr_assert_lt(worst, 2e-15, "worst relative error %g", worst);
}

/* Hagen-Poiseuille, exact. */
Test(friction, laminar_factor_is_64_over_reynolds)
{
    cr_assert_float_eq(friction_factor(1000, 0.01, NULL), 0.064, 1e-16);
    cr_assert_float_eq(friction_factor(2000, 0.01, NULL), 0.032, 1e-16);
}

/* The value is compared at the ends, the slope with the other law's own slope there. */
Test(friction, bridge_meets_value_and_slope_of_both_laws)
{
    static const double ends[] = {2000, 4000};
    for (double roughness = 1e-6; roughness <= 0.1; roughness *= 3) {
        for (int i = 0; i < 2; i++) {
            double below = 0;
            double above = 0;
            const double left = friction_factor(ends[i] * (1 - 1e-12), roughness, &below);
            const double right = friction_factor(ends[i] * (1 + 1e-12), roughness, &above);
            cr_assert_float_eq(left / right, 1, 1e-11);
            cr_assert_float_eq(below, above, 1e-10 * fabs(left / ends[i]) + 1e-15);
        }
    }
}

Test(friction, slope_of_the_factor_is_its_derivative)
{
    for (double reynolds = 500; reynolds < 1e8; reynolds *= 1.37) {
        for (double roughness = 1e-7; roughness <= 0.1; roughness *= 10) {
            const double step = 1e-5 * reynolds;
            double slope = 0;
            friction_factor(reynolds, roughness, &slope);
            const double chord = (friction_factor(reynolds + step, roughness, NULL) -
                                  friction_factor(reynolds - step, roughness, NULL)) /
                                 (2 * step);
            const double scale = friction_factor(reynolds, roughness, NULL) / reynolds;
            cr_assert_float_eq(slope, chord, 1e-7 * scale, "Re %g e/D %g", reynolds, roughness);
        }
    }
}

/* f Re^2 is the head at fixed pipe: it must rise strictly, Re 1 to 1e8, whatever the roughness. */
Test(friction, head_rises_strictly_and_its_slope_is_positive)
{
    static const double roughness[] = {0, 1e-6, 1e-4, 1e-3, 0.01, 0.03, 0.05, 0.1};
    for (size_t j = 0; j < sizeof roughness / sizeof roughness[0]; j++) {
        double before = 0;
        for (double reynolds = 1; reynolds < 1e8; reynolds *= 1.002) {
            double slope = 0;
            const double factor = friction_factor(reynolds, roughness[j], &slope);
            const double head = factor * reynolds * reynolds;
            cr_assert_gt(head, before, "Re %g e/D %g", reynolds, roughness[j]);
            cr_assert_gt(2 * factor + reynolds * slope, 0, "Re %g e/D %g", reynolds, roughness[j]);
            before = head;
        }
    }
}

static const double viscosity = 1e-6;
static const double gravity = 9.80665;

static const struct friction pipes[] = {
    {.length = 100, .bore = 0.057, .roughness = 3e-6},
    {.length = 100, .bore = 0.2, .roughness = 2e-3},
    {.length = 100, .bore = 0.1, .factor = 0.02},
    {.length = 1000,
     .bore = 0.1,
     .hazen_williams = 150,
     .hazen_williams_constant = 10.67,
     .hazen_williams_flow_power = 1.852,
     .hazen_williams_bore_power = 4.8704},
};

Test(friction, drop_is_exactly_odd_and_zero_at_rest)
{
    for (size_t i = 0; i < sizeof pipes / sizeof pipes[0]; i++) {
        for (double flow = 1e-12; flow < 10; flow *= 1.7) {
            const struct drop forward = friction_drop(&pipes[i], viscosity, gravity, flow);
            const struct drop backward = friction_drop(&pipes[i], viscosity, gravity, -flow);
            cr_assert(forward.head == -backward.head && forward.slope == backward.slope);
        }
        cr_assert(friction_drop(&pipes[i], viscosity, gravity, 0).head == 0);
    }
}

Test(friction, drop_rises_strictly_and_its_slope_is_its_derivative)
{
    for (size_t i = 0; i < sizeof pipes / sizeof pipes[0]; i++) {
        double before = 0;
        for (double flow = 1e-11; flow < 10; flow *= 1.013) {
            const struct drop here = friction_drop(&pipes[i], viscosity, gravity, flow);
            cr_assert_gt(here.head, before);
            before = here.head;
            const double step = 1e-5 * flow;
            const double chord = (friction_drop(&pipes[i], viscosity, gravity, flow + step).head -
                                  friction_drop(&pipes[i], viscosity, gravity, flow - step).head) /
                                 (2 * step);
            cr_assert_float_eq(here.slope / chord, 1, 3e-6, "pipe %zu flow %g", i, flow);
        }
    }
}

Test(friction, slope_at_rest_is_finite_and_continuous)
{
    for (size_t i = 0; i < sizeof pipes / sizeof pipes[0]; i++) {
        const double rest = friction_drop(&pipes[i], viscosity, gravity, 0).slope;
        const double near = friction_drop(&pipes[i], viscosity, gravity, 1e-12).slope;
        cr_assert(isfinite(rest));
        cr_assert(rest > 0 || pipes[i].factor > 0);
        cr_assert_float_eq(rest, near, 1e-4 * near + 1e-6);
    }
}

Test(friction, drop_is_finite_for_every_flow_a_solver_may_try)
{
    for (size_t i = 0; i < sizeof pipes / sizeof pipes[0]; i++) {
        for (double flow = 1e-300; flow < 1e100; flow *= 7.3) {
            const struct drop drop = friction_drop(&pipes[i], viscosity, gravity, flow);
            cr_assert(isfinite(drop.head) && isfinite(drop.slope), "pipe %zu flow %g", i, flow);
            cr_assert(drop.head >= 0 && drop.slope >= 0, "pipe %zu flow %g", i, flow);
        }
    }
}

/* Cengel & Cimbala, Fluid Mechanics, Ex. 8-3 (input read, answers from memory): 0.5 %. */
Test(friction, drop_meets_a_textbook_pipe)
{
    const struct friction pipe = {.length = 60, .bore = 0.05, .roughness = 2e-6};
    const double head = friction_drop(&pipe, 1.138e-3 / 999, 9.81, 6e-3).head;
    cr_assert_float_eq(head / 9.82, 1, 5e-3);
}

/* Exact check of the Hazen-Williams form (computed): 1000 m, 10 L/s, C 150, 100 mm. */
Test(friction, hazen_williams_meets_its_formula)
{
    const double head = friction_drop(&pipes[3], viscosity, gravity, 0.01).head;
    cr_assert_float_eq(head / 14.603044466778833, 1, 1e-13);
    /* The power holds down to the velocity where it goes over into a cubic, 1e-5 m/s (ours). */
    const double slow = 1.02e-5 * 0.25 * 3.14159265358979323846 * 0.01;
    const double lost = friction_drop(&pipes[3], viscosity, gravity, slow).head;
    cr_assert_float_eq(lost / (head * pow(slow / 0.01, 1.852)), 1, 1e-12);
}

/* h = f L v2/(2 g D) by hand: v = 1 m/s, f 0.02, 100 m of 100 mm, g 9.80665: 20/(2 g). */
Test(friction, fixed_factor_is_purely_quadratic)
{
    const double area = 0.25 * 3.14159265358979323846 * 0.01;
    const double one = friction_drop(&pipes[2], viscosity, gravity, area).head;
    cr_assert_float_eq(one, 20 / (2 * gravity), 1e-13);
    cr_assert_float_eq(friction_drop(&pipes[2], viscosity, gravity, 3 * area).head / one, 9, 1e-14);
    cr_assert(friction_drop(&pipes[2], viscosity, gravity, 0).slope == 0);
}

/* Below that velocity the odd cubic a Q + b Q^3 that has value and slope of the power at its end,
 * both written out from k Q^n: a = k (3 - n)/2 Qs^(n-1), b = k (n - 1)/2 Qs^(n-3). */
Test(friction, hazen_williams_goes_over_into_the_cubic_that_meets_it)
{
    const struct friction *pipe = &pipes[3];
    const double n = pipe->hazen_williams_flow_power;
    const double start = 1e-5 * 0.25 * 3.14159265358979323846 * 0.01;
    const double k = friction_drop(pipe, viscosity, gravity, 0.01).head / pow(0.01, n);
    const double a = 0.5 * k * (3 - n) * pow(start, n - 1);
    const double b = 0.5 * k * (n - 1) * pow(start, n - 3);
    for (double flow = 0.05 * start; flow < start; flow += 0.1 * start) {
        const struct drop drop = friction_drop(pipe, viscosity, gravity, flow);
        cr_assert_float_eq(drop.head / (a * flow + b * pow(flow, 3)), 1, 1e-12);
        cr_assert_float_eq(drop.slope / (a + 3 * b * flow * flow), 1, 1e-12);
    }
}

/* Roughness beyond its range counts as the nearer end; any coefficient or factor above 0 is a law
 * of its own (friction.h). */
Test(friction, roughness_and_laws_end_where_the_header_says)
{
    for (double reynolds = 2500; reynolds < 1e8; reynolds *= 9) {
        cr_assert_eq(friction_factor(reynolds, -0.3, NULL), friction_factor(reynolds, 0, NULL));
        cr_assert_eq(friction_factor(reynolds, 0.3, NULL), friction_factor(reynolds, 0.1, NULL));
        cr_assert_gt(friction_factor(reynolds, 0.1, NULL), friction_factor(reynolds, 0.099, NULL));
    }
    struct friction odd = pipes[3];
    odd.hazen_williams = 0.01;
    const double head = friction_drop(&pipes[3], viscosity, gravity, 1e-3).head;
    cr_assert_float_eq(friction_drop(&odd, viscosity, gravity, 1e-3).head,
                       head * pow(15000, odd.hazen_williams_flow_power),
                       1e-9 * head * pow(15e3, 2));
    odd.factor = 0.01;
    cr_assert_float_eq(friction_drop(&odd, viscosity, gravity, 1e-3).head,
                       5 * friction_drop(&pipes[2], viscosity, gravity, 1e-3).head, 1e-12);
}
