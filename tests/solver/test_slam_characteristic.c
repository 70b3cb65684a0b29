/* The valve's own curve: what is asked follows from the equations of one degree of freedom (light
 * part, stroke, spring) and from the general agreement of the authors on non-return valves (from
 * memory; no curve of any paper could be read): spring and axial forms shut with less reverse flow
 * than swing forms at equal deceleration. The water the part sweeps is reckoned with throughout:
 * without it a ringing part meets its seat early or late by chance. Computed, not measured. */
#include "models/circle.h"
#include "solver/slam/characteristic.h"

#include <criterion/criterion.h>
#include <math.h>

static const struct water water = {.gravity = 9.81, .density = 1000.0, .viscosity = 1e-6};

static struct non_return make(const char *type, double bore)
{
    struct non_return valve;
    non_return_make(non_return_type_find(type, NULL), bore, MOUNTING_UP, &water, &valve);
    valve.own.rotation = 1.0;
    return valve;
}

static void check_monotone(const struct non_return_type *type, double bore)
{
    struct non_return valve;
    double before = 0.0;
    non_return_make(type, bore, MOUNTING_UP, &water, &valve);
    valve.own.rotation = 1.0;
    for (int i = 0; i < slam_row_count(); i++) {
        const struct slam_point point = slam_point_at(&valve, &water, slam_row_at(i));
        cr_expect(point.reverse >= before - 1e-4, "%s DN%.0f: %g m/s after %g at %g m/s2",
                  type->name, 1e3 * bore, point.reverse, before, slam_row_at(i));
        cr_expect(point.band < 0.01 * point.reverse + 1e-3, "%s DN%.0f: band %g of %g", type->name,
                  1e3 * bore, point.band, point.reverse);
        before = fmax(before, point.reverse);
    }
    cr_expect(before > 0.0 || type->form == NON_RETURN_IDEAL);
}

Test(slam_characteristic, reverse_velocity_rises_with_deceleration_for_every_type_and_size)
{
    for (int i = 0; i < non_return_type_count(); i++) {
        const struct non_return_type *type = non_return_type_at(i);
        for (int k = SHORT_RUNS ? i % 8 : 0; k < non_return_size_count(); k += SHORT_RUNS ? 8 : 1) {
            const double bore = non_return_size_at(k);
            if (bore > type->smallest - 1e-6 && bore < type->largest + 1e-6) {
                check_monotone(type, bore);
            }
        }
    }
}

Test(slam_characteristic, spring_and_axial_forms_stay_below_swing_forms)
{
    static const char *const quiet[] = {"spring cone", "spring disc", "axial nozzle", "dual plate"};
    for (double bore = 0.05; bore < (SHORT_RUNS ? 0.06 : 0.11); bore += 0.05) {
        const struct non_return swing = make("swing flap", bore);
        for (int k = 0; k < 4; k++) {
            const struct non_return valve = make(quiet[k], bore);
            for (int i = 0; i < slam_row_count(); i++) {
                const double at = slam_row_at(i);
                const double below = slam_point_at(&swing, &water, at).reverse;
                cr_expect_lt(slam_point_at(&valve, &water, at).reverse, below, "%s DN%.0f at %g",
                             quiet[k], 1e3 * bore, at);
            }
        }
    }
}

/* v_R -> 0 with the moving mass; the water it sweeps is left out here, for that is mass too. */
Test(slam_characteristic, part_without_mass_shuts_without_reverse_flow)
{
    struct non_return valve = make("lift", 0.05);
    double before = INFINITY;
    valve.own.rotation = 0.0;
    for (double share = 1.0; share > 1e-7; share *= 0.1) {
        struct non_return light = valve;
        light.inertia *= share;
        light.damping *= sqrt(share);
        const double reverse = slam_point_at(&light, &water, 20.0).reverse;
        cr_expect_leq(reverse, before + 1e-9);
        before = reverse;
    }
    cr_expect_lt(before, 1e-4);
}

/* A poppet whose spring and stroke are stated. */
static double poppet(double travel, double rate)
{
    struct non_return valve = make("lift", 0.05);
    valve.travel = travel;
    valve.own.has_force = true;
    valve.own.preload = 2.0;
    valve.own.rate = rate;
    valve.closing_force = 2.0;
    valve.opening_head = 2.0 / non_return_lift(&valve, &water);
    valve.full_open_velocity = non_return_full_open_flow(&valve, &water) / circle_area(valve.bore);
    return slam_point_at(&valve, &water, 10.0).reverse;
}

Test(slam_characteristic, more_stroke_gives_more_and_a_stiffer_spring_less)
{
    double before = 0.0;
    for (double travel = 0.005; travel < 0.05; travel *= 1.5) {
        const double reverse = poppet(travel, 100.0);
        cr_expect_gt(reverse, before, "travel %g: %g after %g", travel, reverse, before);
        before = reverse;
    }
    before = INFINITY;
    for (double rate = 20.0; rate < 3000.0; rate *= 2.0) {
        const double reverse = poppet(0.02, rate);
        cr_expect_lt(reverse, before, "rate %g: %g after %g", rate, reverse, before);
        before = reverse;
    }
}

/* v_R = d t_d exactly. */
Test(slam_characteristic, delayed_valve_has_a_straight_line)
{
    struct non_return valve = make("ideal", 0.05);
    valve.own.shut_delay = 0.1;
    for (int i = 0; i < slam_row_count(); i++) {
        const struct slam_point point = slam_point_at(&valve, &water, slam_row_at(i));
        cr_expect_float_eq(point.reverse, 0.1 * slam_row_at(i), 1e-9);
    }
}
