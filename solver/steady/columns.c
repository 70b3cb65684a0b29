#include "solver/steady/columns.h"

#include "models/each_width.h"
#include "solver/steady/columns_plan.h"

#include <float.h>
#include <string.h>

bool columns_new(struct planning *planning, int row_count, int pair_count,
                 const struct fold_pair pair[pair_count], double most, struct columns **made)
{
    return columns_plan(planning, row_count, pair_count, pair, most, made);
}

double columns_operations(const struct columns *columns)
{
    return columns->operations;
}

/* Lets a chain wait for the row of its next entry, if it has one. */
static inline void let_wait(struct columns *columns, int number)
{
    struct chain *chain = &columns->chain[number];
    if (chain->left > 0) {
        const int row = columns->row[columns->end[chain->end - 1] - chain->left];
        chain->behind = columns->waiting[row];
        columns->waiting[row] = number;
    }
}

EACH_WIDTH
static void add_one(int count, const double *restrict share, double g, double *restrict sum)
{
    for (int k = 0; k < count; k++) {
        sum[k] += g * share[k];
    }
}

EACH_WIDTH
static void add_four(int count, const double *restrict a, const double *restrict b,
                     const double *restrict c, const double *restrict d, const double g[4],
                     double *restrict sum)
{
    const double g_a = g[0];
    const double g_b = g[1];
    const double g_c = g[2];
    const double g_d = g[3];
    for (int k = 0; k < count; k++) {
        sum[k] += (g_a * a[k] + g_b * b[k]) + (g_c * c[k] + g_d * d[k]);
    }
}

/* Adds to `sum` [count] what the columns from `first` to before `end`, of one chain, leave to the
 * row whose entry in each of them is followed by `count` others. Returns what they leave to held
 * heads. */
static double add_chain(const struct columns *columns, int first, int end, int count, double sum[])
{
    double held = 0.0;
    for (int at = first; at < end; at += 4) {
        const int some = end - at < 4 ? end - at : 4;
        const double *share[4];
        double g[4];
        for (int i = 0; i < some; i++) {
            share[i] = columns->share + (columns->end[at + i] - count);
            g[i] = share[i][-1] * columns->pivot[at + i];
            held += share[i][-1] * columns->held[at + i];
        }
        if (some == 4) {
            add_four(count, share[0], share[1], share[2], share[3], g, sum);
        } else {
            for (int i = 0; i < some; i++) {
                add_one(count, share[i], g[i], sum);
            }
        }
    }
    return held;
}

/* What chains leave to the column of `row`, whose entries begin at `start`; returns what they leave
 * to held heads. */
static double gather(struct columns *columns, int row, int start)
{
    const int *later = columns->row;
    double *share = columns->share;
    double *work = columns->work;
    double *sum = columns->sum;
    double held = 0.0;
    for (int number = columns->waiting[row]; number != COLUMNS_NONE;) {
        struct chain *chain = &columns->chain[number];
        const int behind = chain->behind;
        const int count = --chain->left;
        const int *place = later + (columns->end[chain->end - 1] - count);
        memset(sum, 0, (size_t)count * sizeof *sum);
        held += add_chain(columns, chain->first, chain->end, count, sum);
        for (int k = 0; k < count; k++) {
            work[place[k]] += sum[k];
        }
        let_wait(columns, number);
        number = behind;
    }
    for (int k = start; k < columns->end[row]; k++) {
        share[k] += work[later[k]];
        work[later[k]] = 0.0;
    }
    return held;
}

/* What a narrow column with the shares `share` [count] leaves to the entries `all`. Returns what
 * comes behind its heirs. */
static const int *hand_on(int count, const double share[], double pivot, double all[],
                          const int heir[])
{
    for (int k = 1; k < count; k++) {
        const double g = share[k] * pivot;
        for (int i = 0; i < k; i++) {
            all[*heir++] += share[i] * g;
        }
    }
    return heir;
}

static void set_up(struct columns *columns, const int slot[], const double between[],
                   const double held[])
{
    memset(columns->share, 0, (size_t)columns->entry_count * sizeof *columns->share);
    for (int i = 0; i < columns->pair_count; i++) {
        columns->share[columns->entry[i]] = between[slot[i]];
    }
    for (int row = 0; row < columns->row_count; row++) {
        columns->held[row] = held[row];
        columns->waiting[row] = COLUMNS_NONE;
    }
}

/* Takes out a column whose conductances are complete. Returns what comes behind its heirs. */
static const int *take_out(struct columns *columns, int row, int start, const int heir[])
{
    const int *later = columns->row;
    double *share = columns->share;
    const int end = columns->end[row];
    double sum = columns->held[row];
    for (int k = start; k < end; k++) {
        sum += share[k];
    }
    /* joined to nothing that is open (or by so little that 1/d has no number): what flows to it
     * has nowhere to go, its head is as good as any */
    const double inverse = sum >= DBL_MIN ? 1.0 / sum : 0.0;
    for (int k = start; k < end; k++) {
        share[k] *= inverse;
    }
    columns->inverse[row] = inverse;
    if (end - start > COLUMNS_NARROW) {
        columns->pivot[row] = sum;
        return heir;
    }
    const double held = columns->held[row];
    for (int k = start; k < end; k++) {
        columns->held[later[k]] += share[k] * held;
    }
    return hand_on(end - start, share + start, sum, share, heir);
}

void columns_make(struct columns *columns, const int slot[], const double between[],
                  const double held[])
{
    const int *heir = columns->heir;
    int start = 0;
    int number = 0; /* the next chain, or the one that the row is in */
    set_up(columns, slot, between, held);
    for (int row = 0; row < columns->row_count; row++) {
        struct chain *chain = &columns->chain[number];
        const int count = columns->end[row] - start;
        if (columns->waiting[row] != COLUMNS_NONE) {
            columns->held[row] += gather(columns, row, start);
        }
        if (row > chain->first) {
            columns->held[row] +=
                add_chain(columns, chain->first, row, count, columns->share + start);
        }
        heir = take_out(columns, row, start, heir);
        if (row >= chain->first && row + 1 == chain->end) {
            chain->left = count;
            let_wait(columns, number++);
        }
        start = columns->end[row];
    }
}

void columns_solve(const struct columns *columns, double y[])
{
    const int *later = columns->row;
    const double *share = columns->share;
    int at = 0;
    for (int row = 0; row < columns->row_count; row++) {
        const double right = y[row];
        for (; at < columns->end[row]; at++) {
            y[later[at]] += share[at] * right;
        }
    }
    for (int row = columns->row_count - 1; row >= 0; row--) {
        const int start = row > 0 ? columns->end[row - 1] : 0;
        double head = y[row] * columns->inverse[row];
        for (int k = start; k < columns->end[row]; k++) {
            head += share[k] * y[later[k]];
        }
        y[row] = head;
    }
}
