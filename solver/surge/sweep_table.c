/* The passes of a sweep (solver/surge/sweep.h) whose friction goes by a table. */
#include "solver/surge/four.h"
#include "solver/surge/loss_row.h"
#include "solver/surge/sweep.h"

#include <math.h>

/* Chunks that are looked at before any of them is taken. */
enum { CHUNKS = 16 };

/* One interval of a table. */
EACH_WIDTH
static void note_and_take_interval(const struct loss_interval *interval, int count,
                                   double *restrict right, double *restrict left,
                                   double *restrict highest, double *restrict lowest)
{
    const struct loss_interval here = *interval;
    for (int i = 0; i < count; i++) {
        double there = right[i];
        double back = left[i];
        double lost = loss_in_interval(&here, there - back);
        sweep_note_head(there, back, &highest[i], &lowest[i]);
        right[i] = there - lost;
        left[i] = back + lost;
    }
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
static bool take_few_intervals(const struct sweep *sweep, const struct loss *loss)
{
    const struct loss_interval *interval = sweep->near->interval;
    const int found = loss_near_intervals(loss, sweep->least, sweep->most, sweep->near);
    if (found == 1) {
        note_and_take_interval(interval, sweep->count, sweep->right, sweep->left, sweep->highest,
                               sweep->lowest);
    } else if (found == 2) {
        note_and_take_intervals(interval, sweep->count, sweep->right, sweep->left, sweep->highest,
                                sweep->lowest);
    }
    return found > 0;
}

EACH_WIDTH
static void note_and_take_lost(int count, const double *restrict lost, double *restrict right,
                               double *restrict left, double *restrict highest,
                               double *restrict lowest)
{
    for (int i = 0; i < count; i++) {
        double there = right[i];
        double back = left[i];
        sweep_note_head(there, back, &highest[i], &lowest[i]);
        right[i] = there - lost[i];
        left[i] = back + lost[i];
    }
}

/* --- nodes of which too little is known: in chunks that are looked at first --- */

/* Least and most differences of a chunk's whole vectors, place by place. */
struct places {
    double least[FOUR];
    double most[FOUR];
};

EACH_WIDTH
static void find_places(int count, const double *restrict right, const double *restrict left,
                        struct places *restrict places)
{
    for (int at = 0; at < count; at += SWEEP_CHUNK) {
        const int end = count - at < SWEEP_CHUNK ? count : at + SWEEP_CHUNK;
        four least;
        four most;
        four_fill((double)INFINITY, &least);
        four_fill(-(double)INFINITY, &most);
        for (int i = at; i + FOUR <= end; i += FOUR) {
            const four there = *(const four_anywhere *)(right + i);
            const four difference = there - *(const four_anywhere *)(left + i);
            four_lower(&difference, &least);
            four_raise(&difference, &most);
        }
        four_store(places[at / SWEEP_CHUNK].least, &least);
        four_store(places[at / SWEEP_CHUNK].most, &most);
    }
}

static inline double lesser(double one, double other)
{
    return one < other ? one : other;
}

/* All differences of each chunk; those that are no numbers apart. */
static void find_ranges(int count, const double *right, const double *left, struct bounds *range)
{
    struct places places[CHUNKS];
    find_places(count, right, left, places);
    for (int i = 0; i * SWEEP_CHUNK < count; i++) {
        const double *least = places[i].least;
        const double *most = places[i].most;
        range[i].least = lesser(lesser(least[0], least[1]), lesser(least[2], least[3]));
        range[i].most = -lesser(lesser(-most[0], -most[1]), lesser(-most[2], -most[3]));
    }
    for (int i = count / FOUR * FOUR; i < count; i++) {
        struct bounds *here = &range[i / SWEEP_CHUNK];
        here->least = lesser(right[i] - left[i], here->least);
        here->most = -lesser(left[i] - right[i], -here->most);
    }
}

/* A chunk that is in more than two intervals, or beyond the table: each node is looked up. */
static void take_mixed(const struct loss *loss, int count, double *right, double *left,
                       double *highest, double *lowest)
{
    double difference[SWEEP_CHUNK];
    double lost[SWEEP_CHUNK];
    sweep_find_differences(count, right, left, difference);
    loss_row(loss, count, difference, lost);
    note_and_take_lost(count, lost, right, left, highest, lowest);
}

/* Whether all these differences lie in one interval. */
static bool are_in(struct bounds between, const struct loss_interval *interval)
{
    const double start = fabs(interval->start);
    if (start == 0.0) { /* the line through rest */
        return between.least > -interval->end && between.most < interval->end;
    }
    if (between.least >= start) {
        return between.most < interval->end && interval->start >= 0.0;
    }
    return between.least > -interval->end && between.most <= -start && interval->start <= 0.0;
}

/* Some chunks one after another. Those in the same interval are taken together. */
static void take_chunks(const struct loss *loss, int count, double *right, double *left,
                        double *highest, double *lowest)
{
    struct bounds range[CHUNKS];
    find_ranges(count, right, left, range);
    for (int at = 0, here = 0; at < count; at += here) {
        struct loss_interval interval[2];
        const struct bounds between = range[at / SWEEP_CHUNK];
        const int found = loss_intervals(loss, between.least, between.most, interval);
        int end = at + SWEEP_CHUNK;
        while (found == 1 && end < count && are_in(range[end / SWEEP_CHUNK], interval)) {
            end += SWEEP_CHUNK;
        }
        here = (end < count ? end : count) - at;
        if (found == 1) {
            note_and_take_interval(interval, here, right + at, left + at, highest + at,
                                   lowest + at);
        } else if (found == 2) {
            note_and_take_intervals(interval, here, right + at, left + at, highest + at,
                                    lowest + at);
        } else {
            take_mixed(loss, here, right + at, left + at, highest + at, lowest + at);
        }
    }
}

void sweep_take_table(const struct sweep *sweep, const struct loss *loss)
{
    enum { MOST = CHUNKS * SWEEP_CHUNK };
    if (sweep->each != NULL) {
        sweep_take_each(sweep, loss);
        return;
    }
    if (take_few_intervals(sweep, loss)) {
        return;
    }
    for (int at = 0; at < sweep->count; at += MOST) {
        take_chunks(loss, sweep->count - at < MOST ? sweep->count - at : MOST, sweep->right + at,
                    sweep->left + at, sweep->highest + at, sweep->lowest + at);
    }
}
