/* The smallest protection, found on whole cases where it is known exactly. */
#include "io/door/door.h"
#include "models/air_vessel.h"
#include "models/circle.h"
#include "solver/surge/sizing.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

/* 1000 m of 200 mm without friction; the end valve lets 1 m/s out and shuts at once. %s: what
 * stands on the point before it, and further outlets and runs. */
static const char form[] =
    "water: {temperature: 15 degC, altitude: 0 m, gravity: 9.81 m/s2, density: 1000 kg/m3}\n"
    "losses: {entry: 0, exit: 0}\n"
    "tanks:\n  lake: {level: %.6f m, fixed: yes}\n  low: {level: 0 m, fixed: yes}\n"
    "points:\n  gate house: {elevation: 0 m%s}\n"
    "%s"
    "  main: {from: lake, to: gate house, parts: [{pipe: steel, length: 1000 m, end: 0 m,\n"
    "         bore: 200 mm, wall: 5 mm, wave speed: 1200 m/s, friction factor: 1e-9}]}\n"
    "  gate: {from: gate house, to: low, parts: [{valve: gate, name: gate, bore: 200 mm,\n"
    "         loss: %.6f}]}\n"
    "surge:\n  duration: %g s\n  events: [{at: 0 s, set: gate, to: 0}]\n";

static struct sizing size(const char *text, struct sizing_wish wish)
{
    struct sizing found;
    struct arena *arena = arena_new();
    struct faults faults;
    struct failure failure;
    struct site *site = NULL;
    int count = 0;
    faults_init(&faults, arena);
    const bool is_read = read_site_text("text.yaml", text, strlen(text), arena, &site, &faults);
    if (!is_read) {
        faults_write(&faults, FAULT_ERROR, stderr);
    }
    cr_assert(is_read);
    wish.link = sizing_find_part(site->network, wish.part, &count);
    cr_assert_eq(count, 1);
    cr_assert(sizing_find(site, &wish, &surge_defaults, &found, &failure), "%s", failure.message);
    arena_free(arena);
    return found;
}

static struct sizing size_vessel_on(double limit, double smallest, double largest,
                                    enum precision confirm)
{
    char text[4096];
    const double head = 60 - 101325 / 9810.0;
    snprintf(text, sizeof text, form, head,
             ", air vessel: {volume: 1 m3, gas: 0.25 m3, joint bore: 500 mm, loss in: 0.001,\n"
             "               loss out: 0.001}",
             "runs:\n", head * 19.62, 20.0);
    return size(text, (struct sizing_wish){.part = SIZING_VESSEL,
                                           .limit_count = 1,
                                           .limits = {{SIZING_HIGHEST, limit, NETWORK_NONE}},
                                           .smallest = smallest,
                                           .largest = largest,
                                           .precision = 0.01,
                                           .confirm = confirm});
}

static struct sizing size_vessel(double limit, double smallest, double largest)
{
    return size_vessel_on(limit, smallest, largest, PRECISION_QUICK);
}

/* Energy rule of the frictionless vessel (exact, numbers computed): 0.5 m3 of gas at 60 m absolute,
 * n = 1.2, are pressed to 87.0744 m. The elastic main and the search may be 3 % off. */
Test(sizing_cases, vessel_is_that_of_the_energy_rule)
{
    const struct sizing found = size_vessel(87.0744 - 101325 / 9810.0, 0.01, 100);
    cr_assert_eq(found.ending, SIZING_FOUND);
    cr_expect_float_eq(found.size, 2.0, 0.03 * 2.0, "%g", found.size);
    cr_expect(found.is_monotone);
    cr_expect(found.try_count <= 6 + 9, "%d tries", found.try_count);
    for (int i = 1; i < found.try_count; i++) {
        cr_expect(found.tries[i].size > found.tries[i - 1].size);
        cr_expect(found.tries[i].is_kept == (found.tries[i].size >= found.size));
    }
}

/* The gas is reckoned by implicit steps, so the peak rises as they get finer (first order): what
 * one grid lets pass by a hair the next one breaks, and a larger vessel is sought on it. */
Test(sizing_cases, size_that_a_finer_grid_breaks_is_sought_on)
{
    const double limit = 87.0744 - 101325 / 9810.0;
    const struct sizing found = size_vessel_on(limit, 0.01, 100, PRECISION_NORMAL);
    const struct sizing_try *proof = sizing_confirmation(&found, found.size);
    const struct sizing_try *first = sizing_confirmation(&found, found.first_size);
    cr_assert_eq(found.ending, SIZING_FOUND);
    cr_assert(found.is_confirmed && proof != NULL);
    cr_expect(proof->grid_count == 2 && proof->is_kept);
    cr_expect(proof->value[0] + proof->band[0] <= limit);
    cr_expect(proof->band[0] > 0 && proof->band[0] < 0.5, "%g", proof->band[0]);
    cr_expect(found.size > found.first_size, "%g", found.size);
    cr_expect_float_eq(found.size, 2.0, 0.03 * 2.0, "%g", found.size);
    for (int i = 0; i < found.try_count; i++) {
        const struct sizing_try *try = &found.tries[i];
        cr_expect(try->grid_count != 2 || try->is_kept == (try->size >= found.size));
    }
    cr_assert_not_null(first);
    cr_expect(!first->is_kept && first->value[0] > limit && !first->is_doubtful);
    cr_expect(isnan(found.broken_above) && found.is_monotone);
}

/* In a range that one grid finds sufficient, but the finer one not; and in one where the finer
 * one's value keeps the limit, which its band does not. */
Test(sizing_cases, no_size_suffices_where_the_finer_grid_says_so)
{
    const struct sizing seen =
        size_vessel_on(87.0744 - 101325 / 9810.0, 0.01, 100, PRECISION_NORMAL);
    const struct sizing_try *fine = sizing_confirmation(&seen, seen.first_size);
    cr_assert_not_null(fine);
    const struct sizing_try *coarse = fine - 1;
    cr_assert(coarse->grid_count == 1 && coarse->value[0] < fine->value[0]);
    struct sizing found = size_vessel_on(0.5 * (coarse->value[0] + fine->value[0]), 0.01,
                                         seen.first_size, PRECISION_NORMAL);
    cr_assert(isfinite(found.first_size));
    cr_expect_eq(found.ending, SIZING_NONE_SUFFICES);
    cr_expect(isnan(found.size) && !found.is_confirmed && isnan(found.doubtful_size));
    found = size_vessel_on(fine->value[0] + 0.5 * fine->band[0], 0.01, seen.first_size,
                           PRECISION_NORMAL);
    cr_expect_eq(found.ending, SIZING_NONE_SUFFICES);
    cr_expect(isnan(found.size) && !found.is_confirmed && isfinite(found.doubtful_size));
}

Test(sizing_cases, tells_when_no_size_in_the_range_suffices)
{
    const struct sizing found = size_vessel(60, 0.01, 1);
    cr_assert_eq(found.ending, SIZING_NONE_SUFFICES);
    cr_expect(isnan(found.size));
}

Test(sizing_cases, tells_when_the_smallest_suffices)
{
    const struct sizing found = size_vessel(60, 20, 100);
    cr_assert_eq(found.ending, SIZING_SMALLEST_SUFFICES);
    cr_expect_float_eq(found.size, 20, 1e-9);
}

/* Joukowsky with the orifice law: at a head H at the gate the main still brings
 * A (V0 - (H - H0) g/a), and the relief valve, fully lifted, lets Cd As sqrt(2 g H) out (exact). */
Test(sizing_cases, relief_valve_lets_out_what_the_wave_brings)
{
    char text[4096];
    const double limit = 90;
    snprintf(
        text, sizeof text, form, 40.0, "",
        "outlets:\n  relief: {elevation: 0 m, bore: 60 mm, discharge coefficient: 0.7,\n"
        "           opens at: 60 m, overpressure: 0}\n"
        "runs:\n  side: {from: gate house, to: relief, parts: [{loss: 0.0001, bore: 200 mm}]}\n",
        40 * 19.62, 8.0);
    const struct sizing found =
        size(text, (struct sizing_wish){.part = SIZING_RELIEF,
                                        .limit_count = 1,
                                        .limits = {{SIZING_HIGHEST, limit, NETWORK_NONE}},
                                        .smallest = 0.002,
                                        .largest = 0.2,
                                        .precision = 0.001,
                                        .confirm = PRECISION_NORMAL});
    const double flow = circle_area(0.2) * (1 - (limit - 40) * 9.81 / 1200);
    const double seat = flow / (0.7 * sqrt(2 * 9.81 * limit));
    cr_assert_eq(found.ending, SIZING_FOUND);
    const double exact = sqrt(4 * seat / circle_pi);
    cr_expect_float_eq(found.first_size, exact, 0.002 * exact, "%g %g", found.first_size, exact);
    /* And so much more that the whole error band keeps the limit. */
    cr_expect(found.is_confirmed && found.size >= found.first_size && found.size < 1.01 * exact,
              "%g %g", found.size, exact);
}

/* A pump whose curve rises first takes a flywheel like any other; the limit here is no limit. */
Test(sizing_cases, a_pump_with_a_rising_curve_takes_a_flywheel)
{
    static const char text[] =
        "tanks:\n  pond: {level: 0 m, fixed: yes}\n  tower: {level: 10 m, fixed: yes}\n"
        "pumps:\n  lift:\n    flow: 0 2 4 6 L/s\n    head: 15 16 14 9 m\n    speed: 2900 rpm\n"
        "    inertia: 0.01 kg m2\n"
        "runs:\n  main: {from: pond, to: tower, parts: [{pump: lift, name: lift-1},\n"
        "         {pipe: pvc-u 63 pn10, length: 60 m}]}\n"
        "surge:\n  duration: 0.2 s\n  events: [{at: 0.1 s, stop: lift-1}]\n";
    const struct sizing found =
        size(text, (struct sizing_wish){.part = SIZING_FLYWHEEL,
                                        .limit_count = 1,
                                        .limits = {{SIZING_HIGHEST, 1000, NETWORK_NONE}},
                                        .smallest = 0.01,
                                        .largest = 1});
    cr_expect_eq(found.ending, SIZING_SMALLEST_SUFFICES);
}
