#include "solver/surge/intervals.h"

#include <math.h>
#include <stddef.h>

const struct intervals intervals_none = {.most = {0, 0}};

static void put(struct interval_half *half, int place, const struct loss_interval *interval)
{
    half->border[place] = fabs(interval->start);
    half->start[place] = interval->start;
    for (int i = 0; i < 4; i++) {
        half->cubic[i][place] = interval->cubic[i];
    }
}

/* Of one half; the most of any of its strands, 0 if one needs too many. */
static int find_half(struct interval_half half[INTERVALS_MOST], const struct loss *loss,
                     const struct bounds between[INTERVALS_HALF])
{
    int most = 1;
    for (int j = 0; j < INTERVALS_HALF; j++) {
        struct loss_interval found[INTERVALS_MOST];
        const int count =
            loss_few_intervals(loss, between[j].least, between[j].most, INTERVALS_MOST, found);
        if (count == 0) {
            return 0;
        }
        for (int i = 0; i < INTERVALS_MOST; i++) {
            put(&half[i], j, &found[i < count ? i : count - 1]);
            half[i].border[j] = i < count ? half[i].border[j] : (double)INFINITY;
        }
        most = count > most ? count : most;
    }
    return most > 2 ? INTERVALS_MOST : most;
}

void intervals_find(struct intervals *intervals, const struct loss *loss,
                    const struct bounds between[WIDEST])
{
    for (int i = 0; i < 2; i++) {
        intervals->most[i] =
            find_half(intervals->half[i], loss, between + (ptrdiff_t)i * INTERVALS_HALF);
    }
}
