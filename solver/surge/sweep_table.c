/* The passes of a sweep (solver/surge/sweep.h) whose friction goes by a table. */
#include "solver/surge/loss_row.h"
#include "solver/surge/sweep.h"

#include <math.h>
#include <string.h>

/* Most intervals that are tried on all nodes of a chunk, rather than looked up one by one. */
enum { FEW = 8 };

/* One interval of a table. */
static inline void interval_loop(bool notes, const struct loss_interval *interval, int count,
                                 double *restrict right, double *restrict left,
                                 double *restrict highest, double *restrict lowest)
{
    const struct loss_interval here = *interval;
    for (int i = 0; i < count; i++) {
        double there = right[i];
        double back = left[i];
        double lost = loss_in_interval(&here, there - back);
        if (notes) {
            sweep_note_head(there, back, &highest[i], &lowest[i]);
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
        double lost_near = loss_in_interval(&near, difference);
        double lost_far = loss_in_interval(&far, difference);
        double lost = sweep_choose(fabs(difference) >= border, lost_far, lost_near);
        sweep_note_head(there, back, &highest[i], &lowest[i]);
        right[i] = there - lost;
        left[i] = back + lost;
    }
}

/* --- nodes one after another --- */

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
        double size = loss_in_interval(&here, fabs(difference));
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
        sweep_note_head(there, back, &highest[i], &lowest[i]);
        right[i] = there - lost[i];
        left[i] = back + lost[i];
    }
}

/* Losses of differences in a few intervals side by side: of each as if all lay in it, as far as it
 * reaches down. */
EACH_WIDTH
static void lose_in_few(const struct loss_interval *interval, int intervals, int count,
                        const double *restrict difference, double *restrict lost)
{
    for (int k = 0; k < intervals; k++) {
        const struct loss_interval here = interval[k];
        const double border = k == 0 ? 0.0 : fabs(here.start);
        for (int i = 0; i < count; i++) {
            lost[i] = sweep_choose(fabs(difference[i]) >= border,
                                   loss_in_interval(&here, difference[i]), lost[i]);
        }
    }
}

/* Wherever in the table they lie, which is `between`. */
static void lose_between(const struct loss *loss, struct bounds between, int count,
                         const double difference[], double lost[])
{
    struct loss_interval interval[FEW];
    const int few = loss_few_intervals(loss, between.least, between.most, FEW, interval);
    memset(lost, 0, (size_t)count * sizeof *lost);
    if (few > 0) {
        lose_in_few(interval, few, count, difference, lost);
    } else {
        loss_row(loss, count, difference, lost);
    }
}

void sweep_lose_mixed(const struct loss *loss, int count, const double difference[], double lost[])
{
    lose_between(loss, sweep_bounds(count, difference), count, difference, lost);
}

/* Nodes whose differences are not all in the interval thought of. */
static void take_mixed(const struct loss *loss, int count, double *right, double *left,
                       double *highest, double *lowest)
{
    double difference[SWEEP_CHUNK];
    double lost[SWEEP_CHUNK];
    sweep_find_differences(count, right, left, difference);
    const struct bounds between = sweep_bounds(count, difference);
    if (!take_few_intervals(loss, between, false, count, right, left, highest, lowest)) {
        lose_between(loss, between, count, difference, lost);
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
    for (int at = 0; at < count; at += SWEEP_CHUNK) {
        double lost[SWEEP_CHUNK];
        double *there = right + at;
        double *back = left + at;
        int here = count - at < SWEEP_CHUNK ? count - at : SWEEP_CHUNK;
        double first = fabs(there[0] - back[0]);
        uint64_t spread;
        if (loss_key(first) != key && loss_interval_at(loss, first, &interval)) {
            key = loss_key(first);
        }
        if (here == SWEEP_CHUNK) {
            spread = try_interval(&interval, key, SWEEP_CHUNK, there, back, lost);
        } else {
            spread = try_interval(&interval, key, here, there, back, lost);
        }
        if (spread != 0) {
            take_mixed(loss, here, there, back, highest + at, lowest + at);
        } else if (here == SWEEP_CHUNK) {
            note_and_take_lost(SWEEP_CHUNK, lost, there, back, highest + at, lowest + at);
        } else {
            note_and_take_lost(here, lost, there, back, highest + at, lowest + at);
        }
    }
}

void sweep_take_table(const struct sweep *sweep, const struct loss *loss)
{
    if (sweep->each != NULL) {
        sweep_take_each(sweep, loss);
        return;
    }
    const struct bounds all = {sweep->least, sweep->most};
    if (!take_few_intervals(loss, all, sweep->is_quiet[0], sweep->count, sweep->right, sweep->left,
                            sweep->highest, sweep->lowest)) {
        take_table(loss, sweep->count, sweep->right, sweep->left, sweep->highest, sweep->lowest);
    }
}
