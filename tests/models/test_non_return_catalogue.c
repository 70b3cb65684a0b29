#include "models/catalogue/non_return_types.h"
#include "models/circle.h"
#include "models/non_return.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

static const struct water water = {.gravity = 9.80665, .density = 998.2};

static struct non_return make(const char *name, double bore, enum mounting mounting)
{
    const struct non_return_type *type = non_return_type_find(name, NULL);
    cr_assert_not_null(type, "%s", name);
    struct non_return valve;
    non_return_make(type, bore, mounting, &water, &valve);
    return valve;
}

Test(non_return_catalogue, every_type_makes_a_consistent_valve_in_every_size_and_mounting)
{
    const struct place nowhere = {0};
    struct failure failure;
    for (int i = 0; i < non_return_type_count(); i++) {
        const struct non_return_type *type = non_return_type_at(i);
        cr_assert(type->is_placeholder == (strstr(type->source, "laceholder") != NULL));
        for (int k = 0; k < non_return_size_count() * MOUNTING_COUNT; k++) {
            struct non_return valve;
            non_return_make(type, non_return_size_at(k / MOUNTING_COUNT),
                            (enum mounting)(k % MOUNTING_COUNT), &water, &valve);
            cr_assert(non_return_check(&valve, nowhere, &failure), "%s", failure.message);
            const double weight = water.density * water.gravity * valve.opening_head;
            cr_assert_float_eq(valve.closing_force / (valve.seat_area * valve.arm), weight, 1e-9);
            cr_assert(valve.debris >= 1 && valve.debris <= 5 && valve.slam >= 1 && valve.slam <= 6);
            cr_assert(strlen(valve.source) > 20);
        }
    }
}

/* Opening pressures of a spring disc valve, mbar: level, down, up (maker's manual, read). */
Test(non_return_catalogue, spring_disc_opens_by_attitude_as_published)
{
    const double table[][4] = {{0.015, 20, 16, 24},    {0.04, 20, 15.5, 24.5},
                               {0.05, 20, 15, 25},     {0.065, 20, 14.5, 25.5},
                               {0.08, 20, 13.5, 26.5}, {0.1, 20, 13.5, 26.5}};
    const double per_mbar = 100.0 / (998.2 * 9.80665);
    for (int i = 0; i < 6; i++) {
        const double bore = table[i][0];
        cr_assert_float_eq(make("spring disc", bore, MOUNTING_LEVEL).opening_head,
                           table[i][1] * per_mbar, 1e-12);
        cr_assert_float_eq(make("spring disc", bore, MOUNTING_DOWN).opening_head,
                           table[i][2] * per_mbar, 1e-12);
        cr_assert_float_eq(make("spring disc", bore, MOUNTING_UP).opening_head,
                           table[i][3] * per_mbar, 1e-12);
    }
    /* DN50 at 2000 Pa: 3.92699 N (computed); weight 0.98 N is a steel disc of 115 g (computed). */
    const struct non_return valve = make("spring disc", 0.05, MOUNTING_LEVEL);
    cr_assert_float_eq(valve.closing_force, 3.92699, 1e-5);
    const double water_mass = 8.0 / 3.0 * 998.2 * pow(0.025, 3.0);
    cr_assert_float_eq(valve.inertia - water_mass, 0.115, 0.001);
    cr_assert((valve.mountings & (1u << MOUNTING_DOWN)) != 0);
    cr_assert((make("spring disc", 0.15, MOUNTING_UP).mountings & (1u << MOUNTING_DOWN)) == 0);
}

/* (s_b - 1)(2/3) D^3/d^2 (constructed): 0.02304 m for 60 mm on 50 mm; 0.461 d for D = 1.2 d. */
Test(non_return_catalogue, ball_lifts_at_next_to_nothing)
{
    cr_assert_float_eq(non_return_ball_opening_head(1.4, 0.06, 0.05), 0.02304, 1e-6);
    cr_assert_float_eq(make("ball", 0.1, MOUNTING_UP).opening_head, 0.0461, 1e-4);
    cr_assert_float_eq(make("ball", 0.05, MOUNTING_UP).seating_head, 2.0, 0.0); /* (read) */
    cr_assert_float_eq(make("ball", 0.05, MOUNTING_DOWN).opening_head, 0.0, 0.0);
    /* PVC ball DN50, D = 1.2 d: 0.158 kg (computed), and the water it takes along, Lamb. */
    const double radius = 0.03;
    const double along = 2.0 / 3.0 * circle_pi * 998.2 * radius * radius * radius;
    cr_assert_float_eq(make("ball", 0.05, MOUNTING_UP).inertia - along, 0.158, 0.001);
}

/* Crane TP-410: K at the table f_T (computed, from memory f_T) by nominal inch, here at nominal mm;
 * f_T of its formula differs from the rounded table by up to 3 %. */
Test(non_return_catalogue, losses_of_the_handbook)
{
    const double bore[] = {0.025, 0.04, 0.05, 0.08, 0.1};
    const double swing[] = {2.20, 2.00, 1.90, 1.70, 1.60};
    const double lift[] = {13.2, 12.0, 11.4, 10.2, 9.6};
    const double tilting[] = {2.64, 2.40, 2.28, 2.04, 1.92};
    const double poppet[] = {9.24, 8.40, 7.98, 7.14, 6.72};
    const double hinged[] = {1.65, 1.50, 1.425, 1.275, 1.20};
    for (int i = 0; i < 5; i++) {
        const double d = bore[i];
        cr_assert_float_eq(make("swing flap", d, MOUNTING_UP).full_open_loss / swing[i], 1, 0.04);
        cr_assert_float_eq(make("lift", d, MOUNTING_LEVEL).full_open_loss / lift[i], 1, 0.04);
        cr_assert_float_eq(make("tilting disc", d, MOUNTING_UP).full_open_loss / tilting[i], 1,
                           0.04);
        cr_assert_float_eq(make("foot poppet", d, MOUNTING_UP).full_open_loss / poppet[i], 1, 0.04);
        cr_assert_float_eq(make("foot flap", d, MOUNTING_UP).full_open_loss / hinged[i], 1, 0.04);
    }
}

/* Least velocity for full opening in water of 998.2 kg/m3, m/s (Crane TP-410, computed from its US
 * constants). */
Test(non_return_catalogue, velocities_of_the_handbook)
{
    const struct {
        const char *name;
        double velocity;
    } rows[] = {{"swing flap", 1.351},
                {"lift", 1.545},
                {"tilting disc", 1.158},
                {"foot poppet", 0.579},
                {"foot flap", 1.351}};
    for (int i = 0; i < 5; i++) {
        const struct non_return valve = make(rows[i].name, 0.05, MOUNTING_UP);
        cr_assert_float_eq(non_return_full_open_flow(&valve, &water) / circle_area(0.05),
                           rows[i].velocity, 1e-9);
    }
}

/* Maker's table of dual plate valves, standard spring (read; K and head computed). */
Test(non_return_catalogue, dual_plate_as_published)
{
    const double bore[] = {0.05, 0.065, 0.08, 0.1, 0.125, 0.15, 0.2, 0.25, 0.3};
    const double head[] = {0.161, 0.183, 0.148, 0.155, 0.127, 0.098, 0.134, 0.127, 0.120};
    const double loss[] = {2.89, 3.66, 2.16, 1.64, 2.47, 1.79, 1.43, 1.05, 0.90};
    for (int i = 0; i < 9; i++) {
        const struct non_return valve = make("dual plate", bore[i], MOUNTING_UP);
        cr_assert_float_eq(valve.opening_head, head[i], 6e-4);
        cr_assert_float_eq(valve.full_open_loss, loss[i], 0.0);
    }
}

/* Fit of a pump maker's table (read; fit computed). */
Test(non_return_catalogue, sprung_foot_valve_as_published)
{
    const struct non_return valve = make("foot spring", 0.05, MOUNTING_UP);
    cr_assert_float_eq(non_return_drop(&valve, &water, 2.0 * circle_area(0.05)).head, 0.61, 0.005);
}

/* Common practice, no published figure: a plastic spring cone of DN50 with unions needs 1 to 1.5 m;
 * ball and flap open at next to nothing; the wafer flap's hole is far smaller than the bore, the
 * swing flap's about two thirds of it. */
Test(non_return_catalogue, facts_of_the_trade)
{
    const struct non_return cone = make("spring cone", 0.05, MOUNTING_UP);
    cr_assert(cone.opening_head > 1.0 && cone.opening_head < 1.5);
    cr_assert(strstr(cone.source, "common practice") != NULL);
    cr_assert(make("swing flap", 0.05, MOUNTING_UP).opening_head < 0.05);
    const double area = circle_area(0.05);
    cr_assert(make("wafer flap", 0.05, MOUNTING_UP).port_area < 0.5 * area);
    cr_assert_float_eq(make("swing flap", 0.05, MOUNTING_UP).port_area / area, 0.667, 0.01);
}

Test(non_return_catalogue, mountings_follow_what_shuts_the_part)
{
    const unsigned any = 7u;
    const unsigned up = 1u << MOUNTING_UP;
    cr_assert(make("spring cone", 0.05, MOUNTING_UP).mountings == any);
    cr_assert(make("foot ball", 0.05, MOUNTING_UP).mountings == up);
    cr_assert(make("foot flap", 0.05, MOUNTING_UP).mountings == up);
    cr_assert((make("ball", 0.05, MOUNTING_UP).mountings & (1u << MOUNTING_DOWN)) == 0);
    cr_assert((make("swing flap", 0.05, MOUNTING_UP).mountings & (1u << MOUNTING_DOWN)) == 0);
    cr_assert(make("ball", 0.05, MOUNTING_LEVEL).mountings == up); /* common practice, no source */
    cr_assert(make("swing flap", 0.05, MOUNTING_LEVEL).level_needs_back_head);
    cr_assert_not(make("spring cone", 0.05, MOUNTING_LEVEL).level_needs_back_head);
}

Test(non_return_catalogue, names_and_sizes_are_found)
{
    const char *nearest = NULL;
    cr_assert_not_null(non_return_type_find("Swing-Flap", NULL));
    cr_assert_null(non_return_type_find("swing flop", &nearest));
    cr_assert_str_eq(nearest, "swing flap");
    cr_assert_float_eq(non_return_size_at(non_return_size_nearest(0.057)), 0.05, 0.0);
    cr_assert_float_eq(non_return_size_at(non_return_size_nearest(9.0)), 0.3, 0.0);
}
