#include "solver/surge/sweep.h"

#include "models/each_width.h"

#include <math.h>

/* Nodes worked on at a time, so that a second look at them costs no memory; and places side by side
 * in which least values are gathered: whole vectors of any width. */
enum { CHUNK = 32, PLACES = 4 * WIDEST };

EACH_WIDTH
static void note_heads(int count, const double *restrict right, const double *restrict left,
                       double *restrict highest, double *restrict lowest)
{
    for (int i = 0; i < count; i++) {
        double head = 0.5 * (right[i] + left[i]);
        highest[i] = head > highest[i] ? head : highest[i];
        lowest[i] = head < lowest[i] ? head : lowest[i];
    }
}

EACH_WIDTH
void sweep_note_heads(int count, const double *restrict head, double *restrict highest,
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

EACH_WIDTH
static void take(int count, const double *restrict loss, double *restrict right,
                 double *restrict left)
{
    for (int i = 0; i < count; i++) {
        right[i] -= loss[i];
        left[i] += loss[i];
    }
}

/* Least and most of some values, held against those of others. */
EACH_WIDTH
static struct bounds find_bounds(int count, const double *restrict value)
{
    double least[PLACES];
    double most[PLACES];
    for (int j = 0; j < PLACES; j++) {
        least[j] = INFINITY;
        most[j] = -INFINITY;
    }
    int i = 0;
    for (; i + PLACES <= count; i += PLACES) {
        const double *restrict here = value + i;
        for (int j = 0; j < PLACES; j++) {
            least[j] = here[j] < least[j] ? here[j] : least[j];
            most[j] = here[j] > most[j] ? here[j] : most[j];
        }
    }
    for (; i < count; i++) {
        least[0] = value[i] < least[0] ? value[i] : least[0];
        most[0] = value[i] > most[0] ? value[i] : most[0];
    }
    for (int j = 1; j < PLACES; j++) {
        least[0] = least[j] < least[0] ? least[j] : least[0];
        most[0] = most[j] > most[0] ? most[j] : most[0];
    }
    return (struct bounds){least[0], most[0]};
}

struct bounds sweep_bounds(int count, const double value[])
{
    return find_bounds(count, value);
}

/* All at once where friction is quadratic and its series holds at every node. */
EACH_WIDTH
static void take_series(double curvature, int count, double *restrict right, double *restrict left,
                        double *restrict highest, double *restrict lowest)
{
    for (int i = 0; i < count; i++) {
        double head = 0.5 * (right[i] + left[i]);
        double difference = right[i] - left[i];
        double lost = loss_series(difference, curvature * fabs(difference));
        highest[i] = head > highest[i] ? head : highest[i];
        lowest[i] = head < lowest[i] ? head : lowest[i];
        right[i] -= lost;
        left[i] += lost;
    }
}

/* Notes heads and finds losses as if all differences lay in one interval of a table, the one of
 * `key`; returns the leading bits in which any of them does not (loss_key). */
static inline uint64_t try_interval(const struct loss_interval *interval, uint64_t key, int count,
                                    const double *restrict right, const double *restrict left,
                                    double *restrict highest, double *restrict lowest,
                                    double *restrict lost)
{
    const struct loss_interval here = *interval;
    uint64_t spread = 0;
    for (int i = 0; i < count; i++) {
        double head = 0.5 * (right[i] + left[i]);
        double difference = right[i] - left[i];
        double x = fabs(difference) - here.start;
        double size = here.cubic[0] + x * (here.cubic[1] + x * (here.cubic[2] + x * here.cubic[3]));
        lost[i] = copysign(size, difference);
        spread |= loss_key(difference) ^ key;
        highest[i] = head > highest[i] ? head : highest[i];
        lowest[i] = head < lowest[i] ? head : lowest[i];
    }
    return spread;
}

static inline void take_lost(int count, const double *restrict lost, double *restrict right,
                             double *restrict left)
{
    for (int i = 0; i < count; i++) {
        right[i] -= lost[i];
        left[i] += lost[i];
    }
}

/* Losses of a stretch that is not in one interval, or not in the one thought of. */
static void lose_chunk(const struct loss *loss, int count, const double *right, const double *left,
                       double *lost)
{
    double difference[CHUNK];
    find_differences(count, right, left, difference);
    loss_row(loss, count, difference, lost);
}

/* All at once where friction is a table: a stretch mostly lies in one interval, and that mostly is
 * the one of the stretch before. */
EACH_WIDTH
static void take_table(const struct loss *loss, int count, double *restrict right,
                       double *restrict left, double *restrict highest, double *restrict lowest)
{
    struct loss_interval interval = {0.0, {0.0, 0.0, 0.0, 0.0}};
    uint64_t key = 0;
    for (int at = 0; at < count; at += CHUNK) {
        double lost[CHUNK];
        int here = count - at < CHUNK ? count - at : CHUNK;
        double first = fabs(right[at] - left[at]);
        uint64_t spread;
        if (loss_key(first) != key && loss_interval_at(loss, first, &interval)) {
            key = loss_key(first);
        }
        if (here == CHUNK) {
            spread = try_interval(&interval, key, CHUNK, right + at, left + at, highest + at,
                                  lowest + at, lost);
        } else {
            spread = try_interval(&interval, key, here, right + at, left + at, highest + at,
                                  lowest + at, lost);
        }
        if (spread != 0) {
            lose_chunk(loss, here, right + at, left + at, lost);
        }
        if (here == CHUNK) {
            take_lost(CHUNK, lost, right + at, left + at);
        } else {
            take_lost(here, lost, right + at, left + at);
        }
    }
}

static void take_chunk(const struct sweep *sweep, const struct loss *loss, int at, int count)
{
    double lost[CHUNK];
    double *right = sweep->right + at;
    double *left = sweep->left + at;
    if (sweep->head == NULL) {
        note_heads(count, right, left, sweep->highest + at, sweep->lowest + at);
    } else {
        sweep_note_heads(count, sweep->head + at, sweep->highest + at, sweep->lowest + at);
    }
    lose_chunk(loss, count, right, left, lost);
    take(count, lost, right, left);
}

static bool is_series(const struct sweep *sweep, const struct loss *loss)
{
    return loss->kind == LOSS_QUADRATIC && loss->curvature * sweep->most <= loss_series_end;
}

void sweep_take(const struct sweep *sweep, const struct loss *loss)
{
    if (sweep->head == NULL && is_series(sweep, loss)) {
        take_series(loss->curvature, sweep->count, sweep->right, sweep->left, sweep->highest,
                    sweep->lowest);
        return;
    }
    if (sweep->head == NULL && loss->kind == LOSS_NONE) {
        note_heads(sweep->count, sweep->right, sweep->left, sweep->highest, sweep->lowest);
        return;
    }
    if (sweep->head == NULL && loss->kind == LOSS_TABLE) {
        take_table(loss, sweep->count, sweep->right, sweep->left, sweep->highest, sweep->lowest);
        return;
    }
    for (int i = 0; i < sweep->count; i += CHUNK) {
        take_chunk(sweep, loss, i, sweep->count - i < CHUNK ? sweep->count - i : CHUNK);
    }
}
