#include "solver/study/bootstrap.h"

#include "solver/study/random.h"

#include <math.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

/* All in one piece of memory. */
struct work {
    double *drawn;         /* [samples][input_count + 2] */
    struct indices *found; /* [BOOTSTRAP_DRAWS][input_count] */
    double column[BOOTSTRAP_DRAWS];
};

static int compare(const void *left, const void *right)
{
    const double a = *(const double *)left;
    const double b = *(const double *)right;
    return (a > b) - (a < b);
}

static void draw(struct random *random, int rows, int samples, const double values[],
                 double drawn[])
{
    for (ptrdiff_t k = 0; k < samples; k++) {
        const ptrdiff_t from = (ptrdiff_t)random_below(random, (uint64_t)samples);
        memcpy(drawn + k * rows, values + from * rows, (size_t)rows * sizeof *drawn);
    }
}

/* Between the 10th and 11th of 400 from either end: 2.5 of 100 lie outside on each side. A draw in
 * which nothing varies has no index; with any such there is no interval. */
static void find_ends(double column[BOOTSTRAP_DRAWS], double *low, double *high)
{
    enum { OUTSIDE = BOOTSTRAP_DRAWS / 40 };
    *low = *high = (double)NAN;
    for (int i = 0; i < BOOTSTRAP_DRAWS; i++) {
        if (!isfinite(column[i])) {
            return;
        }
    }
    qsort(column, BOOTSTRAP_DRAWS, sizeof *column, compare);
    *low = 0.5 * (column[OUTSIDE - 1] + column[OUTSIDE]);
    *high = 0.5 * (column[BOOTSTRAP_DRAWS - 1 - OUTSIDE] + column[BOOTSTRAP_DRAWS - OUTSIDE]);
}

static void find_intervals(struct work *work, int input_count, struct indices low[],
                           struct indices high[])
{
    for (int i = 0; i < input_count; i++) {
        for (ptrdiff_t k = 0; k < BOOTSTRAP_DRAWS; k++) {
            work->column[k] = work->found[k * input_count + i].first;
        }
        find_ends(work->column, &low[i].first, &high[i].first);
        for (ptrdiff_t k = 0; k < BOOTSTRAP_DRAWS; k++) {
            work->column[k] = work->found[k * input_count + i].total;
        }
        find_ends(work->column, &low[i].total, &high[i].total);
    }
}

bool bootstrap_indices(int input_count, int samples, const double values[], uint64_t seed,
                       struct indices low[], struct indices high[], struct failure *failure)
{
    const int rows = input_count + 2;
    struct random random;
    struct work work = {
        .drawn = calloc((size_t)samples * (size_t)rows, sizeof *work.drawn),
        .found = calloc((size_t)BOOTSTRAP_DRAWS * (size_t)input_count, sizeof *work.found)};
    const bool is_good = work.drawn && work.found;
    if (is_good) {
        random_init(&random, seed);
        for (ptrdiff_t k = 0; k < BOOTSTRAP_DRAWS; k++) {
            draw(&random, rows, samples, values, work.drawn);
            indices_find(input_count, samples, work.drawn, work.found + k * input_count, NULL);
        }
        find_intervals(&work, input_count, low, high);
        for (int i = 0; samples < 2 && i < input_count; i++) {
            low[i] = high[i] = (struct indices){(double)NAN, (double)NAN};
        }
    }
    free(work.drawn);
    free(work.found);
    return is_good || fail_memory(failure, "the intervals of a study");
}
