/* Instants: moments of a run at even distances, and the highest and lowest levels. */
#ifndef SOLVER_FILLING_INSTANTS_H
#define SOLVER_FILLING_INSTANTS_H

#include "solver/filling/account.h"

struct instants {
    struct works *works;
    const struct account *account;
    struct filling *result;
    double step; /* s between instants */
    int room;
};

/* Room for the instants of `duration` s, at most `limit`, fewer on a very large site. */
MUST_CHECK bool instants_init(struct instants *instants, struct works *works,
                              const struct account *account, double duration, int limit,
                              struct filling *result, struct arena *arena, struct failure *failure);

/* The time of the next instant; infinite: all are taken. */
double instants_next(const struct instants *instants);

/* Takes the instant `time` after works_evaluate with these unknowns. */
void instants_take(struct instants *instants, double time, const double y[]);

/* Notes levels after a step or an event. */
void instants_levels(struct instants *instants);

#endif
