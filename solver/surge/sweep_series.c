/* The passes of a sweep (solver/surge/sweep.h) whose friction is the series of the quadratic law.
 */
#include "solver/surge/four.h"
#include "solver/surge/sweep.h"

#include <stddef.h>

/* Vectors side by side; of those whose heads are noted too fewer find registers. */
enum { HALF = INTERVALS_HALF, SIDE = 4, PAIR = 2 };
_Static_assert((int)HALF == (int)FOUR, "a half of the strands is one vector");

static EACH_BODY void take_node(int terms, bool notes, const double series[LOSS_TERMS], int i,
                                double *restrict right, double *restrict left,
                                double *restrict highest, double *restrict lowest)
{
    const double there = right[i];
    const double back = left[i];
    const double lost = loss_sum(series, terms, there - back);
    if (notes) {
        sweep_note_head(there, back, &highest[i], &lowest[i]);
    }
    right[i] = there - lost;
    left[i] = back + lost;
}

/* Nodes one after another, or whole lines. */
static EACH_BODY void all_loop(int terms, bool notes, const double series[LOSS_TERMS], int count,
                               double *restrict right, double *restrict left,
                               double *restrict highest, double *restrict lowest)
{
    for (int i = 0; i < count; i++) {
        take_node(terms, notes, series, i, right, left, highest, lowest);
    }
}

/* Half of the strands of each line. */
static EACH_BODY void half_loop(int terms, bool notes, const double series[LOSS_TERMS], int count,
                                double *restrict right, double *restrict left,
                                double *restrict highest, double *restrict lowest)
{
    for (int v = 0; v < count; v += WIDEST) {
        EACH_PLACE
        for (int j = 0; j < HALF; j++) {
            take_node(terms, notes, series, v + j, right, left, highest, lowest);
        }
    }
}

/* SIDE vectors, or PAIR whose heads are noted, `stride` vectors from one to the next: each
 * operation for all of them before the next operation, since the sum is a chain longer than
 * processors look ahead. */
static EACH_BODY void take_side(int terms, bool notes, ptrdiff_t stride,
                                const double series[LOSS_TERMS], double *restrict right,
                                double *restrict left, double *restrict highest,
                                double *restrict lowest)
{
    four_anywhere *restrict there = (four_anywhere *)right;
    four_anywhere *restrict back = (four_anywhere *)left;
    four_anywhere *restrict most = (four_anywhere *)highest;
    four_anywhere *restrict least = (four_anywhere *)lowest;
    const four last = series[terms - 1] + (four){0.0};
    const int side = notes ? PAIR : SIDE;
    four size[SIDE];
    four sum[SIDE];
    for (int j = 0; j < side; j++) {
        size[j] = (four)((four_bits)(there[j * stride] - back[j * stride]) & INT64_MAX);
        sum[j] = last;
    }
    for (int j = 0; notes && j < side; j++) {
        const four head = 0.5 * (there[j * stride] + back[j * stride]);
        four high = most[j * stride];
        four low = least[j * stride];
        four_raise(&head, &high);
        four_lower(&head, &low);
        most[j * stride] = high;
        least[j * stride] = low;
    }
    for (int i = terms - 2; i >= 0; i--) {
        for (int j = 0; j < side; j++) {
            sum[j] = series[i] + size[j] * sum[j];
        }
    }
    for (int j = 0; j < side; j++) {
        const four lost = (there[j * stride] - back[j * stride]) * size[j] * sum[j];
        there[j * stride] -= lost;
        back[j * stride] += lost;
    }
}

static EACH_BODY void note_all(int terms, const double series[LOSS_TERMS], int count,
                               double *restrict right, double *restrict left,
                               double *restrict highest, double *restrict lowest)
{
    int at = 0;
    for (; at + PAIR * FOUR <= count; at += PAIR * FOUR) {
        take_side(terms, true, 1, series, right + at, left + at, highest + at, lowest + at);
    }
    all_loop(terms, true, series, count - at, right + at, left + at, highest + at, lowest + at);
}

static EACH_BODY void note_half(int terms, const double series[LOSS_TERMS], int count,
                                double *restrict right, double *restrict left,
                                double *restrict highest, double *restrict lowest)
{
    int at = 0;
    for (; at + PAIR * WIDEST <= count; at += PAIR * WIDEST) {
        take_side(terms, true, WIDEST / FOUR, series, right + at, left + at, highest + at,
                  lowest + at);
    }
    half_loop(terms, true, series, count - at, right + at, left + at, highest + at, lowest + at);
}

static EACH_BODY void take_all(int terms, const double series[LOSS_TERMS], int count,
                               double *restrict right, double *restrict left,
                               double *restrict highest, double *restrict lowest)
{
    int at = 0;
    for (; at + SIDE * FOUR <= count; at += SIDE * FOUR) {
        take_side(terms, false, 1, series, right + at, left + at, NULL, NULL);
    }
    all_loop(terms, false, series, count - at, right + at, left + at, highest, lowest);
}

static EACH_BODY void take_half(int terms, const double series[LOSS_TERMS], int count,
                                double *restrict right, double *restrict left,
                                double *restrict highest, double *restrict lowest)
{
    int at = 0;
    for (; at + SIDE * WIDEST <= count; at += SIDE * WIDEST) {
        take_side(terms, false, WIDEST / FOUR, series, right + at, left + at, NULL, NULL);
    }
    half_loop(terms, false, series, count - at, right + at, left + at, highest, lowest);
}

#define FORM(name, ending, terms)                                                                  \
    EACH_WIDTH                                                                                     \
    static void name##_##ending(const double series[LOSS_TERMS], int count,                        \
                                double *restrict right, double *restrict left,                     \
                                double *restrict highest, double *restrict lowest)                 \
    {                                                                                              \
        name(terms, series, count, right, left, highest, lowest);                                  \
    }

#define FORMS(name) FORM(name, two, 2) FORM(name, three, 3) FORM(name, four, 4)

FORMS(note_all)
FORMS(note_half)
FORMS(take_all)
FORMS(take_half)

typedef void form(const double *series, int count, double *restrict right, double *restrict left,
                  double *restrict highest, double *restrict lowest);

static void go_half(const struct sweep *sweep, const struct loss *loss, int half)
{
    static form *const forms[2][LOSS_TERMS - 1] = {
        {note_half_two, note_half_three, note_half_four},
        {take_half_two, take_half_three, take_half_four},
    };
    const int at = half * HALF;
    forms[sweep->is_quiet[half]][loss->terms - 2](loss->series, sweep->count, sweep->right + at,
                                                  sweep->left + at, sweep->highest + at,
                                                  sweep->lowest + at);
}

void sweep_take_series(const struct sweep *sweep, const struct loss *loss)
{
    static form *const forms[2][LOSS_TERMS - 1] = {
        {note_all_two, note_all_three, note_all_four},
        {take_all_two, take_all_three, take_all_four},
    };
    if (sweep->is_quiet[0] != sweep->is_quiet[1]) {
        go_half(sweep, loss, 0);
        go_half(sweep, loss, 1);
        return;
    }
    forms[sweep->is_quiet[0]][loss->terms - 2](loss->series, sweep->count, sweep->right,
                                               sweep->left, sweep->highest, sweep->lowest);
}
