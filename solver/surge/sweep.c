#include "solver/surge/sweep.h"

#include "solver/surge/four.h"
#include "solver/surge/loss_row.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

/* Nodes worked on at a time, so that a second look at them costs no memory. */
enum { CHUNK = SWEEP_CHUNK };

EACH_WIDTH
static void note_heads(int count, const double *restrict right, const double *restrict left,
                       double *restrict highest, double *restrict lowest)
{
    for (int i = 0; i < count; i++) {
        sweep_note_head(right[i], left[i], &highest[i], &lowest[i]);
    }
}

/* Of half of the strands of each line. */
EACH_WIDTH
static void note_half(int count, const double *restrict right, const double *restrict left,
                      double *restrict highest, double *restrict lowest)
{
    for (int v = 0; v < count; v += WIDEST) {
        EACH_PLACE
        for (int j = v; j < v + INTERVALS_HALF; j++) {
            sweep_note_head(right[j], left[j], &highest[j], &lowest[j]);
        }
    }
}

EACH_WIDTH
static void note_known_heads(int count, const double *restrict head, double *restrict highest,
                             double *restrict lowest)
{
    for (int i = 0; i < count; i++) {
        highest[i] = head[i] > highest[i] ? head[i] : highest[i];
        lowest[i] = head[i] < lowest[i] ? head[i] : lowest[i];
    }
}

EACH_WIDTH
static void find_differences(int count, const double *restrict right, const double *restrict left,
                             double *restrict difference)
{
    for (int i = 0; i < count; i++) {
        difference[i] = right[i] - left[i];
    }
}

void sweep_find_differences(int count, const double right[], const double left[],
                            double difference[])
{
    find_differences(count, right, left, difference);
}

EACH_WIDTH
static void take(int count, const double *restrict loss, double *restrict right,
                 double *restrict left)
{
    for (int i = 0; i < count; i++) {
        right[i] -= loss[i];
        left[i] += loss[i];
    }
}

/* The least and the most of some values, a multiple of FOUR, place by place. */
EACH_WIDTH
static void find_bounds(int count, const double *restrict value, double *restrict least,
                        double *restrict most)
{
    four low;
    four high;
    four_fill((double)INFINITY, &low);
    four_fill(-(double)INFINITY, &high);
    for (int i = 0; i < count; i += FOUR) {
        const four here = *(const four_anywhere *)(value + i);
        four_lower(&here, &low);
        four_raise(&here, &high);
    }
    four_store(least, &low);
    four_store(most, &high);
}

static void widen(double least, double most, struct bounds *bounds)
{
    bounds->least = least < bounds->least ? least : bounds->least;
    bounds->most = most > bounds->most ? most : bounds->most;
}

struct bounds sweep_bounds(int count, const double value[])
{
    const int whole = count > 0 ? count / FOUR * FOUR : 0;
    struct bounds bounds = {(double)INFINITY, -(double)INFINITY};
    double least[FOUR];
    double most[FOUR];
    find_bounds(whole, value, least, most);
    for (int j = 0; j < FOUR; j++) {
        widen(least[j], most[j], &bounds);
    }
    for (int i = whole; i < count; i++) {
        widen(value[i], value[i], &bounds);
    }
    return bounds;
}

/* The same of value[i] + fall i. */
EACH_WIDTH
static void find_bounds_along(int count, const double *restrict value, double fall,
                              double *restrict least, double *restrict most)
{
    four low;
    four high;
    four place = {0.0, 1.0, 2.0, 3.0};
    four_fill((double)INFINITY, &low);
    four_fill(-(double)INFINITY, &high);
    for (int i = 0; i < count; i += FOUR) {
        const four here = *(const four_anywhere *)(value + i) + fall * place;
        place += (double)FOUR;
        four_lower(&here, &low);
        four_raise(&here, &high);
    }
    four_store(least, &low);
    four_store(most, &high);
}

struct bounds sweep_bounds_along(int count, const double value[], double fall)
{
    const int whole = count > 0 ? count / FOUR * FOUR : 0;
    struct bounds bounds = {(double)INFINITY, -(double)INFINITY};
    double least[FOUR];
    double most[FOUR];
    find_bounds_along(whole, value, fall, least, most);
    for (int j = 0; j < FOUR; j++) {
        widen(least[j], most[j], &bounds);
    }
    for (int i = whole; i < count; i++) {
        widen(value[i] + fall * i, value[i] + fall * i, &bounds);
    }
    return bounds;
}

void sweep_note_means(int count, const double right[], const double left[], double highest[],
                      double lowest[])
{
    note_heads(count, right, left, highest, lowest);
}

void sweep_note_known(int count, const double head[], double highest[], double lowest[])
{
    note_known_heads(count, head, highest, lowest);
}

void sweep_note(const struct sweep *sweep)
{
    note_heads(sweep->count, sweep->right, sweep->left, sweep->highest, sweep->lowest);
}

/* --- all at once where the law has one form at every node --- */

static void take_chunk(const struct sweep *sweep, const struct loss *loss, int at, int count)
{
    double difference[CHUNK];
    double lost[CHUNK];
    double *right = sweep->right + at;
    double *left = sweep->left + at;
    if (sweep->head == NULL) {
        note_heads(count, right, left, sweep->highest + at, sweep->lowest + at);
    } else {
        note_known_heads(count, sweep->head + at, sweep->highest + at, sweep->lowest + at);
    }
    find_differences(count, right, left, difference);
    loss_row(loss, count, difference, lost);
    take(count, lost, right, left);
}

bool sweep_is_series(const struct sweep *sweep, const struct loss *loss)
{
    return sweep->most <= loss->series_end && -sweep->least <= loss->series_end;
}

/* Of the strands that are not quiet. */
static void note_strands(const struct sweep *sweep)
{
    if (!sweep->is_quiet[0] && !sweep->is_quiet[1]) {
        sweep_note(sweep);
        return;
    }
    for (int half = 0; half < 2; half++) {
        if (!sweep->is_quiet[half]) {
            const int at = half * INTERVALS_HALF;
            note_half(sweep->count, sweep->right + at, sweep->left + at, sweep->highest + at,
                      sweep->lowest + at);
        }
    }
}

/* Where the head is the mean of the two values; false: the law is then nothing special. */
static bool take_all(const struct sweep *sweep, const struct loss *loss)
{
    if (loss->kind == LOSS_NONE) {
        note_strands(sweep);
        return true;
    }
    if (loss->kind == LOSS_QUADRATIC) {
        if (sweep_is_series(sweep, loss)) {
            sweep_take_series(sweep, loss);
        }
        return sweep_is_series(sweep, loss);
    }
    sweep_take_table(sweep, loss);
    return true;
}

void sweep_take(const struct sweep *sweep, const struct loss *loss)
{
    if (sweep->head == NULL && take_all(sweep, loss)) {
        return;
    }
    for (int i = 0; i < sweep->count; i += CHUNK) {
        take_chunk(sweep, loss, i, sweep->count - i < CHUNK ? sweep->count - i : CHUNK);
    }
}
