#include "solver/study/rows.h"

#include <math.h>
#include <stddef.h>
#include <stdlib.h>

bool rows_init(struct rows *rows, int count, int measure_count, struct arena *arena,
               struct failure *failure)
{
    const size_t room = (size_t)count;
    *rows = (struct rows){.count = count, .measure_count = measure_count};
    rows->is_done = arena_take(arena, room, sizeof *rows->is_done);
    rows->status = arena_take(arena, room, sizeof *rows->status);
    rows->reason = arena_take(arena, room, sizeof(const char *));
    rows->value = arena_take(arena, room * (size_t)measure_count, sizeof *rows->value);
    if (!rows->is_done || !rows->status || !rows->reason || !rows->value) {
        return fail_memory(failure, "the rows of the study");
    }
    for (size_t i = 0; i < room * (size_t)measure_count; i++) {
        rows->value[i] = (double)NAN;
    }
    return true;
}

bool rows_put(struct rows *rows, int index, const struct row *row, struct arena *arena,
              struct failure *failure)
{
    if (rows->is_done[index]) {
        return true;
    }
    if (row->reason[0]) {
        rows->reason[index] = arena_text(arena, row->reason);
        if (!rows->reason[index]) {
            return fail_memory(failure, "the rows of the study");
        }
    }
    rows->is_done[index] = true;
    rows->status[index] = row->status;
    for (int i = 0; i < rows->measure_count; i++) {
        rows->value[(ptrdiff_t)index * rows->measure_count + i] = row->value[i];
    }
    rows->done_count++;
    return true;
}

double *rows_column(const struct rows *rows, int measure, struct arena *arena)
{
    double *column = arena_take(arena, (size_t)rows->count, sizeof *column);
    for (int i = 0; column && i < rows->count; i++) {
        column[i] = rows->value[(ptrdiff_t)i * rows->measure_count + measure];
    }
    return column;
}

bool rows_are_within(const struct rows *rows, int index, const struct study *study)
{
    const double *value = rows->value + (ptrdiff_t)index * rows->measure_count;
    if (!rows->is_done[index] || rows->status[index] != ROW_DONE) {
        return false;
    }
    for (int i = 0; i < study->limit_count; i++) {
        if (!study_limit_is_kept(&study->limits[i], value[study->limits[i].measure])) {
            return false;
        }
    }
    return true;
}

/* One row with its compared measures, turned so that more is better. */
struct contender {
    int index;
    double worth[STUDY_COMPARE_MAX];
};

/* The best in the first measure first, ties by the others, then as listed: whoever comes later
 * cannot beat whoever came before, but for equals. */
static int compare(const void *left, const void *right)
{
    const struct contender *a = left;
    const struct contender *b = right;
    for (int i = 0; i < STUDY_COMPARE_MAX; i++) {
        if (a->worth[i] > b->worth[i] || a->worth[i] < b->worth[i]) {
            return a->worth[i] > b->worth[i] ? -1 : 1;
        }
    }
    return a->index - b->index;
}

static bool beats(const struct contender *a, const struct contender *b)
{
    bool is_better = false;
    for (int i = 0; i < STUDY_COMPARE_MAX; i++) {
        if (a->worth[i] < b->worth[i]) {
            return false;
        }
        is_better = is_better || a->worth[i] > b->worth[i];
    }
    return is_better;
}

static bool enter(const struct rows *rows, int index, const struct study *study,
                  struct contender *contender)
{
    const double *value = rows->value + (ptrdiff_t)index * rows->measure_count;
    *contender = (struct contender){.index = index};
    for (int i = 0; i < study->compare_count; i++) {
        const int measure = study->compare[i];
        if (!isfinite(value[measure])) {
            return false;
        }
        contender->worth[i] =
            study->measures[measure].kind->more_is_better ? value[measure] : -value[measure];
    }
    return rows_are_within(rows, index, study);
}

bool rows_find_front(const struct rows *rows, const struct study *study, bool is_on_front[],
                     struct failure *failure)
{
    int count = 0;
    int kept = 0;
    struct contender *all = malloc(((size_t)rows->count + 1) * sizeof *all);
    if (!all) {
        return fail_memory(failure, "the rows of the study");
    }
    for (int i = 0; i < rows->count; i++) {
        is_on_front[i] = false;
        count += enter(rows, i, study, &all[count]);
    }
    qsort(all, (size_t)count, sizeof *all, compare);
    for (int i = 0; i < count; i++) {
        bool is_beaten = false;
        for (int k = 0; k < kept && !is_beaten; k++) {
            is_beaten = beats(&all[k], &all[i]);
        }
        if (!is_beaten) {
            is_on_front[all[i].index] = true;
            all[kept++] = all[i];
        }
    }
    free(all);
    return true;
}
