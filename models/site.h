/* Site: a whole case in memory: the network, its water, and what the person wants to know of it.
 * Plain data; io/ builds it, solver/ reads it. */
#ifndef MODELS_SITE_H
#define MODELS_SITE_H

#include "models/choose_plan.h"
#include "models/filling_plan.h"
#include "models/network.h"
#include "models/non_return.h"
#include "models/pump.h"

#include <stddef.h>

/* A valve or a pump in the network, with what a finding must know of its place. */
struct valve_place {
    int link;
    double pipe_bore;   /* m, bore of the pipe next to it */
    bool is_on_suction; /* between a tank and the pump that draws from it */
    bool union_before;  /* a union, or flanges, on either side: it comes out without a saw */
    bool union_after;
    double straight_before; /* m of straight pipe up to the next part upstream */
    int pump_link;          /* the pump in the same run, or NETWORK_NONE */
};

struct pump_place {
    int link;
    int from_tank; /* tank its run draws from, or NETWORK_NONE */
    double axis;   /* m, elevation of its inlet point */
};

enum surge_event_kind {
    SURGE_EVENT_STOP, /* pump: the power fails */
    SURGE_EVENT_SET   /* any element with a setting: goes to `value` over `ramp` seconds */
};

struct surge_event {
    enum surge_event_kind kind;
    double at; /* s */
    int link;
    double value;
    double ramp; /* s, 0: at once */
    struct place place;
};

/* Heads that somebody measured at a gauge, to hold the run against. */
struct measured_trace {
    int count;          /* 0: none given */
    int gauge;          /* index in surge_plan.gauges */
    const double *time; /* [count] s from the run's start, rising */
    const double *head; /* [count] m */
};

struct surge_plan {
    bool is_given;
    struct place place;
    double duration;           /* s */
    double largest_step;       /* s; 0: from the shortest pipe and reaches */
    int reaches;               /* at least this many in the shortest true pipe; 0: default */
    bool is_friction_unsteady; /* friction remembers how the flow changed; else quasi-steady */
    bool is_cavity_gas;        /* cavities by a little gas everywhere; else by vapour */
    double times_a_day;        /* how often all this happens; 0: not said */
    bool is_wall_creeping;     /* walls whose creep is known follow late; else elastic */
    int event_count;
    const struct surge_event *events; /* in order of time */
    int gauge_count;
    const int *gauges; /* point or link: a link's gauge is its `to` point; see gauge_is_link */
    const bool *gauge_is_link;
    struct measured_trace measured;
};

/* What a customer will not accept; NAN where nothing was said and the default rule holds. */
struct limits {
    double least_flow_share;  /* of the flow with an ideal valve without loss, default 0.8 */
    double suction_margin;    /* m NPSH, default 0.5 */
    double reverse_velocity;  /* m/s, default NAN: judged by slam head */
    double slam_head_share;   /* of the pressure class, default 0.5 */
    double velocity_suction;  /* m/s, default 1.5 */
    double velocity_delivery; /* m/s, default 2.4 */
};

/* The dirt and the energy price the choice must reckon with. */
struct circumstances {
    bool has_fibres; /* hair, leaves, string */
    bool has_grit;
    double energy_price; /* per J; 0: not given */
    double hours_a_year; /* s a year the pumps run; 0: not given */
};

/* A table of a case as it was read. */
struct site_file {
    const char *path;
    const char *text; /* [size], and a closing zero */
    size_t size;
    const struct site_file *next;
};

struct site {
    const char *name;
    const char *path;              /* the case file */
    const char *text;              /* the case as read */
    const struct site_file *files; /* its tables, where the case has a study or a choice, for which
                                      it is read again */
    struct water water;
    double altitude; /* m */
    struct network *network;
    int pump_count;
    const struct pump *pumps; /* [pump_count] descriptions */
    int pump_place_count;
    const struct pump_place *pump_places;
    int valve_count;
    const struct valve_place *valves; /* [valve_count] every non-return valve */
    struct surge_plan surge;
    struct filling_plan filling;
    struct choose_plan choose;
    struct limits limits;
    struct circumstances circumstances;
};

#endif
