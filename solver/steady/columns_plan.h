/* Columns planned: where the columns of columns.h and their entries stand, found once from the
 * shape. Which points become neighbours tells the tree of elimination (Liu 1990). */
#ifndef SOLVER_STEADY_COLUMNS_PLAN_H
#define SOLVER_STEADY_COLUMNS_PLAN_H

#include "models/failure.h"
#include "solver/steady/fold.h"

enum {
    COLUMNS_NONE = -1,
    COLUMNS_NARROW = 12 /* entries of a column that hands on, at most: see struct columns */
};

/* Wide columns that follow one another, each with all the later neighbours of the one before but
 * itself: nearly all wide ones do. What they leave to a later row is summed side by side, without
 * looking up where each entry belongs. */
struct chain {
    int first;
    int end;    /* behind its last row */
    int left;   /* entries of its last column that no later row has asked for yet */
    int behind; /* the chain that waits behind it */
};

/* A narrow column hands on what it leaves to later ones: the entry that each of its products goes
 * to is known beforehand, so that no list is searched and memory is read from end to end. From a
 * chain of wide ones, for which that would take too much memory, later columns gather what it
 * leaves to them. */
struct columns {
    int row_count;
    int entry_count;
    int pair_count;
    double operations;   /* of all columns, squares of their sizes with the pivots */
    int *end;            /* [row_count] behind the last entry of each */
    double *held;        /* [row_count] m2/s, s of each point when it is taken out */
    double *inverse;     /* [row_count] s/m2, 1/d */
    double *pivot;       /* [row_count] m2/s, d of wide columns */
    int *row;            /* [entry_count] later neighbours, by columns, rising */
    double *share;       /* [entry_count] g/d of each; before its column is taken out, g */
    int *entry;          /* [pair_count] of each pair */
    int *heir;           /* [products] entry that each product of a narrow column goes to: of the
                            first with the second, then of both with the third, and so on */
    struct chain *chain; /* by rows, and one behind the last that begins at no row */
    int *waiting;        /* [row_count] the first chain whose next entry has the row */
    double *work;        /* [row_count] conductances to the later rows; noughts between columns */
    double *sum;         /* [entries of the longest column] of what a chain leaves to a row */
};

/* As columns_new, which tells the arguments; what is worked with stands at noughts. */
MUST_CHECK bool columns_plan(struct planning *planning, int row_count, int pair_count,
                             const struct fold_pair pair[pair_count], double most,
                             struct columns **made);

#endif
