/* Rows: what is known of the variants of a study so far. */
#ifndef SOLVER_STUDY_ROWS_H
#define SOLVER_STUDY_ROWS_H

#include "solver/study/study.h"
#include "solver/study/variant.h"

struct rows {
    int count;
    int measure_count;
    int done_count;
    bool *is_done;           /* [count] */
    enum row_status *status; /* [count] */
    const char **reason;     /* [count]; NULL: none */
    double *value;           /* [count][measure_count] SI; NAN: not known */
};

/* Room for them, none done. False: memory ended. */
MUST_CHECK bool rows_init(struct rows *rows, int count, int measure_count, struct arena *arena,
                          struct failure *failure);

/* Keeps a row; a row already done stays as it is. False: memory ended. */
MUST_CHECK bool rows_put(struct rows *rows, int index, const struct row *row, struct arena *arena,
                         struct failure *failure);

/* The values of one measure, [count]. NULL: memory ended. */
double *rows_column(const struct rows *rows, int measure, struct arena *arena);

/* Whether a row is done, has an answer and keeps to every limit. */
bool rows_are_within(const struct rows *rows, int index, const struct study *study);

/* Marks in `is_on_front` [count] the rows within the limits that no other such row beats: is as
 * good in every measure of study->compare and better in one (Pareto's front). */
MUST_CHECK bool rows_find_front(const struct rows *rows, const struct study *study,
                                bool is_on_front[], struct failure *failure);

#endif
