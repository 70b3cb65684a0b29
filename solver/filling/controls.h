/* Controls: float switches, rest, dry-run protection, prime and duty of the pumps.
 * Rules read levels and the clock only, so that after any event one call brings every pump to where
 * it belongs. */
#ifndef SOLVER_FILLING_CONTROLS_H
#define SOLVER_FILLING_CONTROLS_H

#include "solver/filling/journal.h"
#include "solver/filling/works.h"

enum { CONTROL_STARTS_KEPT = 256 };

struct control_pump {
    double rest_until; /* s */
    double started;    /* s, last start */
    bool is_protected;
    bool is_wanted; /* by its switch, or without one by the case */
    bool has_switch;
    double prime_left;  /* m3 in the suction pipe when last noted */
    double prime_noted; /* s */
    double flood_level; /* m: passing it, the water before the pump covers or leaves its axis */
    double idle_since;  /* s running without prime; NAN: not */
    int starts;
    double run_time;
    double shortest_run; /* s; NAN: none ended */
    int most_starts;     /* in any hour */
    int primes_lost;
    double idle_run;
    double recent[CONTROL_STARTS_KEPT]; /* s, a ring of the last starts */
};

struct control_switch {
    bool *is_called;    /* [stage_count] */
    double *turn_level; /* [stage_count] m: passing it ends or begins the call */
    int next;           /* whose duty it is */
};

struct controls {
    struct works *works;
    struct journal *journal;
    struct control_pump *pumps; /* [plan.pump_count] */
    struct control_switch *switches;
};

MUST_CHECK bool controls_init(struct controls *controls, struct works *works,
                              struct journal *journal, struct arena *arena,
                              struct failure *failure);

/* Switches what the present levels ask for at `time` s; true when anything changed. */
bool controls_settle(struct controls *controls, double time);

/* The next time at which a rule may change its mind without any level doing so; infinite: none. */
double controls_next(const struct controls *controls, double time);

/* Functions that change sign where a level makes a rule change its mind. */
int controls_root_count(const struct filling_plan *plan);
void controls_roots(const struct controls *controls, double root[]);

/* Closes running times at the end. */
void controls_end(struct controls *controls, double time);

#endif
