#include "models/fatigue.h"

#include <criterion/criterion.h>
#include <math.h>

static struct pipe pipe_of(const char *material, double outside, double wall)
{
    return (struct pipe){
        .friction = {.bore = outside - 2.0 * wall}, .wall = wall, .material = wall_find(material)};
}

/* ISO 161-1: series S 10 (SDR 21) has a nominal pressure of 10 bar at a design stress of 10 MPa, as
 * S = (SDR - 1)/2 and stress = S p; 63 x 3.0 is of it. */
Test(fatigue, hoop_stress_is_the_series_times_the_pressure)
{
    const struct pipe pipe = pipe_of("pvc-u", 0.063, 0.003);
    cr_assert_float_eq(fatigue_hoop_stress(&pipe, 1e6), 10e6, 1.0);
    const struct pipe rigid = pipe_of("pvc-u", 0.063, 0.0);
    cr_assert(fatigue_hoop_stress(&rigid, 1e6) == 0.0);
}

/* N = 5.05e21 S^-4.906 at 1000 and 2000 psi, powers of ten by hand: 10^(21.70329 - 14.718) and with
 * log10(2000) = 3.30103, 10^(21.70329 - 16.19485). */
Test(fatigue, cycles_follow_vinson)
{
    const struct pipe pipe = pipe_of("pvc", 0.063, 0.003); /* stress is ten times the pressure */
    const double low = fatigue_cycles(&pipe, 100.0 * 6894.757);
    const double high = fatigue_cycles(&pipe, 200.0 * 6894.757);
    cr_assert(fabs(low / 9.666e6 - 1.0) < 1e-3 && fabs(high / 3.2243e5 - 1.0) < 1e-3);
}

Test(fatigue, no_pressure_breaks_nothing)
{
    const struct pipe pipe = pipe_of("pvc-u", 0.063, 0.003);
    cr_assert(isinf(fatigue_cycles(&pipe, 0.0)) && isinf(fatigue_cycles(&pipe, -5e4)));
}

static bool is_unknown(const struct pipe *pipe)
{
    return !fatigue_is_known(pipe) && isnan(fatigue_cycles(pipe, 1e6));
}

Test(fatigue, only_pvc_has_figures)
{
    static const char *const others[] = {"pe100", "pe80", "abs", "steel", "copper", "ductile iron"};
    for (size_t i = 0; i < sizeof others / sizeof *others; i++) {
        const struct pipe pipe = pipe_of(others[i], 0.063, 0.003);
        cr_assert(is_unknown(&pipe));
    }
}

Test(fatigue, a_wall_and_its_material_must_be_known)
{
    const struct pipe rigid = pipe_of("pvc-u", 0.063, 0.0);
    const struct pipe nameless = {.friction = {.bore = 0.05}, .wall = 0.003};
    cr_assert(is_unknown(&rigid) && is_unknown(&nameless));
}

/* One event a day counts twice: 36 525 x 2 cycles are a hundred years. */
Test(fatigue, an_event_counts_twice)
{
    cr_assert_float_eq(fatigue_years(73050.0, 1.0), 100.0, 1e-12);
    cr_assert_float_eq(fatigue_years(73050.0, 4.0), 25.0, 1e-12);
}
