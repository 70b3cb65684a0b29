#include "solver/surge/valve_watch.h"

#include "models/non_return.h"

#include <math.h>
#include <stddef.h>

/* State of the valve in a link; NULL: it has none. */
static const double *state_of(const struct groups *groups, int link)
{
    const int number = groups->lumped_of_link[link];
    if (number == NETWORK_NONE) {
        return NULL;
    }
    const struct lumped *lumped = &groups->lumped[number];
    const bool is_valve = lumped->element->motion != NULL &&
                          lumped->element->motion->state_count >= NON_RETURN_STATE_COUNT;
    return is_valve ? lumped->old : NULL;
}

void valve_watch_start(struct valve_watch watches[], const struct groups *groups,
                       struct surge *result)
{
    for (int i = 0; i < result->valve_count; i++) {
        struct surge_valve *valve = &result->valves[i];
        watches[i] = (struct valve_watch){.flow = groups_flow(groups, valve->link)};
        valve->deceleration = NAN;
        valve->later_time = NAN;
        valve->stated_reverse_velocity = NAN;
    }
}

/* m/s; slower is the round-off of a group's solution, not water that moves. */
static const double still = 1e-9;

/* The flow's first passing zero. In the step that ends at or below zero the valve may have held the
 * flow up: the step before tells how fast the water slowed. */
static void note_turn(struct valve_watch *watch, double flow, double step, double area,
                      struct surge_valve *valve)
{
    const bool is_forward = flow > still * area;
    if (isnan(valve->deceleration) && watch->flow > still * area && !is_forward) {
        valve->deceleration = fmax(0.0, -watch->rate / area);
    }
    if (is_forward) {
        watch->rate = (flow - watch->flow) / step;
    }
    watch->flow = flow;
}

static void note_shut(const double state[], double time, double area, struct surge_valve *valve)
{
    const double reverse = fmax(0.0, -state[NON_RETURN_STATE_LAST_REVERSE]) / area;
    const double at = fmin(state[NON_RETURN_STATE_SHUT_TIME], time);
    if (!valve->has_shut) {
        valve->has_shut = true;
        valve->shut_time = at;
        valve->first_reverse_velocity = reverse;
    } else if (isnan(valve->later_time) || reverse > valve->later_reverse_velocity) {
        valve->later_time = at;
        valve->later_reverse_velocity = reverse;
    }
}

void valve_watch_step(struct valve_watch watches[], const struct groups *groups, double time,
                      bool is_before_events, struct surge *result)
{
    for (int i = 0; i < result->valve_count; i++) {
        struct surge_valve *valve = &result->valves[i];
        struct valve_watch *watch = &watches[i];
        const double *state = state_of(groups, valve->link);
        const double area = groups->network->links[valve->link].area;
        const double flow = groups_flow(groups, valve->link);
        if (is_before_events || state == NULL) {
            watch->flow = flow;
        } else {
            note_turn(watch, flow, groups->grid->step, area, valve);
        }
        if (state == NULL) {
            continue;
        }
        const int shuts = (int)state[NON_RETURN_STATE_SHUTS];
        if (is_before_events) {
            watch->shuts_before = shuts;
            watch->bounces_before = state[NON_RETURN_STATE_BOUNCES];
        } else if (shuts > watch->shuts) {
            note_shut(state, time, area, valve);
        }
        watch->shuts = shuts;
    }
}

void valve_watch_end(const struct valve_watch watches[], const struct groups *groups,
                     const double impedance[], struct surge *result)
{
    for (int i = 0; i < result->valve_count; i++) {
        struct surge_valve *valve = &result->valves[i];
        const double *state = state_of(groups, valve->link);
        if (state == NULL) {
            continue;
        }
        const struct link *link = &groups->network->links[valve->link];
        const struct non_return *data = link->data;
        const double head = link->area * impedance[i]; /* a/g */
        valve->shuts = watches[i].shuts - watches[i].shuts_before;
        valve->bounces = (int)(state[NON_RETURN_STATE_BOUNCES] - watches[i].bounces_before);
        valve->first_slam_head = head * valve->first_reverse_velocity;
        valve->later_slam_head = head * valve->later_reverse_velocity;
        valve->reverse_velocity =
            fmax(valve->first_reverse_velocity, valve->later_reverse_velocity);
        valve->slam_head = head * valve->reverse_velocity;
        if (link->element == &non_return_element) {
            valve->stated_reverse_velocity = non_return_own_curve(&data->own, valve->deceleration);
            valve->stated_slam_head = head * valve->stated_reverse_velocity;
        }
    }
}
