#include "io/results/trade_columns.h"

#include "io/terminal/table.h"

const struct trade_column steady_tank_columns[] = {
    {"tank", "tank", "", 1.0, TABLE_TEXT},
    {"tank_level", "level", "m", 1.0, 2},
    {"tank_inflow", "net inflow", "L/s", 1e3, 3},
    {"tank_inflow", "", "m3/h", 3600.0, 2},
    {NULL, NULL, NULL, 0.0, 0},
};

const struct trade_column steady_run_columns[] = {
    {"run", "run", "", 1.0, TABLE_TEXT},      {"run_from", "from", "", 1.0, TABLE_TEXT},
    {"run_to", "to", "", 1.0, TABLE_TEXT},    {"run_flow", "flow", "L/s", 1e3, 3},
    {"run_flow", "", "m3/h", 3600.0, 2},      {"run_velocity", "fastest pipe", "m/s", 1.0, 2},
    {"run_rise", "head gained", "m", 1.0, 2}, {NULL, NULL, NULL, 0.0, 0},
};

const struct trade_column steady_pump_columns[] = {
    {"pump", "pump", "", 1.0, TABLE_TEXT},
    {"pump_flow", "flow", "L/s", 1e3, 3},
    {"pump_head", "head", "m", 1.0, 2},
    {"pump_power", "shaft power", "kW", 1e-3, 3},
    {"npsh_available", "NPSH there", "m", 1.0, 2},
    {"npsh_required", "required", "m", 1.0, 2},
    {"npsh_margin", "margin", "m", 1.0, 2},
    {NULL, NULL, NULL, 0.0, 0},
};

const struct trade_column steady_valve_columns[] = {
    {"valve", "non-return valve", "", 1.0, TABLE_TEXT},
    {"valve_type", "type", "", 1.0, TABLE_TEXT},
    {"valve_flow", "flow", "L/s", 1e3, 3},
    {"valve_velocity", "velocity", "m/s", 1.0, 2},
    {"valve_head", "head taken", "m", 1.0, 3},
    {"valve_opening", "open", "%", 100.0, 0},
    {NULL, NULL, NULL, 0.0, 0},
};

const struct trade_column steady_point_columns[] = {
    {"point", "point", "", 1.0, TABLE_TEXT}, {"elevation", "elevation", "m", 1.0, 2},
    {"head", "head", "m", 1.0, 2},           {"pressure", "pressure", "bar", 1e-5, 3},
    {"draw", "drawn off", "L/s", 1e3, 3},    {NULL, NULL, NULL, 0.0, 0},
};

const struct trade_column surge_run_columns[] = {
    {"run", "run", "", 1.0, TABLE_TEXT},
    {"run_highest", "highest", "m", 1.0, 1},
    {"run_highest_band", "+-", "m", 1.0, 1},
    {"run_highest_at", "highest at", "m along", 1.0, 1},
    {"run_allowed", "class allows", "m", 1.0, 1},
    {"run_highest_share", "of class", "%", 100.0, 0},
    {"run_lowest", "lowest", "m", 1.0, 1},
    {"run_lowest_band", "+-", "m", 1.0, 1},
    {"run_lowest_at", "lowest at", "m along", 1.0, 1},
    {"run_lowest_margin", "above boiling", "m", 1.0, 1},
    {NULL, NULL, NULL, 0.0, 0},
};

const struct trade_column surge_valve_columns[] = {
    {"valve", "non-return valve", "", 1.0, TABLE_TEXT},
    {"valve_type", "type", "", 1.0, TABLE_TEXT},
    {"shut_time", "shut at", "s", 1.0, 3},
    {"deceleration", "slowing", "m/s2", 1.0, 2},
    {"first_reverse_velocity", "first reverse", "m/s", 1.0, 3},
    {"first_reverse_velocity_band", "+-", "m/s", 1.0, 3},
    {"reverse_velocity", "hardest reverse", "m/s", 1.0, 3},
    {"reverse_velocity_band", "+-", "m/s", 1.0, 3},
    {"slam_head", "slam", "m", 1.0, 1},
    {"slam_head_band", "+-", "m", 1.0, 1},
    {"shuts", "met its seat", "times", 1.0, 0},
    {"opening_end", "open at end", "%", 100.0, 0},
    {NULL, NULL, NULL, 0.0, 0},
};

const struct trade_column surge_vessel_columns[] = {
    {"vessel", "air vessel", "", 1.0, TABLE_TEXT},
    {"vessel_volume", "volume", "L", 1e3, 0},
    {"vessel_gas_start", "gas at start", "L", 1e3, 1},
    {"vessel_gas_min", "least", "L", 1e3, 1},
    {"vessel_gas_max", "most", "L", 1e3, 1},
    {"vessel_pressure_min", "pressure lowest", "m", 1.0, 1},
    {"vessel_pressure_max", "highest", "m", 1.0, 1},
    {"vessel_empty_time", "empty at", "s", 1.0, 2},
    {NULL, NULL, NULL, 0.0, 0},
};

const struct trade_column surge_air_valve_columns[] = {
    {"air_valve", "air valve", "", 1.0, TABLE_TEXT},
    {"air_open_time", "opened at", "s", 1.0, 2},
    {"air_volume_max", "most air", "L", 1e3, 2},
    {"air_mass_max", "of mass", "g", 1e3, 2},
    {"air_mass_end", "at end", "g", 1e3, 2},
    {"air_shuts", "let it all out", "times", 1.0, 0},
    {NULL, NULL, NULL, 0.0, 0},
};

const struct trade_column hours_tank_columns[] = {
    {"tank", "tank", "", 1.0, TABLE_TEXT},
    {"level_start", "start", "m", 1.0, 2},
    {"level_lowest", "lowest", "m", 1.0, 2},
    {"level_highest", "highest", "m", 1.0, 2},
    {"level_end", "end", "m", 1.0, 2},
    {"fed", "fed", "m3", 1.0, 2},
    {"tank_in", "came in", "m3", 1.0, 2},
    {"tank_out", "went out", "m3", 1.0, 2},
    {"overflow", "ran over", "m3", 1.0, 2},
    {"evaporation", "evaporated", "m3", 1.0, 2},
    {"dry_time", "dry", "h", 1.0 / 3600.0, 2},
    {"residence_time", "residence", "h", 1.0 / 3600.0, 2},
    {NULL, NULL, NULL, 0.0, 0},
};

const struct trade_column hours_run_columns[] = {
    {"run", "run", "", 1.0, TABLE_TEXT},
    {"run_content", "holds", "m3", 1.0, 3},
    {"run_passed", "passed", "m3", 1.0, 2},
    {"run_residence_time", "under way", "min", 1.0 / 60.0, 1},
    {NULL, NULL, NULL, 0.0, 0},
};

const struct trade_column hours_pump_columns[] = {
    {"pump", "pump", "", 1.0, TABLE_TEXT},
    {"starts", "starts", "", 1.0, 0},
    {"most_starts", "most", "an hour", 1.0, 0},
    {"run_time", "ran", "h", 1.0 / 3600.0, 2},
    {"shortest_run", "shortest", "min", 1.0 / 60.0, 1},
    {"pumped", "passed", "m3", 1.0, 2},
    {"ran_back", "ran back", "m3", 1.0, 3},
    {"energy", "energy", "kWh", 1.0 / 3.6e6, 2},
    {"cost", "cost", "", 1.0, 2},
    {"idle_run", "without prime", "h", 1.0 / 3600.0, 2},
    {"dry_run", "drew air", "h", 1.0 / 3600.0, 2},
    {NULL, NULL, NULL, 0.0, 0},
};

const struct trade_column hours_tap_columns[] = {
    {"tap", "drawn at", "", 1.0, TABLE_TEXT},
    {"tap_lowest", "lowest pressure", "m", 1.0, 2},
    {"tap_lowest_time", "after", "h", 1.0 / 3600.0, 2},
    {"tap_low_time", "less than wanted", "h", 1.0 / 3600.0, 2},
    {"tap_short_time", "less than none", "h", 1.0 / 3600.0, 2},
    {NULL, NULL, NULL, 0.0, 0},
};

const struct trade_column hours_end_columns[] = {
    {"end", "open end", "", 1.0, TABLE_TEXT},
    {"end_volume", "left there", "m3", 1.0, 2},
    {NULL, NULL, NULL, 0.0, 0},
};
