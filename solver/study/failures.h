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
#include "solver/study/failed.h"

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

/* "stuck open" ... */
const char *failed_kind_text(enum failed_kind kind);

/* False: memory ended. */
MUST_CHECK bool failures_run(const struct site *site, const struct failures_options *options,
                             struct failures *result, struct arena *arena, struct failure *failure);

#endif
