#include "solver/surge/sweep.h"

#include "models/each_width.h"

#include <math.h>

/* Nodes worked on at a time, so that a second look at them costs no memory; and places side by side
 * in which least values are gathered: whole vectors of any width. */
enum { CHUNK = 512, PLACES = 4 * WIDEST };

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
static void note_true_heads(int count, const double *restrict head, double *restrict highest,
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

EACH_WIDTH
static double find_least(int count, const double *restrict value)
{
    double place[PLACES];
    for (int j = 0; j < PLACES; j++) {
        place[j] = INFINITY;
    }
    int i = 0;
    for (; i + 4 * PLACES <= count; i += 4 * PLACES) {
        const double *restrict here = value + i;
        for (int j = 0; j < PLACES; j++) {
            double a = here[j] < here[j + PLACES] ? here[j] : here[j + PLACES];
            double b = here[j + 2 * PLACES] < here[j + 3 * PLACES] ? here[j + 2 * PLACES]
                                                                   : here[j + 3 * PLACES];
            a = a < b ? a : b;
            place[j] = a < place[j] ? a : place[j];
        }
    }
    for (; i < count; i++) {
        place[0] = value[i] < place[0] ? value[i] : place[0];
    }
    double least = place[0];
    for (int j = 1; j < PLACES; j++) {
        least = place[j] < least ? place[j] : least;
    }
    return least;
}

double sweep_take(const struct sweep *sweep, const struct loss *loss)
{
    double difference[CHUNK];
    double lost[CHUNK];
    double least_right = INFINITY;
    double least_left = INFINITY;
    for (int i = 0; i < sweep->count; i += CHUNK) {
        int count = sweep->count - i < CHUNK ? sweep->count - i : CHUNK;
        double *right = sweep->right + i;
        double *left = sweep->left + i;
        if (sweep->head == NULL) {
            note_heads(count, right, left, sweep->highest + i, sweep->lowest + i);
        } else {
            note_true_heads(count, sweep->head + i, sweep->highest + i, sweep->lowest + i);
        }
        if (loss->kind != LOSS_NONE) {
            find_differences(count, right, left, difference);
            loss_row(loss, count, difference, lost);
            take(count, lost, right, left);
        }
        double here = find_least(count, right);
        least_right = here < least_right ? here : least_right;
        here = find_least(count, left);
        least_left = here < least_left ? here : least_left;
    }
    return least_right + least_left;
}
