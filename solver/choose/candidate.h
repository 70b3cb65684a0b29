/* Candidate: one kind and size of non-return valve tried at one place, and what was found of it. */
#ifndef SOLVER_CHOOSE_CANDIDATE_H
#define SOLVER_CHOOSE_CANDIDATE_H

#include "models/non_return.h"
#include "models/site.h"

#include <stdbool.h>

/* What a valve must do to be acceptable. Each is told with its value and its limit. */
enum requirement {
    REQUIREMENT_MOUNTING, /* it may stand the way this pipe runs; value, limit unused */
    REQUIREMENT_OPENS,    /* the site can open it: flow > 0; value m3/s */
    REQUIREMENT_FLOW,     /* share of the flow that a valve without loss would let through */
    REQUIREMENT_SEATS,    /* back head at rest, m, against the head that makes it tight */
    REQUIREMENT_HOLDS,    /* back head at rest, m, against the most that it holds */
    REQUIREMENT_SUCTION,  /* NPSH available less required at its pump, m */
    REQUIREMENT_DEBRIS,   /* grade 1 to 5 against the worst grade the dirt allows */
    REQUIREMENT_SLAM,     /* slam head as a share of the allowed pressure head */
    REQUIREMENT_REVERSE,  /* reverse velocity at its seat, m/s; only when the case sets a limit */
    REQUIREMENT_PRESSURE, /* highest pressure as a share of what the pipe allows */
    REQUIREMENT_VAPOUR,   /* lowest head above boiling, m */
    REQUIREMENT_COUNT
};

enum verdict {
    VERDICT_NOT_ASKED, /* does not apply, or an earlier failure made it pointless */
    VERDICT_MET,
    VERDICT_FAILED,
    VERDICT_SITE /* missed, but a valve without loss and inertia misses it too: the site's, not its
                  */
};

struct judgement {
    enum verdict verdict;
    double value; /* the worst of all cases tried */
    double limit;
    int at; /* the case it was found in: a condition, or a trip for what surge says; see envelope.h.
               NETWORK_NONE: holds whatever the case */
};

/* What the solvers say of the site with one valve in place. NAN: not computed or not known. */
struct measures {
    bool is_solved;        /* the steady solver converged */
    bool is_surged;        /* the surge run was made and ended */
    double flow;           /* m3/s through the valve */
    double delivered;      /* m3/s through all running pumps; through the valve if there is none */
    double valve_head;     /* m it takes */
    double velocity;       /* m/s in its bore */
    double opening;        /* share open, 0 to 1 */
    double power;          /* W of all pumps, at the shaft or electric where the motor is known */
    double energy;         /* J per m3 delivered */
    double suction_margin; /* m, NPSH available - required at the pump it serves */
    double back_head;      /* m on it at rest if it alone holds */
    double reverse_velocity; /* m/s as it met its seat */
    double slam_head;        /* m */
    double shut_time;        /* s after the first event */
    double allowed_head;     /* m of pressure the pipe beside it allows at this temperature */
    double highest_share;    /* highest pressure / allowed, the worst place of the whole site */
    double lowest_margin;    /* m above boiling, the worst place of the whole site */
    double highest_head;     /* m of gauge pressure there */
    double lowest_head;      /* m of gauge pressure there */
};

struct candidate {
    const char *type;                   /* catalogue name, or the case's own */
    const struct non_return_type *kind; /* NULL: the case's own valve */
    struct non_return valve;            /* complete, in the place's mounting and the case's water */
    const struct non_return *in_water;  /* [site_count] the same in each water of the envelope */
    bool is_present;                    /* the valve the case has now */
    bool is_unjudged;                   /* a surge run found no answer: slam is not known */
    int trip_count;                     /* surge cases it was run through */
    bool is_open;             /* fails nothing in these, but was not run through all: not ranked */
    struct measures measures; /* flow, heads and power as the case says; opening, margins, shutting
                                 and pressures the worst of all cases tried */
    struct judgement judgements[REQUIREMENT_COUNT];
    int failed_count;     /* here, and elsewhere beyond what the best set fails there */
    int failed_elsewhere; /* the latter */
    double fixed;         /* per cent of handicap that hangs on the valve alone: dirt and service */
    double handicap;      /* per cent, of the set with it; the least ranks first */
    double flow_lost;     /* share of the flow of valves without loss, the worst case */
    int flow_lost_at;     /* that condition */
    int slam_at;          /* the trip with the largest slam, or NETWORK_NONE */
    double energy_cost;   /* money a year; NAN: hours or price not said */
    int rank;             /* 1 is best; 0: not acceptable, or is_open */
};

/* In words: "mounting", "opens" ... */
const char *requirement_name(enum requirement requirement);

/* The candidates for one place: every catalogue type that suits it, in the nominal size of the pipe
 * and one size either side, in the mounting of the present valve. Foot valves only where the
 * present one is a foot valve, and only they there. `out` has room for `room`; returns how many. */
int candidate_list(const struct site *site, const struct valve_place *place,
                   const struct non_return *present, int room, struct candidate out[]);

/* Fills in_water[site_count]: the candidate in the water of each site (which all have the same
 * places and parts); `place` is its index in site.valves. */
void candidate_in_waters(const struct candidate *candidate, int place, int site_count,
                         const struct site *const sites[], struct non_return in_water[]);

/* A valve at that place that takes nothing, shuts at zero flow and weighs nothing: the reference.
 */
struct non_return candidate_reference(const struct non_return *present);

/* Most that candidate_list can give. */
int candidate_list_max(void);

#endif
