/* Filling: levels, switching and energy of a site over hours and days.
 * The volumes of the tanks are the unknowns of a differential equation whose right-hand side is the
 * steady flow at their levels. Backward differences of varying order with root finding (CVODE:
 * Hindmarsh et al. 2005, ACM Trans. Math. Softw. 31, 363-396) carry it from one switching to the
 * next: float switches, brims, lowest mouths, valves that open or shut, timers and corners of daily
 * curves each end a stretch and begin the next. All volumes that cross an edge are integrated
 * beside the levels, so the balance of water is checked on the same footing. */
#ifndef SOLVER_FILLING_FILLING_H
#define SOLVER_FILLING_FILLING_H

#include "models/arena.h"
#include "models/site.h"
#include "solver/filling/answers.h"

enum filling_ending {
    FILLING_DONE,
    FILLING_CHATTERS,    /* something switches to and fro without end: see chattering */
    FILLING_NO_ANSWER,   /* the network has no steady answer at `time_reached` */
    FILLING_STEP_FAILED, /* no time step could be found that keeps the accuracy */
    FILLING_TOO_MANY,    /* more steps or events than allowed */
    FILLING_STOPPED      /* the progress callback said so */
};

typedef bool (*filling_progress)(void *user, double share_done);

struct filling_options {
    double duration;   /* s; 0: the plan's, else a day */
    double accuracy;   /* relative error let by in a step, default 1e-7 */
    int series_limit;  /* most instants kept, evenly spaced, default 2000 */
    int event_limit;   /* most events kept (all are counted), evenly thinned, default 5000 */
    double step_limit; /* most time steps in all, default 2e8 */
    filling_progress progress; /* may be NULL */
    void *user;
};

extern const struct filling_options filling_defaults;

enum filling_event_kind {
    FILLING_PUMP_ON,
    FILLING_PUMP_OFF,
    FILLING_PROTECTED,   /* a pump is kept off: too little water before it */
    FILLING_UNPROTECTED, /* enough again */
    FILLING_PRIME_LOST,
    FILLING_PRIMED,
    FILLING_BRIM,      /* a tank begins to run over */
    FILLING_BRIM_END,  /* no more */
    FILLING_DRY,       /* a tank's lowest mouth is reached: no more flows out than in */
    FILLING_DRY_END,   /* its mouths are fed again */
    FILLING_UNCOVERED, /* a mouth above the lowest stands out of the water */
    FILLING_COVERED,
    FILLING_VALVE_OPENS, /* a non-return valve between switchings */
    FILLING_VALVE_SHUTS,
    FILLING_EVENT_KINDS
};

struct filling_event {
    double time; /* s from the start */
    enum filling_event_kind kind;
    int subject;  /* pump: number in plan.pumps; tank: its number; mouth or valve: its link */
    double level; /* m, of the tank that caused it; NAN: none */
};

struct filling {
    enum filling_ending ending;
    double time_reached; /* s */
    double step_count;
    double solve_count;  /* steady answers found */
    double switch_count; /* events in all */
    /* What chattered, or where no answer was found. */
    enum filling_event_kind chattering;
    int chattering_subject;
    /* Balance of water: stored = let in - let out + residual, m3. */
    double stored;
    double moved; /* all that crossed an edge, in and out, and what tanks gained or gave */
    double residual;
    double draws_wanted; /* m3 at points and tanks */
    double draws_given;
    int tank_count;
    struct filling_tank_answer *tanks; /* [tank_count] of the network; fixed ones: levels only */
    int run_count;
    struct filling_run_answer *runs; /* [run_count] of the network */
    int pump_count;
    struct filling_pump_answer *pumps; /* [plan.pump_count] */
    int tap_count;
    struct filling_tap_answer *taps; /* [tap_count] points where something is drawn */
    int edge_count;
    int *edges;          /* [edge_count] held points that are no moving tank's */
    double *edge_volume; /* [edge_count] m3 that left the network there, net */
    int event_count;     /* kept */
    int event_stride;    /* one in so many was kept */
    struct filling_event *events;
    int time_count;
    double *time;    /* [time_count] s */
    double *level;   /* [time_count][tank_count] m */
    double *flow;    /* [time_count][link_count] m3/s */
    double *running; /* [time_count][pump_count] 1: on */
    double *energy;  /* [time_count][pump_count] J so far */
};

/* Runs the site's plan. Arrays of the result live in `arena`. False: memory ended or the plan
 * cannot be run (failure tells where). */
MUST_CHECK bool filling_run(const struct site *site, const struct filling_options *options,
                            struct filling *result, struct arena *arena, struct failure *failure);

/* Words for people. */
const char *filling_ending_text(enum filling_ending ending);
const char *filling_event_text(enum filling_event_kind kind); /* "starts", "runs over" ... */

/* Name of what the event happened to. */
const char *filling_event_subject(const struct site *site, enum filling_event_kind kind,
                                  int subject);

#endif
