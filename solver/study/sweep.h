/* Sweep: the variants of a study worked off by all workers of one machine.
 * Each variant is one job and each worker has a bench of its own, so a row does not depend on who
 * worked it out, nor when. What reads a variant's site may not be thread-safe, nor what keeps its
 * row: both are called by one worker at a time. When variants are shared with other machines,
 * `next` says which come here and `serve` talks with the others; a worker holds one lock around
 * `next`, `keep` and `serve`. */
#ifndef SOLVER_STUDY_SWEEP_H
#define SOLVER_STUDY_SWEEP_H

#include "solver/study/variant.h"

/* What `next` may say instead of a variant. */
enum { SWEEP_OVER = -1, SWEEP_WAIT = -2 };

struct sweep {
    int worker_count;    /* 0: as many as workers_count() says */
    int count;           /* variants */
    const bool *is_done; /* [count] rows there already; NULL: none */
    unsigned runs;       /* see variant_solve */
    int measure_count;
    const struct measure *measures; /* [measure_count] */

    /* The site of a variant, in `arena`. NULL: row's status and reason say why, or, when it is
     * everybody's trouble, `failure` has a kind. */
    const struct site *(*site)(void *site_user, int variant, struct arena *arena, struct row *row,
                               struct failure *failure);

    /* A row is there. False: no more variants shall be begun; those begun are finished and
     * kept. */
    bool (*keep)(void *keep_user, int variant, const struct row *row);

    /* The next variant for a worker of this machine; SWEEP_OVER: no more will come; SWEEP_WAIT:
     * ask again soon. NULL: all that are not done, in turn. */
    int (*next)(void *next_user);

    /* Called again and again, by the calling thread, while others work; false: `next` has nothing
     * more, and nobody must be heard. May be NULL. */
    bool (*serve)(void *serve_user);

    void *site_user;
    void *keep_user;
    void *next_user;
    void *serve_user;
};

/* Works off every variant that is not done. *is_whole: none is left. False: memory ended. */
MUST_CHECK bool sweep_run(const struct sweep *sweep, bool *is_whole, struct failure *failure);

#endif
