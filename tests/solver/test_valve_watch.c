/* How fast the water slowed as its flow passed zero, told from flows given step by step. */
#include "models/non_return.h"
#include "solver/surge/valve_watch.h"

#include <criterion/criterion.h>
#include <math.h>

enum { MOST = 8 };

static const double area = 2e-3;
static const double step = 0.01;

/* Deceleration, m/s2, that is told of a valve through which these flows, m3/s, go. */
static double told_of(int count, const double flows[])
{
    int none = NETWORK_NONE;
    int first = 0;
    struct link link = {.area = area};
    const struct network network = {.link_count = 1, .links = &link};
    const struct grid grid = {.step = step, .pipe_of_link = &none, .stub_of_link = &none};
    struct lumped lumped = {.element = &non_return_element, .flow = flows[0]};
    const struct groups groups = {
        .network = &network, .grid = &grid, .lumped = &lumped, .lumped_of_link = &first};
    struct surge_valve valve = {.link = 0};
    struct surge result = {.valve_count = 1, .valves = &valve};
    struct valve_watch watch;
    valve_watch_start(&watch, &groups, &result);
    for (int i = 1; i < count; i++) {
        lumped.flow = flows[i];
        valve_watch_step(&watch, &groups, i * step, false, &result);
    }
    return valve.deceleration;
}

Test(valve_watch, deceleration_is_that_of_the_last_step_that_ends_forward)
{
    const double flows[] = {3e-3, 2.6e-3, 1.6e-3, -0.1e-3, -0.2e-3};
    cr_expect_float_eq(told_of(5, flows), 1e-3 / step / area, 1e-9);
    cr_expect(isnan(told_of(3, flows)));
}

/* A flow that is none but for round-off (1e-20 m3/s beside another shut valve) has not passed zero:
 * neither before water runs, nor between forward flow and none. */
Test(valve_watch, round_off_of_no_flow_is_no_passing)
{
    const double before[MOST] = {0, 1e-20, 0, 1e-3, 2e-3, 1.5e-3, -0.1e-3, 0};
    cr_expect_float_eq(told_of(MOST, before), 0.5e-3 / step / area, 1e-9);
    const double between[MOST] = {3e-3, 2.6e-3, 1.6e-3, 3e-20, 2e-20, 1e-20, -7e-21, 0};
    cr_expect_float_eq(told_of(MOST, between), 1e-3 / step / area, 1e-9);
}
