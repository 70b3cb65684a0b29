#include "solver/surge/sweep.h"

#include "models/each_width.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

/* Nodes worked on at a time, so that a second look at them costs no memory; and places side by side
 * in which least values are gathered: whole vectors of any width. */
enum { CHUNK = 32, PLACES = 2 * WIDEST };

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

/* --- all at once where the law has one form at every node --- */

static inline void note_head(double right, double left, double *highest, double *lowest)
{
    double head = 0.5 * (right + left);
    *highest = head > *highest ? head : *highest;
    *lowest = head < *lowest ? head : *lowest;
}

/* The series of quadratic friction with this many terms. */
static inline void series_loop(int terms, bool notes, const double series[LOSS_TERMS], int count,
                               double *restrict right, double *restrict left,
                               double *restrict highest, double *restrict lowest)
{
    for (int i = 0; i < count; i++) {
        double there = right[i];
        double back = left[i];
        double lost = loss_sum(series, terms, there - back);
        if (notes) {
            note_head(there, back, &highest[i], &lowest[i]);
        }
        right[i] = there - lost;
        left[i] = back + lost;
    }
}

#define SERIES(name, terms, notes)                                                                 \
    EACH_WIDTH                                                                                     \
    static void name(const double series[LOSS_TERMS], int count, double *restrict right,           \
                     double *restrict left, double *restrict highest, double *restrict lowest)     \
    {                                                                                              \
        series_loop(terms, notes, series, count, right, left, highest, lowest);                    \
    }

SERIES(take_two, 2, false)
SERIES(take_three, 3, false)
SERIES(take_four, 4, false)
SERIES(note_and_take_two, 2, true)
SERIES(note_and_take_three, 3, true)
SERIES(note_and_take_four, 4, true)

static void take_series(const struct sweep *sweep, const struct loss *loss)
{
    typedef void form(const double *series, int count, double *restrict right,
                      double *restrict left, double *restrict highest, double *restrict lowest);
    static form *const forms[2][3] = {
        {note_and_take_two, note_and_take_three, note_and_take_four},
        {take_two, take_three, take_four},
    };
    forms[sweep->is_quiet][loss->terms - 2](loss->series, sweep->count, sweep->right, sweep->left,
                                            sweep->highest, sweep->lowest);
}

static inline double interval_loss(const struct loss_interval *interval, double difference)
{
    const double *cubic = interval->cubic;
    double x = difference - interval->start;
    return cubic[0] + x * (cubic[1] + x * (cubic[2] + x * cubic[3]));
}

/* One interval of a table. */
static inline void interval_loop(bool notes, const struct loss_interval *interval, int count,
                                 double *restrict right, double *restrict left,
                                 double *restrict highest, double *restrict lowest)
{
    const struct loss_interval here = *interval;
    for (int i = 0; i < count; i++) {
        double there = right[i];
        double back = left[i];
        double lost = interval_loss(&here, there - back);
        if (notes) {
            note_head(there, back, &highest[i], &lowest[i]);
        }
        right[i] = there - lost;
        left[i] = back + lost;
    }
}

EACH_WIDTH
static void take_interval(const struct loss_interval *interval, int count, double *restrict right,
                          double *restrict left)
{
    interval_loop(false, interval, count, right, left, NULL, NULL);
}

EACH_WIDTH
static void note_and_take_interval(const struct loss_interval *interval, int count,
                                   double *restrict right, double *restrict left,
                                   double *restrict highest, double *restrict lowest)
{
    interval_loop(true, interval, count, right, left, highest, lowest);
}

/* An interval for each place of a vector. */
static EACH_BODY void each_loop(bool notes, const struct sweep_each *each, int count,
                                double *restrict right, double *restrict left,
                                double *restrict highest, double *restrict lowest)
{
    const struct sweep_each here = *each;
    for (int v = 0; v < count; v += WIDEST) {
        EACH_PLACE
        for (int j = 0; j < WIDEST; j++) {
            double there = right[v + j];
            double back = left[v + j];
            double x = there - back - here.start[j];
            double lost = here.cubic[0][j] +
                          x * (here.cubic[1][j] + x * (here.cubic[2][j] + x * here.cubic[3][j]));
            if (notes) {
                note_head(there, back, &highest[v + j], &lowest[v + j]);
            }
            right[v + j] = there - lost;
            left[v + j] = back + lost;
        }
    }
}

EACH_WIDTH
static void take_each(const struct sweep_each *each, int count, double *restrict right,
                      double *restrict left)
{
    each_loop(false, each, count, right, left, NULL, NULL);
}

EACH_WIDTH
static void note_and_take_each(const struct sweep_each *each, int count, double *restrict right,
                               double *restrict left, double *restrict highest,
                               double *restrict lowest)
{
    each_loop(true, each, count, right, left, highest, lowest);
}

/* The one or the other by their bits: compilers make a branch of the plain question, and no vectors
 * of a branch. */
static inline double choose(bool is_first, double first, double second)
{
    uint64_t one;
    uint64_t other;
    uint64_t mask = is_first ? UINT64_MAX : 0;
    memcpy(&one, &first, sizeof one);
    memcpy(&other, &second, sizeof other);
    one = (one & mask) | (other & ~mask);
    memcpy(&first, &one, sizeof first);
    return first;
}

/* Two intervals of a table side by side. */
EACH_WIDTH
static void note_and_take_intervals(const struct loss_interval interval[2], int count,
                                    double *restrict right, double *restrict left,
                                    double *restrict highest, double *restrict lowest)
{
    const struct loss_interval near = interval[0];
    const struct loss_interval far = interval[1];
    const double border = fabs(far.start);
    for (int i = 0; i < count; i++) {
        double there = right[i];
        double back = left[i];
        double difference = there - back;
        double lost_near = interval_loss(&near, difference);
        double lost_far = interval_loss(&far, difference);
        double lost = choose(fabs(difference) >= border, lost_far, lost_near);
        note_head(there, back, &highest[i], &lowest[i]);
        right[i] = there - lost;
        left[i] = back + lost;
    }
}

/* --- by a table --- */

/* Nodes whose differences lie between these. False: in too many intervals; nothing is done. */
static bool take_few_intervals(const struct loss *loss, struct bounds between, bool is_quiet,
                               int count, double *right, double *left, double *highest,
                               double *lowest)
{
    struct loss_interval interval[2];
    const int found = loss_intervals(loss, between.least, between.most, interval);
    if (found == 1 && is_quiet) {
        take_interval(&interval[0], count, right, left);
    } else if (found == 1) {
        note_and_take_interval(&interval[0], count, right, left, highest, lowest);
    } else if (found == 2) {
        note_and_take_intervals(interval, count, right, left, highest, lowest);
    }
    return found > 0;
}

/* Finds losses as if all differences lay in one interval of a table, the one of `key`; returns the
 * leading bits in which any of them does not (loss_key). */
static inline uint64_t try_interval(const struct loss_interval *interval, uint64_t key, int count,
                                    const double *restrict right, const double *restrict left,
                                    double *restrict lost)
{
    const struct loss_interval here = *interval;
    uint64_t spread = 0;
    for (int i = 0; i < count; i++) {
        double difference = right[i] - left[i];
        double x = fabs(difference) - here.start;
        double size = here.cubic[0] + x * (here.cubic[1] + x * (here.cubic[2] + x * here.cubic[3]));
        lost[i] = copysign(size, difference);
        spread |= loss_key(difference) ^ key;
    }
    return spread;
}

/* In a loop of its own, since vectors of both would not all find a register. */
static inline void note_and_take_lost(int count, const double *restrict lost,
                                      double *restrict right, double *restrict left,
                                      double *restrict highest, double *restrict lowest)
{
    for (int i = 0; i < count; i++) {
        double there = right[i];
        double back = left[i];
        note_head(there, back, &highest[i], &lowest[i]);
        right[i] = there - lost[i];
        left[i] = back + lost[i];
    }
}

/* A stretch whose differences are not all in the interval thought of. */
static void take_mixed(const struct loss *loss, int count, double *right, double *left,
                       double *highest, double *lowest)
{
    double difference[CHUNK];
    double lost[CHUNK];
    find_differences(count, right, left, difference);
    const struct bounds between = find_bounds(count, difference);
    if (!take_few_intervals(loss, between, false, count, right, left, highest, lowest)) {
        loss_row(loss, count, difference, lost);
        note_and_take_lost(count, lost, right, left, highest, lowest);
    }
}

/* A stretch mostly lies in one interval, and that mostly is the one of the stretch before. */
EACH_WIDTH
static void take_table(const struct loss *loss, int count, double *restrict right,
                       double *restrict left, double *restrict highest, double *restrict lowest)
{
    struct loss_interval interval = {0};
    uint64_t key = 0;
    for (int at = 0; at < count; at += CHUNK) {
        double lost[CHUNK];
        double *there = right + at;
        double *back = left + at;
        int here = count - at < CHUNK ? count - at : CHUNK;
        double first = fabs(there[0] - back[0]);
        uint64_t spread;
        if (loss_key(first) != key && loss_interval_at(loss, first, &interval)) {
            key = loss_key(first);
        }
        if (here == CHUNK) {
            spread = try_interval(&interval, key, CHUNK, there, back, lost);
        } else {
            spread = try_interval(&interval, key, here, there, back, lost);
        }
        if (spread != 0) {
            take_mixed(loss, here, there, back, highest + at, lowest + at);
        } else if (here == CHUNK) {
            note_and_take_lost(CHUNK, lost, there, back, highest + at, lowest + at);
        } else {
            note_and_take_lost(here, lost, there, back, highest + at, lowest + at);
        }
    }
}

static void take_by_table(const struct sweep *sweep, const struct loss *loss)
{
    if (sweep->each != NULL && sweep->is_quiet) {
        take_each(sweep->each, sweep->count, sweep->right, sweep->left);
        return;
    }
    if (sweep->each != NULL) {
        note_and_take_each(sweep->each, sweep->count, sweep->right, sweep->left, sweep->highest,
                           sweep->lowest);
        return;
    }
    const struct bounds all = {sweep->least, sweep->most};
    if (!take_few_intervals(loss, all, sweep->is_quiet, sweep->count, sweep->right, sweep->left,
                            sweep->highest, sweep->lowest)) {
        take_table(loss, sweep->count, sweep->right, sweep->left, sweep->highest, sweep->lowest);
    }
}

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

/* Where the head is the mean of the two values; false: the law is then nothing special. */
static bool take_all(const struct sweep *sweep, const struct loss *loss)
{
    if (loss->kind == LOSS_NONE) {
        if (!sweep->is_quiet) {
            note_heads(sweep->count, sweep->right, sweep->left, sweep->highest, sweep->lowest);
        }
        return true;
    }
    if (loss->kind == LOSS_QUADRATIC) {
        if (sweep_is_series(sweep, loss)) {
            take_series(sweep, loss);
        }
        return sweep_is_series(sweep, loss);
    }
    take_by_table(sweep, loss);
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
