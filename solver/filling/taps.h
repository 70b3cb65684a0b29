/* Taps: the pressure at the points where water is drawn, while it is drawn. A draw is taken
 * whatever the pressure; where the water would stand below the point, no tap gives any, and the
 * volumes that are told as given did not come. */
#ifndef SOLVER_FILLING_TAPS_H
#define SOLVER_FILLING_TAPS_H

#include "solver/filling/answers.h"
#include "solver/filling/works.h"

struct taps {
    const struct works *works;
    int count;
    struct filling_tap_answer *answers; /* [count] */
    bool *is_short; /* [count] less than nothing stood there when last looked at */
    bool *is_low;   /* [count] less than what is wanted there */
};

/* Every point with a draw, or one in the plan, that is no tank's and no open end. */
MUST_CHECK bool taps_init(struct taps *taps, const struct works *works, struct arena *arena,
                          struct failure *failure);

/* Notes the pressures at `time` s after works_evaluate with an answer. */
void taps_look(struct taps *taps, double time);

/* `seconds` went by since the last look: until then it stood as then. */
void taps_count(struct taps *taps, double seconds);

#endif
