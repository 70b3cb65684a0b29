/* Failures: what a site does when one thing in it fails: each non-return valve in turn in each of
 * its ways, each running pump, and the power of all.
 * Each is solved in steady flow with the pumps as they run and with all stopped, and through the
 * surge after the power fails (or after the one pump does). Times of tanks are those at the first
 * rate of flow, and only of tanks that would not be there as soon without the failure; levels move
 * more slowly later, so a tank lasts at least as long. */
#ifndef SOLVER_STUDY_FAILURES_H
#define SOLVER_STUDY_FAILURES_H

#include "models/arena.h"
#include "models/site.h"
#include "solver/study/failed_site.h"

/* How bad it is; the table stands in this order, the worst first. */
enum failed_grade {
    GRADE_NOTHING,
    GRADE_BACKWARD, /* water flows back, or a pump turns backward */
    GRADE_NO_WATER, /* less than half of the water arrives, or a pump may lose its prime */
    GRADE_FLOOD,    /* a tank overflows or runs dry within a day */
    GRADE_PIPE,     /* above the pipe's class, or boiling, where it would not be */
    GRADE_UNKNOWN   /* some steady answer was not found */
};

struct failed {
    enum failed_kind kind;
    int link; /* the valve or pump; NETWORK_NONE */
    enum failed_grade grade;
    bool is_solved;       /* every steady answer was found */
    bool is_surged;       /* the surge run ended */
    double delivered;     /* m3/s through the running pumps */
    double flow_back;     /* m3/s backward through the valve or a pump, running or at rest, >= 0 */
    int back_link;        /* where; NETWORK_NONE */
    int overflow_tank;    /* index; NETWORK_NONE: none does */
    double overflow_time; /* s; NAN */
    int dry_tank;
    double dry_time;      /* s; NAN */
    bool loses_prime;     /* a foot valve that does not hold below a pump above the water */
    double highest_share; /* of what the pipe allows; NAN */
    double lowest_margin; /* m above boiling; NAN */
    double lowest_speed;  /* share of rated, of the pump that turns backward most; NAN */
    int backward_pump;    /* its link; NETWORK_NONE: none turns backward */
};

struct failures {
    bool is_stopped; /* the callback said so */
    int count;
    struct failed *items; /* [count] the worst first */
    struct failed sound;  /* FAILED_NOTHING */
};

struct failures_options {
    bool (*progress)(void *user, double share_done); /* false: stop; may be NULL */
    void *user;
};

/* "stuck open" ...; "above the pipe's class" ... */
const char *failed_kind_text(enum failed_kind kind);
const char *failed_grade_text(enum failed_grade grade);

/* False: memory ended. */
MUST_CHECK bool failures_run(const struct site *site, const struct failures_options *options,
                             struct failures *result, struct arena *arena, struct failure *failure);

#endif
