/* Integrator: CVODE with what a run needs: one step at a time, stops at known times, roots.
 * Backward differences; the Newton matrix is found by differences in the unknowns under error
 * control only, since nothing depends on the others. As each difference moves all rows at once,
 * sums that the rates keep are kept by the Newton steps too. */
#ifndef SOLVER_FILLING_INTEGRATOR_H
#define SOLVER_FILLING_INTEGRATOR_H

#include "models/failure.h"

enum { INTEGRATOR_COUNT_MAX = 1500 };

enum rates_ending {
    RATES_FOUND,
    RATES_NONE, /* no answer here: try a smaller step */
    RATES_FATAL /* memory ended */
};

struct integrator_system {
    int count;      /* unknowns, at most INTEGRATOR_COUNT_MAX */
    int controlled; /* rates hang on the first so many only */
    int root_count;
    double accuracy;     /* relative */
    const double *scale; /* [count] below so much times accuracy an error counts as nothing;
                            infinite: its errors are not looked at */
    enum rates_ending (*rates)(void *user, double time, const double y[], double rate[]);
    enum rates_ending (*roots)(void *user, double time, const double y[], double root[]);
    void *user;
};

enum step_ending {
    STEP_TAKEN,
    STEP_AT_STOP,
    STEP_AT_ROOT,
    STEP_NO_ANSWER, /* the rates had none, however small the step */
    STEP_FAILED
};

struct integrator;

/* NULL: failure tells. `system` is copied. */
struct integrator *integrator_new(const struct integrator_system *system, struct failure *failure);
void integrator_free(struct integrator *integrator);

/* Begins anew at `time` from y [count]. */
MUST_CHECK bool integrator_restart(struct integrator *integrator, double time, const double y[],
                                   struct failure *failure);

/* One step, not beyond `stop`; *time and y get where it ended. */
enum step_ending integrator_step(struct integrator *integrator, double stop, double *time,
                                 double y[]);

/* y at a time within the last step. */
void integrator_within(const struct integrator *integrator, double time, double y[]);

#endif
