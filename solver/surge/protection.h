/* Protection: what air vessels and air valves did while the run went on. */
#ifndef SOLVER_SURGE_PROTECTION_H
#define SOLVER_SURGE_PROTECTION_H

#include "models/arena.h"
#include "models/failure.h"

struct groups;

struct surge_vessel {
    int link;
    double volume;       /* m3, of water and gas together */
    double gas_start;    /* m3 */
    double gas_max;      /* m3, when most of its water was out */
    double gas_min;      /* m3 */
    double pressure_max; /* m of gauge head, of its gas */
    double pressure_min;
    bool has_run_empty; /* it had no more water to give */
    double empty_time;  /* s, when first; NAN: never */
};

struct surge_air_valve {
    int link;
    bool has_opened;
    double open_time;  /* s, when first; NAN: never */
    double volume_max; /* m3 of air in the main at it, the most */
    double mass_max;   /* kg */
    double mass_end;   /* kg still there at the end */
    int shuts;         /* how often all its air was out again */
};

struct surge_protection {
    int vessel_count;
    struct surge_vessel *vessels; /* [vessel_count] in the order of links */
    double *vessel_gas;           /* [time_count][vessel_count] m3 */
    double *vessel_pressure;      /* [time_count][vessel_count] m of gauge head */
    int air_valve_count;
    struct surge_air_valve *air_valves; /* [air_valve_count] */
    double *air_mass;                   /* [time_count][air_valve_count] kg */
    double *air_volume;                 /* [time_count][air_valve_count] m3 */
};

/* Finds them and makes room for `room` instants. */
MUST_CHECK bool protection_init(struct surge_protection *protection, const struct groups *groups,
                                int room, struct arena *arena, struct failure *failure);

/* Notes the state at the end of a step, at `time` s; then, with a row, in the series too. */
void protection_watch(struct surge_protection *protection, const struct groups *groups,
                      double time);
void protection_note(struct surge_protection *protection, const struct groups *groups, int row);

#endif
