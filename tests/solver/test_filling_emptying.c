/* Emptying of tanks through an orifice against closed formulas. With flow Cd a sqrt(2 g h) and
 * surface A(h) the time from h1 to h0 is the integral of A/(Cd a sqrt(2 g h)) (Torricelli; any
 * textbook of hydraulics). Sources of the inputs beside each check. */
#include "tests/solver/filling_rig_run.h"

#include <criterion/criterion.h>
#include <math.h>

static void expect_emptied(struct tank_shape shape, double depth, double area, double coefficient,
                           double gravity, double expected)
{
    struct rig rig;
    rig_init(&rig, gravity);
    const int tank = rig_tank(&rig, shape, 0.0, depth);
    (void)rig_orifice(&rig, tank, 0.0, area, coefficient);
    rig_run(&rig, 1.2 * expected);
    const double found = rig_time_of(&rig, FILLING_DRY, 0);
    rig_expect(found, expected, 1e-6, "time to empty");
    cr_expect_float_eq(found, expected, 0.001 + 1e-6 * expected);
    rig_expect_balance(&rig);
    rig_clear(&rig);
}

/* Choudhary & Om Prakash, Fluid Mechanics, Ex. 6.17 (input read; the book's 750.8 s computed):
 * t = 2 A sqrt(h)/(Cd a sqrt(2 g)). */
Test(filling_emptying, upright_cylinder_runs_dry_on_time)
{
    const double area = circle_area(0.05);
    const double expected = 2 * circle_area(1.2) * sqrt(3.0) / (0.6 * area * sqrt(2 * 9.81));
    cr_assert_float_eq(expected, 750.779, 0.001);
    expect_emptied(tank_shape_upright(circle_area(1.2), 3.5), 3.0, area, 0.6, 9.81, expected);
}

/* The same, Ex. 6.19: A 3.2 m2, a 10 cm2, h 5 m, Cd 0.6: 5384.73 s (computed). */
Test(filling_emptying, box_runs_dry_on_time)
{
    const double expected = 2 * 3.2 * sqrt(5.0) / (0.6 * 1e-3 * sqrt(2 * 9.81));
    cr_assert_float_eq(expected, 5384.73, 0.01);
    expect_emptied(tank_shape_upright(3.2, 5.0), 5.0, 1e-3, 0.6, 9.81, expected);
}

/* An examination's frustum (input read): bores 0.8 m at the floor and 2 m at 2 m, orifice 100 mm,
 * Cd 0.625: 160.200 s (computed). A = pi/4 (a + k h)^2. */
Test(filling_emptying, frustum_runs_dry_on_time)
{
    const double a = 0.8;
    const double k = 0.6;
    const double h = 2.0;
    const double integral =
        0.25 * circle_pi * sqrt(h) * (2 * a * a + 4.0 / 3.0 * a * k * h + 0.4 * k * k * h * h);
    const double expected = integral / (0.625 * circle_area(0.1) * sqrt(2 * 9.81));
    cr_assert_float_eq(expected, 160.200, 0.001);
    expect_emptied(tank_shape_cone(0.8, 2.0, 2.0), h, circle_area(0.1), 0.625, 9.81, expected);
}

/* Chapra & Canale, Numerical Methods for Engineers, problem 25.20 (input read): sphere of 3 m, from
 * 2.75 m, orifice 30 mm, C 0.55: 7487.67 s (computed). A = pi (D h - h^2). */
Test(filling_emptying, sphere_runs_dry_on_time)
{
    const double h = 2.75;
    const double integral = circle_pi * (2.0 / 3.0 * 3.0 * pow(h, 1.5) - 0.4 * pow(h, 2.5));
    const double expected = integral / (0.55 * circle_area(0.03) * sqrt(2 * 9.81));
    cr_assert_float_eq(expected, 7487.67, 0.01);
    expect_emptied(tank_shape_sphere(3.0), h, circle_area(0.03), 0.55, 9.81, expected);
}

/* A ring (constructed): the water stands between two upright cylinders of 2 and 1.2 m, so A is
 * their difference and t = 2 A sqrt(h)/(Cd a sqrt(2 g)). */
Test(filling_emptying, ring_runs_dry_on_time)
{
    const double ring = circle_area(2.0) - circle_area(1.2);
    const double expected = 2 * ring * sqrt(1.8) / (0.6 * 1e-3 * sqrt(2 * 9.80665));
    expect_emptied(tank_shape_ring(2.0, 1.2, 2.0), 1.8, 1e-3, 0.6, 9.80665, expected);
}

/* A lying cylinder (constructed), from full: A = 2 L sqrt(h (D - h)), so
 * t = (4/3) L D^1.5/(Cd a sqrt(2 g)). */
Test(filling_emptying, lying_cylinder_runs_dry_on_time)
{
    const double expected = 4.0 / 3.0 * 2.5 * pow(1.6, 1.5) / (0.6 * 1e-3 * sqrt(2 * 9.80665));
    expect_emptied(tank_shape_lying(1.6, 2.5), 1.6, 1e-3, 0.6, 9.80665, expected);
}

/* Time at which the level has fallen to `low`, by a float switch there that turns a pump nothing
 * leads through. */
static double time_to(struct rig *rig, double low, double duration)
{
    static const double flow[] = {0, 1};
    const int apart = rig_held(rig, 0.0);
    struct pump *pump = &rig->pumps[0];
    *pump = (struct pump){.name = "sign", .speed = 48, .count = 2};
    struct failure failure = {0};
    memcpy(pump->flow, flow, sizeof flow);
    pump->head[0] = 2;
    pump->head[1] = 1;
    cr_assert(pump_init(pump, &rig->site.water, &failure), "%s", failure.message);
    rig->units[0] = (struct pump_unit){.pump = pump, .speed = 1};
    rig->pump_words[0] = (struct filling_pump){.protect_tank = NETWORK_NONE};
    rig->pump_words[0].link =
        rig_link(rig, apart, rig_held(rig, 0.5), &pump_element, &rig->units[0]);
    rig->site.filling.pump_count = 1;
    (void)rig_switch(rig, 0, low, low + 1.0, 1);
    rig_run(rig, duration);
    return rig_time_of(rig, FILLING_PUMP_ON, 0);
}

/* A licence examination's problem (read): 4 ft bore, outlet 5 in2, from 6 to 2 ft without loss,
 * g 32.2 ft/s2: the book's 94 s in rounded steps, 93.378 s computed. */
Test(filling_emptying, level_passes_a_float_on_time)
{
    const double foot = 0.3048;
    const double area = 5 * 0.0254 * 0.0254;
    struct rig rig;
    rig_init(&rig, 32.2 * foot);
    const int tank = rig_tank(&rig, tank_shape_upright(circle_area(4 * foot), 3.0), 0.0, 6 * foot);
    (void)rig_orifice(&rig, tank, 0.0, area, 1.0);
    const double expected = 2 * circle_area(4 * foot) * (sqrt(6 * foot) - sqrt(2 * foot)) /
                            (area * sqrt(2 * 32.2 * foot));
    cr_assert_float_eq(expected, 93.378, 0.001);
    const double found = time_to(&rig, 2 * foot, 100.0);
    rig_expect(found, expected, 1e-6, "time");
    cr_expect_float_eq(found, expected, 0.001);
    rig_expect_balance(&rig);
    rig_clear(&rig);
}

/* Douglas et al., Fluid Mechanics, Ex. 14.9 (input read): 6 m2, pipe 20 mm x 1.5 m with Fanning's
 * f 0.01, entry 0.9 and 1 kinetic, head over its end from 3.5 to 2.25 m: 7078.696 s (computed). The
 * whole loss is quadratic: K = 0.9 + 1 + 4 f L/D. */
Test(filling_emptying, tank_empties_through_a_pipe_of_fixed_friction)
{
    const double loss = 1.9 + 4 * 0.01 * 1.5 / 0.02;
    struct rig rig;
    rig_init(&rig, 9.81);
    const int tank = rig_tank(&rig, tank_shape_upright(6.0, 4.0), 0.0, 3.5);
    (void)rig_orifice(&rig, tank, 0.0, circle_area(0.02), 1 / sqrt(loss));
    const double found = time_to(&rig, 2.25, 8000.0);
    rig_expect(found, 7078.696, 1e-6, "time");
    rig_clear(&rig);
}
