/* Filling plan: what a case says of a site's hours and days: tanks' shapes and weather, float
 * switches, draws over the day, timers, tariff. io/ builds it, solver/filling reads it. */
#ifndef MODELS_FILLING_PLAN_H
#define MODELS_FILLING_PLAN_H

#include "models/failure.h"
#include "models/tank_shape.h"

/* A value over time, once or again and again. Before the first time of a course without a period
 * the first value holds; after the last the last. */
struct filling_course {
    int count;           /* 0: no course */
    const double *time;  /* [count] s of the clock, rising; with a period: 0 <= time < period */
    const double *value; /* [count] */
    double period;       /* s; 0: not repeated */
    bool is_straight;    /* straight lines between the points; else each holds until the next */
};

/* What a tank has besides its network data (models/network.h). */
struct filling_tank {
    struct tank_shape shape; /* from the floor up */
    double inflow;           /* m3/s fed in, whatever happens: a spring, a mains supply */
    double rain;             /* m/s of depth */
    double catchment;        /* m2 the rain is caught on */
    double evaporation;      /* m/s of depth over the water's surface */
    double leak;             /* m3/s while there is water */
    int overflow_to;         /* tank its overflow runs to; NETWORK_NONE: away */
};

/* Where the water of a tank meets a run's end: below its elevation nothing flows out there. */
struct filling_mouth {
    int link;
    int tank;
    double elevation; /* m */
};

/* Water taken from a point or straight out of a tank; one of the two is NETWORK_NONE. */
struct filling_draw {
    int point; /* a free point; takes the place of point.draw */
    int tank;
    struct filling_course flow; /* m3/s */
    struct place place;
};

/* A float switch with one or more pumps, each stage one more of them. */
struct filling_switch {
    const char *name;
    struct place place;
    int tank;
    bool is_emptying; /* pumps out of the tank: on above, off below; else it fills the tank */
    int stage_count;
    const double *on_level;  /* [stage_count] m */
    const double *off_level; /* [stage_count] m */
    int pump_count;          /* >= 1; more than stages: standby */
    const int *pumps;        /* [pump_count] index in filling_plan.pumps, in order of duty */
    bool alternates;         /* the duty goes round at every start; else the first always leads */
    bool is_on_at_start;     /* between its levels at the start: on; else off */
};

/* What a pump has besides its machine. One for every pump link of the network. */
struct filling_pump {
    int link;
    double least_rest;    /* s between a stop and the next start */
    int protect_tank;     /* dry-run protection looks at this tank; NETWORK_NONE: none */
    double protect_level; /* m, stops at or below */
    double restart_level; /* m, allowed again at or above; > protect_level */
    double starts_limit;  /* starts in any hour that are still allowed; NAN: default */
    double prime_volume; /* m3 of water that its suction pipe holds; 0: its prime is not followed */
    double prime_leak;   /* m3/s lost through the foot valve when idle */
    int prime_tank;      /* the tank it sucks from */
    double prime_axis;   /* m; water at or above it keeps the pump primed */
    double prime_time;   /* s of running after which it primes itself again; NAN: never */
};

enum filling_timer_kind {
    FILLING_TIMER_PASSAGE, /* a link: 0 shut, else open */
    FILLING_TIMER_OPENING, /* a throttling valve: share open */
    FILLING_TIMER_PUMP     /* a pump: 0 kept off, else allowed (without a switch: on) */
};

struct filling_timer {
    enum filling_timer_kind kind;
    int link;
    struct filling_course setting; /* never straight */
    struct place place;
};

struct filling_plan {
    bool is_given;
    double duration;                  /* s; 0: not said */
    double clock;                     /* s of the day at the start */
    const struct filling_tank *tanks; /* [network.tank_count]; NULL: upright walls from area */
    int mouth_count;
    const struct filling_mouth *mouths; /* links without one leave their tank at the floor */
    int draw_count;
    const struct filling_draw *draws;
    int switch_count;
    const struct filling_switch *switches;
    int pump_count;
    const struct filling_pump *pumps; /* every pump link once */
    int timer_count;
    const struct filling_timer *timers;
    struct filling_course tariff; /* 1/J; count 0: no price */
};

/* Whether a float switch moves the pump `pump` of the plan; whether a timer does. */
bool filling_plan_has_float(const struct filling_plan *plan, int pump);
bool filling_plan_has_timer(const struct filling_plan *plan, int pump);

#endif
