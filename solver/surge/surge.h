/* Surge: what the pipes feel after a pump stops or a valve moves.
 * Method of characteristics at Courant number 1 on contiguous arrays; whatever stands between pipe
 * ends is a group of lumped elements solved together by Newton each step with the laws of the
 * steady solver; starts from the steady answer. Wylie & Streeter, Fluid Transients in Systems,
 * 1993. */
#ifndef SOLVER_SURGE_SURGE_H
#define SOLVER_SURGE_SURGE_H

#include "models/arena.h"
#include "models/site.h"
#include "solver/steady/steady.h"
#include "solver/surge/collapse.h"
#include "solver/surge/energy.h"
#include "solver/surge/protection.h"

enum surge_ending {
    SURGE_DONE,
    SURGE_GROUP_FAILED, /* a group found no answer at `time_reached` */
    SURGE_STOPPED       /* the progress callback said so */
};

/* Told now and then; false stops the run. */
typedef bool (*surge_progress)(void *user, double share_done);

struct surge_options {
    double wave_speed_change; /* share a wave speed may be adjusted to fit the grid, default 0.15 */
    double stub_crossing; /* s; pipes that waves cross sooner (and sooner than 1/64 of the longest
                             crossing) get no grid of their own; default 0.02 */
    double stub_time;     /* nor do pipes crossed in fewer steps than this; default 1 */
    int refinement;   /* the time step is at least this many times finer than it would be; default 1
                       */
    int series_limit; /* most instants kept in time series (evenly thinned), default 4000 */
    surge_progress progress; /* may be NULL */
    void *user;
};

extern const struct surge_options surge_defaults;

/* Highest and lowest along one run, at the grid points from its start. */
struct surge_run {
    int run;             /* index in network.runs */
    int count;           /* stations */
    double *distance;    /* [count] m along the run */
    double *elevation;   /* [count] m */
    double *ground;      /* [count] m, of the ground over the pipe; NAN: not surveyed */
    double *head_start;  /* [count] m */
    double *head_max;    /* [count] m */
    double *head_min;    /* [count] m */
    double *allowed;     /* [count] m of gauge pressure its class allows at this temperature; NAN */
    double *buckling;    /* [count] m of vacuum at which the wall alone buckles, short term; NAN */
    double *swing_share; /* [count] highest less lowest head, share of `allowed`; NAN: not of a
                            material that is known to tire, or its class is not known */
    double *cycles;      /* [count] up to the highest pressure until such a wall breaks; NAN */
    double *head_max_band; /* [count] m, head_max is right within this; NULL: one grid only */
    double *head_min_band; /* [count] m */
};

/* What a non-return valve did, after the first event. Velocities in its bore, >= 0. */
struct surge_valve {
    int link;
    bool has_shut;
    double shut_time;               /* s, first time it met its seat */
    double deceleration;            /* m/s2 of the flow as it first passed zero; NAN: never */
    double first_reverse_velocity;  /* m/s as it first met its seat */
    double first_slam_head;         /* m, a v_R/g of the adjoining pipe with the larger value */
    double later_time;              /* s, of the hardest of all later shuttings; NAN: none */
    double later_reverse_velocity;  /* m/s then */
    double later_slam_head;         /* m */
    double stated_reverse_velocity; /* m/s by its maker's curve at that deceleration; NAN: none */
    double stated_slam_head;        /* m */
    double reverse_velocity;        /* m/s, computed, the largest of all */
    double slam_head;               /* m */
    int shuts;                      /* how often it met its seat */
    int bounces;                    /* how often it came back from it by its restitution */
    double opening_end;             /* share open at the end */
    double first_reverse_velocity_band; /* m/s, right within this; NAN: one grid only */
    double first_slam_head_band;        /* m */
    double reverse_velocity_band;       /* m/s, right within this; NAN: one grid only */
    double slam_head_band;              /* m */
};

struct surge {
    enum surge_ending ending;
    int group_failed_point; /* a point of the group without an answer; NETWORK_NONE */
    double time_reached;    /* s */
    double step;            /* s */
    int step_count;
    double largest_wave_speed_change; /* share */
    int changed_link;                 /* whose wave speed was changed most */
    int stub_count;                   /* pipes without a grid of their own (stub.h) */
    int blind_count;                  /* of these, crossed in less than a step: of a blow that is
                                         over within it, heads there show a part only */
    int enclosed_count;               /* points that shut parts enclosed at some time: no law tells
                                         their heads then, and the last is kept (enclosed.h) */
    int enclosed_point;               /* the first of them, or NETWORK_NONE */
    double mass_residual; /* m3 gained or lost over the run: in - out - stored in elastic pipes;
                           NAN if a group failed */
    double law_residual;  /* m of head by which any step missed any law of a part or point at most;
                             flows, and steep losses of a regulator, by the impedance of pipes */
    struct surge_energy energy; /* NAN if a group failed */
    double drift;               /* m, largest change of any head before the first event */
    bool is_boiling;            /* somewhere water fell to its vapour pressure: cavities opened */
    double vapour_time;         /* s, when first; NAN: never */
    int vapour_link;            /* the pipe where, or NETWORK_NONE */
    double vapour_distance;     /* m from that pipe's start; NAN */
    int vapour_point;           /* else the point, or NETWORK_NONE */
    double largest_cavity;      /* m3 */
    double largest_time;        /* s, when that was; NAN: never */
    int largest_link;           /* and where, as for vapour_link */
    double largest_distance;
    int largest_point;
    struct surge_collapse collapse; /* the hardest blow of cavities that shut */
    int time_count;
    double *time;       /* [time_count] s */
    double *gauge_head; /* [time_count][gauge_count] m */
    double *gauge_flow; /* [time_count][gauge_count] m3/s; at a point: NAN */
    double *opening;    /* [time_count][valve_count] share */
    double *valve_flow; /* [time_count][valve_count] m3/s */
    double *speed;      /* [time_count][pump_place_count] share of rated */
    int run_count;
    struct surge_run *runs; /* [run_count] */
    int valve_count;
    struct surge_valve *valves;         /* [valve_count], in the order of site.valves */
    struct surge_protection protection; /* air vessels and air valves */
    double *head_max;                   /* [point_count] m */
    double *head_min;                   /* [point_count] m */
    double *head_max_band;              /* [point_count] m, right within this; NULL: one grid */
    double *head_min_band;              /* [point_count] m */
    int grid_count;                     /* grids that the bands come from; 1: no bands */
    double order; /* observed order of convergence; NAN: fewer than three grids */
};

/* Runs the site's plan from `start` (a converged steady answer of the same network). Arrays of the
 * result live in `arena`. False: memory ended or the plan cannot be run (failure tells where). */
MUST_CHECK bool surge_run_plan(const struct site *site, const struct network *network,
                               const struct steady *start, const struct surge_options *options,
                               struct surge *result, struct arena *arena, struct failure *failure);

#endif
