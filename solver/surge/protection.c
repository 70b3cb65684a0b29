#include "solver/surge/protection.h"

#include "models/air_valve.h"
#include "models/air_vessel.h"
#include "solver/surge/groups.h"

#include <math.h>

/* A vessel with less water than this share of its volume has run empty. */
static const double empty_share = 1e-9;

static const double *state_of(const struct groups *groups, int link)
{
    return groups->lumped[groups->lumped_of_link[link]].old;
}

/* Gauge head, m, of an absolute gas pressure. */
static double gauge_head(const struct groups *groups, int link, double pressure)
{
    const struct water *water = groups->lumped[groups->lumped_of_link[link]].now.water;
    return water_head(water, pressure - water->air_pressure);
}

static void count_parts(struct surge_protection *protection, const struct groups *groups)
{
    for (int i = 0; i < groups->network->link_count; i++) {
        const struct element *element = groups->network->links[i].element;
        protection->vessel_count += element == &air_vessel_element;
        protection->air_valve_count += element == &air_valve_element;
    }
}

static void find_parts(struct surge_protection *protection, const struct groups *groups)
{
    int vessel = 0;
    int valve = 0;
    for (int i = 0; i < groups->network->link_count; i++) {
        const struct link *link = &groups->network->links[i];
        if (link->element == &air_vessel_element) {
            const double *state = state_of(groups, i);
            const double gas = state[AIR_VESSEL_STATE_GAS];
            const double pressure = gauge_head(groups, i, state[AIR_VESSEL_STATE_PRESSURE]);
            protection->vessels[vessel++] =
                (struct surge_vessel){.link = i,
                                      .volume = ((const struct air_vessel *)link->data)->volume,
                                      .gas_start = gas,
                                      .gas_max = gas,
                                      .gas_min = gas,
                                      .pressure_max = pressure,
                                      .pressure_min = pressure,
                                      .empty_time = NAN};
        } else if (link->element == &air_valve_element) {
            protection->air_valves[valve++] = (struct surge_air_valve){.link = i, .open_time = NAN};
        }
    }
}

bool protection_init(struct surge_protection *protection, const struct groups *groups, int room,
                     struct arena *arena, struct failure *failure)
{
    *protection = (struct surge_protection){0};
    count_parts(protection, groups);
    const size_t vessels = (size_t)protection->vessel_count;
    const size_t valves = (size_t)protection->air_valve_count;
    const size_t rows = (size_t)room;
    protection->vessels = arena_take(arena, vessels, sizeof *protection->vessels);
    protection->air_valves = arena_take(arena, valves, sizeof *protection->air_valves);
    protection->vessel_gas = arena_take(arena, rows * vessels, sizeof(double));
    protection->vessel_pressure = arena_take(arena, rows * vessels, sizeof(double));
    protection->air_mass = arena_take(arena, rows * valves, sizeof(double));
    protection->air_volume = arena_take(arena, rows * valves, sizeof(double));
    if (protection->vessels == NULL || protection->air_valves == NULL ||
        protection->vessel_gas == NULL || protection->vessel_pressure == NULL ||
        protection->air_mass == NULL || protection->air_volume == NULL) {
        return fail_memory(failure, "surge results");
    }
    find_parts(protection, groups);
    return true;
}

static void watch_vessel(struct surge_vessel *vessel, const struct groups *groups, double time)
{
    const double *state = state_of(groups, vessel->link);
    const double gas = state[AIR_VESSEL_STATE_GAS];
    const double pressure = gauge_head(groups, vessel->link, state[AIR_VESSEL_STATE_PRESSURE]);
    vessel->gas_max = fmax(vessel->gas_max, gas);
    vessel->gas_min = fmin(vessel->gas_min, gas);
    vessel->pressure_max = fmax(vessel->pressure_max, pressure);
    vessel->pressure_min = fmin(vessel->pressure_min, pressure);
    if (!vessel->has_run_empty && gas >= vessel->volume * (1.0 - empty_share)) {
        vessel->has_run_empty = true;
        vessel->empty_time = time;
    }
}

static void watch_air_valve(struct surge_air_valve *valve, const struct groups *groups, double time)
{
    const double *state = state_of(groups, valve->link);
    const double mass = state[AIR_VALVE_STATE_MASS];
    if (mass > 0.0 && !valve->has_opened) {
        valve->has_opened = true;
        valve->open_time = time;
    }
    valve->shuts += valve->mass_end > 0.0 && !(mass > 0.0);
    valve->mass_max = fmax(valve->mass_max, mass);
    valve->volume_max = fmax(valve->volume_max, state[AIR_VALVE_STATE_VOLUME]);
    valve->mass_end = mass;
}

void protection_watch(struct surge_protection *protection, const struct groups *groups, double time)
{
    for (int i = 0; i < protection->vessel_count; i++) {
        watch_vessel(&protection->vessels[i], groups, time);
    }
    for (int i = 0; i < protection->air_valve_count; i++) {
        watch_air_valve(&protection->air_valves[i], groups, time);
    }
}

void protection_note(struct surge_protection *protection, const struct groups *groups, int row)
{
    for (int i = 0; i < protection->vessel_count; i++) {
        const int link = protection->vessels[i].link;
        const double *state = state_of(groups, link);
        const int place = row * protection->vessel_count + i;
        protection->vessel_gas[place] = state[AIR_VESSEL_STATE_GAS];
        protection->vessel_pressure[place] =
            gauge_head(groups, link, state[AIR_VESSEL_STATE_PRESSURE]);
    }
    for (int i = 0; i < protection->air_valve_count; i++) {
        const double *state = state_of(groups, protection->air_valves[i].link);
        const int place = row * protection->air_valve_count + i;
        protection->air_mass[place] = state[AIR_VALVE_STATE_MASS];
        protection->air_volume[place] = state[AIR_VALVE_STATE_VOLUME];
    }
}
