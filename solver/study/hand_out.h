/* Hand out: which variants are still to be begun, and who holds those in work.
 * Whoever takes a variant is its holder until its row is there; what a holder will not finish can
 * be given back and goes to the next who asks. */
#ifndef SOLVER_STUDY_HAND_OUT_H
#define SOLVER_STUDY_HAND_OUT_H

#include "models/arena.h"
#include "models/failure.h"

enum { HAND_OUT_NONE = -1, HAND_OUT_FREE = -1 };

struct hand_out {
    int count;
    const bool *is_done; /* [count] borrowed: rows that are there; others set it. NULL: none is */
    int *holder;         /* [count] a number >= 0, or HAND_OUT_FREE */
    int next;            /* none before this one is free */
};

/* Nobody holds any. False: memory ended. */
MUST_CHECK bool hand_out_init(struct hand_out *hand_out, int count, const bool is_done[],
                              struct arena *arena, struct failure *failure);

/* The first variant that is neither done nor held; now `holder` holds it. HAND_OUT_NONE: none. */
int hand_out_take(struct hand_out *hand_out, int holder);

/* Frees what `holder` holds and is not done; returns how many. */
int hand_out_give_back(struct hand_out *hand_out, int holder);

#endif
