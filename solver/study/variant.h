/* Variant: one site solved for a study, steady and, where asked, through its surge and its hours
 * and days. */
#ifndef SOLVER_STUDY_VARIANT_H
#define SOLVER_STUDY_VARIANT_H

#include "models/arena.h"
#include "solver/study/measures.h"

/* How the work on one variant ended. The numbers stand in journals: do not change them. */
enum row_status {
    ROW_DONE = 0,
    ROW_REFUSED = 1,   /* the case cannot be read with these values */
    ROW_NO_STEADY = 2, /* no steady answer */
    ROW_NO_SURGE = 3,  /* a steady answer, but the surge run found none */
    ROW_NO_FILLING = 4 /* a steady answer, but the filling run did not reach its end */
};

enum { ROW_REASON_SIZE = 200, ROW_VALUE_MAX = 40 };

struct row {
    enum row_status status;
    char reason[ROW_REASON_SIZE]; /* "" when done */
    double value[ROW_VALUE_MAX];  /* by measure; NAN: not known */
};

/* An empty row: done, every value NAN. */
void row_init(struct row *row);

/* Ends a row with a reason (borrowed only for the call). */
void row_end(struct row *row, enum row_status status, const char *reason);

/* "done", "refused", "no steady answer", "no surge answer", "no filling answer". */
const char *row_status_text(enum row_status status);

/* What one worker needs; not to be shared between threads. An answer does not depend on what the
 * bench did before. */
struct variant_bench;

struct variant_bench *variant_bench_new(struct failure *failure);
void variant_bench_free(struct variant_bench *bench);

/* Solves the site, with its surge plan and its filling plan where `runs` (enum study_run, joined)
 * has them, and fills the row's values; values of a run that failed are NAN. Working
 * memory is taken from `arena`. False: memory ended. */
MUST_CHECK bool variant_solve(struct variant_bench *bench, const struct site *site, unsigned runs,
                              int measure_count, const struct measure measures[],
                              struct arena *arena, struct row *row, struct failure *failure);

#endif
