/* The passes of a sweep (solver/surge/sweep.h) over strands side by side whose friction goes by a
 * table. */
#include "solver/surge/loss_row.h"
#include "solver/surge/sweep.h"

#include <math.h>
#include <string.h>

enum { HALF = INTERVALS_HALF };

static EACH_BODY double half_loss(const struct interval_half *half, int j, double difference)
{
    double x = difference - half->start[j];
    return half->cubic[0][j] +
           x * (half->cubic[1][j] + x * (half->cubic[2][j] + x * half->cubic[3][j]));
}

static EACH_BODY double half_next(const struct interval_half *half, int j, double difference,
                                  double lost)
{
    return sweep_choose(fabs(difference) >= half->border[j], half_loss(half, j, difference), lost);
}

/* The strands of a half with so many intervals each. */
static EACH_BODY void half_loop(int most, bool notes, const struct interval_half *interval,
                                int count, double *restrict right, double *restrict left,
                                double *restrict highest, double *restrict lowest)
{
    const struct interval_half one = interval[0];
    const struct interval_half two = interval[1];
    const struct interval_half three = interval[2];
    const struct interval_half four = interval[3];
    for (int v = 0; v < count; v += WIDEST) {
        EACH_PLACE
        for (int j = 0; j < HALF; j++) {
            double there = right[v + j];
            double back = left[v + j];
            double difference = there - back;
            double lost = half_loss(&one, j, difference);
            if (most > 1) {
                lost = half_next(&two, j, difference, lost);
            }
            if (most > 2) {
                lost = half_next(&three, j, difference, lost);
                lost = half_next(&four, j, difference, lost);
            }
            if (notes) {
                sweep_note_head(there, back, &highest[v + j], &lowest[v + j]);
            }
            right[v + j] = there - lost;
            left[v + j] = back + lost;
        }
    }
}

#define EACH(name, most, notes)                                                                    \
    EACH_WIDTH                                                                                     \
    static void name(const struct interval_half *interval, int count, double *restrict right,      \
                     double *restrict left, double *restrict highest, double *restrict lowest)     \
    {                                                                                              \
        half_loop(most, notes, interval, count, right, left, highest, lowest);                     \
    }

EACH(take_each, 1, false)
EACH(take_each_two, 2, false)
EACH(take_each_four, 4, false)
EACH(note_and_take_each, 1, true)
EACH(note_and_take_each_two, 2, true)
EACH(note_and_take_each_four, 4, true)

static void take_known(const struct sweep *sweep, int half)
{
    typedef void form(const struct interval_half *interval, int count, double *restrict right,
                      double *restrict left, double *restrict highest, double *restrict lowest);
    static form *const forms[2][3] = {
        {note_and_take_each, note_and_take_each_two, note_and_take_each_four},
        {take_each, take_each_two, take_each_four}};
    const int from = half * HALF;
    const int most = sweep->each->most[half];
    forms[sweep->is_quiet[half]][most > 2 ? 2 : most - 1](
        sweep->each->half[half], sweep->count, sweep->right + from, sweep->left + from,
        sweep->highest + from, sweep->lowest + from);
}

/* --- a half of which too little is known: as if each strand lay in the interval that it was found
 * in last, some lines at a time --- */

enum { LINES = SWEEP_CHUNK / HALF };
struct guess {
    struct interval_half interval;
    uint64_t key[HALF];
};

static void guess(const struct loss *loss, const double *right, const double *left,
                  struct guess *guess)
{
    for (int j = 0; j < HALF; j++) {
        struct loss_interval interval;
        const double difference = right[j] - left[j];
        if (loss_interval_at(loss, fabs(difference), &interval)) {
            guess->key[j] = loss_key(difference);
            guess->interval.start[j] = interval.start;
            for (int i = 0; i < 4; i++) {
                guess->interval.cubic[i][j] = interval.cubic[i];
            }
        }
    }
}

/* Losses of some lines, and the leading bits in which any difference is not in the interval
 * guessed. */
EACH_WIDTH
static uint64_t try_guess(const struct guess *guess, int lines, const double *restrict right,
                          const double *restrict left, double *restrict lost)
{
    const struct interval_half here = guess->interval;
    uint64_t spread[HALF] = {0};
    for (int v = 0; v < lines; v++) {
        EACH_PLACE
        for (int j = 0; j < HALF; j++) {
            const double difference = right[v * WIDEST + j] - left[v * WIDEST + j];
            lost[v * HALF + j] = copysign(half_loss(&here, j, fabs(difference)), difference);
            spread[j] |= loss_key(difference) ^ guess->key[j];
        }
    }
    for (int j = 1; j < HALF; j++) {
        spread[0] |= spread[j];
    }
    return spread[0];
}

EACH_WIDTH
static void find_differences(int lines, const double *restrict right, const double *restrict left,
                             double *restrict difference)
{
    for (int v = 0; v < lines; v++) {
        EACH_PLACE
        for (int j = 0; j < HALF; j++) {
            difference[v * HALF + j] = right[v * WIDEST + j] - left[v * WIDEST + j];
        }
    }
}

/* Wherever in the table they lie. */
static void lose(const struct loss *loss, int lines, const double *right, const double *left,
                 double *lost)
{
    double difference[SWEEP_CHUNK];
    find_differences(lines, right, left, difference);
    loss_row(loss, lines * HALF, difference, lost);
}

static EACH_BODY void take_loop(bool notes, int lines, const double *restrict lost,
                                double *restrict right, double *restrict left,
                                double *restrict highest, double *restrict lowest)
{
    for (int v = 0; v < lines; v++) {
        EACH_PLACE
        for (int j = 0; j < HALF; j++) {
            const int i = v * WIDEST + j;
            const double there = right[i];
            const double back = left[i];
            if (notes) {
                sweep_note_head(there, back, &highest[i], &lowest[i]);
            }
            right[i] = there - lost[v * HALF + j];
            left[i] = back + lost[v * HALF + j];
        }
    }
}

EACH_WIDTH
static void take(bool notes, int lines, const double *restrict lost, double *restrict right,
                 double *restrict left, double *restrict highest, double *restrict lowest)
{
    if (notes) {
        take_loop(true, lines, lost, right, left, highest, lowest);
    } else {
        take_loop(false, lines, lost, right, left, highest, lowest);
    }
}

static void take_unknown(const struct sweep *sweep, const struct loss *loss, int half)
{
    struct guess found = {.key = {0}};
    bool is_right = false;
    for (int at = half * HALF; at < sweep->count; at += LINES * WIDEST) {
        const int left_over = (sweep->count - at + WIDEST - 1) / WIDEST;
        const int lines = left_over < LINES ? left_over : LINES;
        double *right = sweep->right + at;
        double *left = sweep->left + at;
        double lost[SWEEP_CHUNK];
        is_right = is_right && try_guess(&found, lines, right, left, lost) == 0;
        if (!is_right) {
            guess(loss, right, left, &found);
            is_right = try_guess(&found, lines, right, left, lost) == 0;
        }
        if (!is_right) {
            lose(loss, lines, right, left, lost);
        }
        take(!sweep->is_quiet[half], lines, lost, right, left, sweep->highest + at,
             sweep->lowest + at);
    }
}

void sweep_take_each(const struct sweep *sweep, const struct loss *loss)
{
    for (int half = 0; half < 2; half++) {
        if (sweep->each->most[half] > 0) {
            take_known(sweep, half);
        } else {
            take_unknown(sweep, loss, half);
        }
    }
}
