/* Planning: where the plan of a solver puts what it keeps, and what it needs only for a while.
 * What is kept goes to an arena. What is needed for a while goes to room that somebody lends who
 * does not need it yet, since a fresh page of memory costs more than most of what is done in it;
 * where that does not suffice, to memory of its own. Pieces are given back in turn, the last first.
 */
#ifndef SOLVER_STEADY_PLANNING_H
#define SOLVER_STEADY_PLANNING_H

#include "models/arena.h"

struct planning_piece;

struct planning {
    struct arena *kept;         /* of the caller */
    unsigned char *lent;        /* [lent_size] bytes */
    size_t lent_size;           /* bytes, a whole number of pieces */
    size_t lent_used;           /* bytes */
    struct planning_piece *own; /* the newest piece that did not fit there */
};

/* Where the pieces taken from now on begin. */
struct planning_mark {
    size_t lent_used;
    struct planning_piece *own;
};

/* What is kept goes to `kept`; nothing is lent yet. */
void planning_init(struct planning *planning, struct arena *kept);

/* Lends a piece of an arena of `count` things of `size` bytes. Pieces that follow one another count
 * as one; of others the largest is used. */
void planning_lend(struct planning *planning, void *piece, size_t count, size_t size);

/* Room for `count` things of `size` bytes, with anything in it; NULL when memory ended. */
void *planning_take(struct planning *planning, size_t count, size_t size);

struct planning_mark planning_mark(const struct planning *planning);

/* Gives back what was taken since. */
void planning_give(struct planning *planning, struct planning_mark mark);

#endif
