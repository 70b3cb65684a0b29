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

/* What a pass is made for. */
struct kind {
    int terms;
    bool notes;
    bool is_half; /* it takes one half of the strands of each line, not all nodes */
};

static EACH_BODY void take_nodes(struct kind kind, const double series[LOSS_TERMS], int count,
                                 double *restrict right, double *restrict left,
                                 double *restrict highest, double *restrict lowest)
{
    const int width = kind.is_half ? WIDEST : FOUR;
    const int side = (kind.notes ? PAIR : SIDE) * width;
    int at = 0;
    for (; at + side <= count; at += side) {
        take_side(kind.terms, kind.notes, width / FOUR, series, right + at, left + at, highest + at,
                  lowest + at);
    }
    if (kind.is_half) {
        half_loop(kind.terms, kind.notes, series, count - at, right + at, left + at, highest + at,
                  lowest + at);
    } else {
        all_loop(kind.terms, kind.notes, series, count - at, right + at, left + at, highest + at,
                 lowest + at);
    }
}

#define FORM(name, ending, ...)                                                                    \
    EACH_WIDTH                                                                                     \
    static void name##_##ending(const double series[LOSS_TERMS], int count,                        \
                                double *restrict right, double *restrict left,                     \
                                double *restrict highest, double *restrict lowest)                 \
    {                                                                                              \
        take_nodes((struct kind){__VA_ARGS__}, series, count, right, left, highest, lowest);       \
    }

#define FORMS(name, notes, is_half)                                                                \
    FORM(name, two, 2, notes, is_half)                                                             \
    FORM(name, three, 3, notes, is_half)                                                           \
    FORM(name, four, 4, notes, is_half)

FORMS(note_all, true, false)
FORMS(note_half, true, true)
FORMS(take_all, false, false)
FORMS(take_half, false, true)

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
