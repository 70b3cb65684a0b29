/* Non-return valves on a rising main when the pump stops. No published closing curve could be read;
 * what is asked here follows from the equations (see each test). */
#include "models/circle.h"
#include "models/non_return.h"
#include "tests/solver/surge_rig_lift.h"

enum { PUMP, VALVE, MAIN };

static const double bore = 0.0536;
static const double speed = 400.0;

/* Sump - small light pump - valve - 118 m of plastic pipe up to a tank 14 m above. */
static void make_lift(struct lift *lift, const char *type, double stop, double duration)
{
    struct rig *rig = &lift->rig;
    lift_open(lift, type, duration);
    int sump = rig_add_tank(rig, 0.0);
    int outlet = rig_add_point(rig, 0.0);
    int main = rig_add_point(rig, 0.0);
    int tank = rig_add_tank(rig, 14.0);
    double area = circle_area(bore);
    rig_add_link(rig, sump, outlet, area, &pump_element, &lift->unit, 0.0);
    rig_add_link(rig, outlet, main, circle_area(0.05), &non_return_element, &lift->valve, 0.0);
    rig_add_pipe(rig, main, tank, 118.0, area, speed, 0.0);
    rig->pipes[MAIN].friction.roughness = 1e-5;
    rig->links[MAIN].element = &pipe_element;
    rig->valve = (struct valve_place){.link = VALVE, .pump_link = PUMP};
    rig->site.valves = &rig->valve;
    rig->site.valve_count = 1;
    rig_add_gauge(rig, main, false);
    rig_add_gauge(rig, VALVE, true);
    rig_add_event(rig, SURGE_EVENT_STOP, stop, PUMP, 0.0, 0.0);
    rig->site.surge.reaches = 200;
    rig_solve_start(rig);
    rig_run(rig);
}

static struct surge_valve trip(const char *type)
{
    struct lift lift;
    make_lift(&lift, type, 0.0, 6.0);
    struct surge_valve valve = lift.rig.result.valves[0];
    cr_expect_lt(fabs(lift.rig.result.mass_residual), 1e-12);
    rig_close(&lift.rig);
    return valve;
}

Test(surge_valve, running_pump_with_open_valve_is_held)
{
    struct lift lift;
    make_lift(&lift, "spring cone", 100.0, 20.0);
    cr_expect_gt(lift.rig.start.flow[VALVE], 2e-3);
    cr_expect_lt(lift.rig.result.drift, 1e-10, "%g m", lift.rig.result.drift);
    cr_expect_gt(lift.rig.result.step_count, 10000);
    cr_expect(!lift.rig.result.valves[0].has_shut);
    rig_close(&lift.rig);
}

Test(surge_valve, every_kind_finds_an_answer_and_loses_no_water)
{
    for (int i = 0; i < non_return_type_count(); i++) {
        struct surge_valve valve = trip(non_return_type_at(i)->name);
        cr_expect(valve.has_shut, "%s", non_return_type_at(i)->name);
    }
}

/* The ranking all authors agree on (reference values, 8.2): spring before ball or swing. */
Test(surge_valve, light_spring_shuts_with_less_reverse_flow_than_a_swing_flap)
{
    struct surge_valve spring = trip("spring cone");
    struct surge_valve flap = trip("swing flap");
    struct surge_valve ideal = trip("ideal");
    cr_expect(spring.has_shut && flap.has_shut && ideal.has_shut);
    cr_expect_lt(ideal.reverse_velocity, 1e-12);
    cr_expect_lt(spring.reverse_velocity, 0.05, "%g m/s", spring.reverse_velocity);
    cr_expect_gt(flap.reverse_velocity, spring.reverse_velocity + 0.02, "%g m/s",
                 flap.reverse_velocity);
    cr_expect_lt(spring.opening_end, 1e-6);
    cr_expect_gt(flap.shut_time, 0.0);
}

static const double delay = 0.1;

/* Lifts the head by 50 m times its setting. */
static struct drop lifting_drop(const void *data, const struct instant *now, const double old[],
                                double flow, double next[])
{
    (void)data;
    (void)old;
    (void)flow;
    (void)next;
    return (struct drop){-50.0 * now->setting, 0.0};
}

static const struct motion lifting_motion = {.drop = lifting_drop};
static const struct element lifting_element = {
    .kind = "lifting", .drop = rig_no_drop, .span = rig_any_flow, .motion = &lifting_motion};

/* A column that slows evenly, d = g dH/L, meets a valve that shuts t_d after the flow has turned:
 * v_R = d t_d, and the head jumps by a v_R/g as it shuts (Joukowsky; exact for a rigid column, here
 * up to the stairs of 0.005 m/s that the waves make). */
Test(surge_valve, delayed_valve_shuts_at_deceleration_times_delay)
{
    double area = 0.01;
    const struct non_return held = {.type = "delayed",
                                    .form = NON_RETURN_IDEAL,
                                    .bore = sqrt(4.0 * area / circle_pi),
                                    .seat_area = area,
                                    .arm = 1.0,
                                    .opening_floor = 0.01,
                                    .own = {.shut_delay = delay}};
    struct rig rig;
    rig_open(&rig, 1.5);
    int sump = rig_add_tank(&rig, 0.0);
    int outlet = rig_add_point(&rig, 50.0);
    int main = rig_add_point(&rig, 50.0);
    int tank = rig_add_tank(&rig, 50.0);
    rig_add_link(&rig, sump, outlet, area, &lifting_element, NULL, area);
    rig_add_link(&rig, outlet, main, area, &non_return_element, &held, area);
    rig_add_pipe(&rig, main, tank, 50.0, area, 40000.0, area);
    rig.valve = (struct valve_place){.link = 1};
    rig.site.valves = &rig.valve;
    rig.site.valve_count = 1;
    rig_add_gauge(&rig, main, false);
    rig_add_event(&rig, SURGE_EVENT_SET, 0.2, 0, 0.8, 0.0);
    rig_run(&rig);
    const struct surge_valve *valve = &rig.result.valves[0];
    cr_assert(valve->has_shut);
    cr_expect_float_eq(valve->first_reverse_velocity, 9.81 * 10.0 / 50.0 * delay, 0.005);
    cr_expect_float_eq(valve->shut_time, 0.2 + 50.0 / (9.81 * 10.0) + delay, 0.003);
    int shut = (int)ceil(valve->shut_time / rig.result.step - 1e-6);
    double jump = rig_head(&rig, shut, 0) - rig_head(&rig, shut - 1, 0);
    cr_expect_float_eq(valve->first_slam_head, 40000.0 * valve->first_reverse_velocity / 9.81,
                       1e-6);
    cr_expect_float_eq(jump, valve->first_slam_head, 0.005 * 40000.0 / 9.81);
    rig_close(&rig);
}
