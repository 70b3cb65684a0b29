/* Trade columns: in which columns people read results, on a terminal and in a report alike. A
 * value's error stands beside it under "+-"; an empty head goes on with the head before it. */
#ifndef IO_RESULTS_TRADE_COLUMNS_H
#define IO_RESULTS_TRADE_COLUMNS_H

#include "io/results/trade_table.h"

/* Of the group /steady. */
extern const struct trade_column steady_tank_columns[];
extern const struct trade_column steady_run_columns[];
extern const struct trade_column steady_pump_columns[];
extern const struct trade_column steady_valve_columns[];
extern const struct trade_column steady_point_columns[];

/* Of the group /surge. */
extern const struct trade_column surge_run_columns[];
extern const struct trade_column surge_valve_columns[];
extern const struct trade_column surge_vessel_columns[];
extern const struct trade_column surge_air_valve_columns[];

/* Of the group /filling. */
extern const struct trade_column hours_tank_columns[];
extern const struct trade_column hours_run_columns[];
extern const struct trade_column hours_pump_columns[];
extern const struct trade_column hours_tap_columns[];
extern const struct trade_column hours_end_columns[];

#endif
