/* The balance of energy: exact without friction, and that of the steady flow while nothing happens.
 */
#include "models/air_vessel.h"
#include "models/circle.h"
#include "models/fitting.h"
#include "tests/solver/surge_rig.h"

/* Tank at head 0, over which energy counts - pipe - dose - drain, stopped at 0 s; no friction. */
static int stopped_main(struct rig *rig, struct rig_valve *dose, double velocity, double duration)
{
    const double area = circle_area(0.2);
    rig_open(rig, duration);
    dose->capacity = velocity * area;
    const int tank = rig_add_tank(rig, 0.0);
    const int end = rig_add_point(rig, 0.0);
    const int drain = rig_add_tank(rig, -30.0);
    rig_add_pipe(rig, tank, end, 1000.0, area, 1200.0, dose->capacity);
    const int link = rig_add_link(rig, end, drain, area, &rig_dose_element, dose, dose->capacity);
    rig_add_event(rig, SURGE_EVENT_SET, 0.0, link, 0.0, 0.0);
    rig->site.surge.reaches = 40;
    return end;
}

/* The energy of a pipe without friction is kept to round-off, whatever goes to and fro at its tank:
 * (1/2) rho A L V0^2 = 15.7 kJ swings between motion and pressure for ever (exact). */
Test(surge_energy, pipe_without_friction_loses_none)
{
    struct rig rig;
    struct rig_valve dose;
    (void)stopped_main(&rig, &dose, 1.0, 100.0);
    rig_run(&rig);
    const double swinging = 0.5 * 1000 * circle_area(0.2) * 1000;
    cr_assert_float_eq(rig.result.energy.lost_in_pipes, 0, 1e-8 * swinging);
    cr_assert_float_eq(rig.result.energy.residual, 0, 1e-8 * swinging);
    cr_assert_float_eq(rig.result.energy.from_ends - rig.result.energy.lost_in_parts,
                       rig.result.energy.stored, 1e-8 * swinging);
    rig_close(&rig);
}

/* A quarter of a period of a small swing after the stop, 2 pi sqrt(L C0/(g A n H0))/4 = 7.457 s,
 * the vessel has all of the motion's (1/2) rho A L V0^2 = 157.08 J beyond what the tank pushed in
 * (exact for a rigid column; the pipe's own elasticity and the size of the swing are within 3 %).
 */
Test(surge_energy, vessel_takes_up_the_energy_of_the_column)
{
    struct rig rig;
    struct rig_valve dose;
    struct air_vessel vessel = {.volume = 2,
                                .gas = 0.5,
                                .exponent = 1.2,
                                .joint_area = 0.1,
                                .loss_in = 1e-6,
                                .loss_out = 1e-6};
    const int end = stopped_main(&rig, &dose, 0.1, 7.457);
    rig.site.water.air_pressure = 60.0 * 9810.0; /* H0 = 60 m absolute */
    const int bottom = rig_add_tank(&rig, 0.0);
    rig_add_link(&rig, end, bottom, 0.1, &air_vessel_element, &vessel, 0.0);
    rig_run(&rig);
    const struct surge_energy *energy = &rig.result.energy;
    const double gained = energy->to_vessels - energy->from_ends + energy->lost_in_parts;
    cr_assert_float_eq(gained, -energy->stored, 1e-6 * 157.08);
    cr_assert_float_eq(energy->lost_in_pipes, 0, 1e-6 * 157.08);
    cr_assert_float_eq(gained, 157.08, 0.03 * 157.08, "%g", gained);
    rig_close(&rig);
}

/* A pipe shorter than a step (a stub) stores energy as a long one does. Half of the flow stopped at
 * its end: behind the wave motion has a quarter of what it had and pressure as much, so that of
 * (1/2) rho A L V0^2 the 500 m passed, and the short pipe, store half (exact without friction). */
Test(surge_energy, short_pipe_stores_its_share)
{
    struct rig rig;
    struct rig_valve dose;
    const double area = circle_area(0.2);
    rig_open(&rig, 0.54);
    dose.capacity = area;
    const int tank = rig_add_tank(&rig, 0.0);
    const int join = rig_add_point(&rig, 0.0);
    const int end = rig_add_point(&rig, 0.0);
    const int drain = rig_add_tank(&rig, -30.0);
    rig_add_pipe(&rig, tank, join, 1000.0, area, 1200.0, area);
    rig_add_pipe(&rig, join, end, 15.0, area, 1200.0, area);
    const int link = rig_add_link(&rig, end, drain, area, &rig_dose_element, &dose, area);
    rig_add_event(&rig, SURGE_EVENT_SET, 0.0, link, 0.5, 0.0);
    rig.site.surge.largest_step = 1000.0 / 1200.0 / 10.0;
    rig_run(&rig);
    cr_assert_eq(rig.result.stub_count, 1);
    const double moving = 0.5 * 1000.0 * area * 1015.0;
    cr_expect_float_eq(rig.result.energy.lost_in_pipes, 0.0, 1e-3 * moving, "%g of %g, stored %g",
                       rig.result.energy.lost_in_pipes, moving, rig.result.energy.stored);
    rig_close(&rig);
}
