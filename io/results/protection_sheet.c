#include "io/results/protection_sheet.h"

#include <math.h>

enum { VESSEL_COLUMNS = 7, AIR_VALVE_COLUMNS = 6 };

static const struct field_head vessel_heads[VESSEL_COLUMNS] = {
    {"vessel_volume", "m3", "volume of water and gas together"},
    {"vessel_gas_start", "m3", "volume of its gas at the start"},
    {"vessel_gas_max", "m3", "largest volume of its gas"},
    {"vessel_gas_min", "m3", "smallest volume of its gas"},
    {"vessel_pressure_max", "m", "highest gauge pressure head of its gas"},
    {"vessel_pressure_min", "m", "lowest gauge pressure head of its gas"},
    {"vessel_empty_time", "s", "when it had no more water to give"},
};

static const struct field_head air_valve_heads[AIR_VALVE_COLUMNS] = {
    {"air_open_time", "s", "when it first let air in"},
    {"air_volume_max", "m3", "most air in the main at it"},
    {"air_mass_max", "kg", "largest mass of that air"},
    {"air_mass_end", "kg", "mass of air left at the end"},
    {"air_shuts", "1", "how often all its air was out again"},
    {"air_has_opened", "1", "1: it let air in"},
};

/* Names of the links and columns of numbers, one after another. */
static bool take(struct arena *arena, int count, int columns, const char ***name, double **numbers)
{
    *name = arena_take(arena, (size_t)count, sizeof **name);
    *numbers = arena_take(arena, (size_t)count * (size_t)columns, sizeof **numbers);
    return *name && *numbers;
}

static void fill(double *column, int count, int columns, const double numbers[])
{
    for (int k = 0; k < columns; k++) {
        column[(ptrdiff_t)k * count] = numbers[k];
    }
}

static bool put_vessels(struct sheet *sheet, int time, const struct network *network,
                        const struct surge_protection *protection, struct arena *arena)
{
    const int count = protection->vessel_count;
    const char **name = NULL;
    double *columns = NULL;
    if (!take(arena, count, VESSEL_COLUMNS, &name, &columns)) {
        return false;
    }
    for (int i = 0; i < count; i++) {
        const struct surge_vessel *vessel = &protection->vessels[i];
        const double numbers[VESSEL_COLUMNS] = {
            vessel->volume,       vessel->gas_start,    vessel->gas_max,   vessel->gas_min,
            vessel->pressure_max, vessel->pressure_min, vessel->empty_time};
        name[i] = network->links[vessel->link].name;
        fill(columns + i, count, VESSEL_COLUMNS, numbers);
    }
    const int along = sheet_dimension(sheet, "vessel", (size_t)count);
    sheet_texts(sheet, (struct field_head){"vessel", "1", "name of the air vessel"}, along, name);
    for (int k = 0; k < VESSEL_COLUMNS; k++) {
        sheet_numbers(sheet, vessel_heads[k], along, columns + (ptrdiff_t)k * count);
    }
    sheet_grid(sheet, (struct field_head){"vessel_gas", "m3", "volume of its gas"}, time, along,
               protection->vessel_gas);
    sheet_grid(sheet, (struct field_head){"vessel_pressure", "m", "gauge pressure head of its gas"},
               time, along, protection->vessel_pressure);
    return true;
}

static bool put_air_valves(struct sheet *sheet, int time, const struct network *network,
                           const struct surge_protection *protection, struct arena *arena)
{
    const int count = protection->air_valve_count;
    const char **name = NULL;
    double *columns = NULL;
    if (!take(arena, count, AIR_VALVE_COLUMNS, &name, &columns)) {
        return false;
    }
    for (int i = 0; i < count; i++) {
        const struct surge_air_valve *valve = &protection->air_valves[i];
        const double numbers[AIR_VALVE_COLUMNS] = {valve->open_time, valve->volume_max,
                                                   valve->mass_max,  valve->mass_end,
                                                   valve->shuts,     valve->has_opened};
        name[i] = network->links[valve->link].name;
        fill(columns + i, count, AIR_VALVE_COLUMNS, numbers);
    }
    const int along = sheet_dimension(sheet, "air_valve", (size_t)count);
    sheet_texts(sheet, (struct field_head){"air_valve", "1", "name of the air valve"}, along, name);
    for (int k = 0; k < AIR_VALVE_COLUMNS; k++) {
        const double *column = columns + (ptrdiff_t)k * count;
        if (k < 4) {
            sheet_numbers(sheet, air_valve_heads[k], along, column);
        } else {
            sheet_wholes(sheet, air_valve_heads[k], along, column);
        }
    }
    sheet_grid(sheet, (struct field_head){"air_mass", "kg", "mass of air in the main at it"}, time,
               along, protection->air_mass);
    sheet_grid(sheet, (struct field_head){"air_volume", "m3", "volume of that air"}, time, along,
               protection->air_volume);
    return true;
}

bool protection_sheet_put(struct sheet *sheet, int time, const struct network *network,
                          const struct surge_protection *protection, struct arena *arena)
{
    return (protection->vessel_count == 0 ||
            put_vessels(sheet, time, network, protection, arena)) &&
           (protection->air_valve_count == 0 ||
            put_air_valves(sheet, time, network, protection, arena));
}
