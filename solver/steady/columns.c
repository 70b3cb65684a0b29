#include "solver/steady/columns.h"

#include <float.h>
#include <limits.h>
#include <string.h>

enum { NONE = -1 };

/* One point taken out; two of them fill a cache line. */
struct column {
    int next;       /* its next entry that a later row will ask for; before, its first */
    int end;        /* behind its last entry */
    double pivot;   /* m2/s, d */
    double held;    /* m2/s, s when it is taken out */
    double inverse; /* 1/d */
};

struct columns {
    int row_count;
    struct column *column; /* [row_count] */
    int *row;              /* [entries] later neighbours, by columns, rising */
    double *share;         /* [entries] g/d of each */
    int *row_start;        /* [row_count + 1] in `earlier` */
    int *earlier;          /* [entries] by rows: the columns that have the row for a neighbour */
    int *pair_start;       /* [row_count + 1] in `later` */
    int *later;            /* [pair_count] the later row of each pair */
    double *work;          /* [row_count] conductances to the later rows; noughts between columns */
};

/* What is known while the plan is made. */
struct plan {
    int *start;  /* [row_count + 1] in `before` */
    int *before; /* [pair_count] the earlier row of each pair, by later rows */
    int *parent; /* [row_count] the first later neighbour, in the tree of elimination */
    int *mark;   /* [row_count] last row that was reached from here */
    int *count;  /* [row_count] entries of each column */
    int *found;  /* [row_count] columns that a row is reached from */
};

static bool take_plan(struct plan *plan, struct planning *planning, size_t rows, size_t pairs)
{
    plan->start = planning_take(planning, rows + 2, sizeof *plan->start);
    plan->before = planning_take(planning, pairs, sizeof *plan->before);
    plan->parent = planning_take(planning, rows, sizeof *plan->parent);
    plan->mark = planning_take(planning, rows, sizeof *plan->mark);
    plan->count = planning_take(planning, rows, sizeof *plan->count);
    plan->found = planning_take(planning, rows, sizeof *plan->found);
    return plan->start && plan->before && plan->parent && plan->mark && plan->count && plan->found;
}

static void list_before(struct plan *plan, int rows, int pairs, const struct fold_pair pair[])
{
    int *start = plan->start;
    memset(start, 0, ((size_t)rows + 2) * sizeof *start);
    for (int i = 0; i < pairs; i++) {
        start[pair[i].b + 2]++;
    }
    for (int row = 0; row < rows; row++) {
        start[row + 2] += start[row + 1];
    }
    for (int i = 0; i < pairs; i++) {
        plan->before[start[pair[i].b + 1]++] = pair[i].a;
    }
}

/* Up the tree from each earlier neighbour of `row`: all columns that have it for a neighbour when
 * they are taken out, each once, listed in `found`. Returns how many. */
static int reach(struct plan *plan, int row, int found[])
{
    int count = 0;
    plan->mark[row] = row;
    for (int i = plan->start[row]; i < plan->start[row + 1]; i++) {
        int column = plan->before[i];
        while (plan->mark[column] != row) {
            plan->mark[column] = row;
            found[count++] = column;
            if (plan->parent[column] == NONE) {
                plan->parent[column] = row;
            }
            column = plan->parent[column];
        }
    }
    return count;
}

static void clear_marks(struct plan *plan, int rows)
{
    for (int row = 0; row < rows; row++) {
        plan->mark[row] = NONE;
    }
}

/* Entries of each column and of all; whether they would need at most `most` operations each
 * (and can be counted). A column of n entries needs n2 operations, so all need at least what they
 * would if they were alike: what is beyond `most` even then is not counted to its end, which would
 * take long where nearly every row has every other for a neighbour. */
static bool count_entries(struct plan *plan, int rows, double most, size_t *entries)
{
    for (int row = 0; row < rows; row++) {
        plan->parent[row] = NONE;
        plan->count[row] = 0;
    }
    clear_marks(plan, rows);
    *entries = 0;
    for (int row = 0; row < rows; row++) {
        const int count = reach(plan, row, plan->found);
        *entries += (size_t)count;
        if ((double)*entries + rows > most * rows) {
            return false;
        }
        for (int i = 0; i < count; i++) {
            plan->count[plan->found[i]]++;
        }
    }
    double operations = 0.0;
    for (int row = 0; row < rows; row++) {
        const double size = plan->count[row] + 1.0; /* with the pivot */
        operations += size * size;
    }
    return operations <= most * (double)(*entries + (size_t)rows) && *entries <= INT_MAX;
}

static struct columns *take_columns(struct arena *arena, size_t rows, size_t pairs, size_t entries)
{
    struct columns *columns = arena_take(arena, 1, sizeof *columns);
    if (!columns) {
        return NULL;
    }
    columns->row_count = (int)rows;
    arena_expect(
        arena,
        arena_need(rows, sizeof *columns->column) + 2 * arena_need(entries, sizeof *columns->row) +
            arena_need(entries, sizeof *columns->share) +
            arena_need(rows + 1, sizeof *columns->row_start) +
            arena_need(rows + 1, sizeof *columns->pair_start) +
            arena_need(pairs, sizeof *columns->later) + arena_need(rows, sizeof *columns->work),
        0);
    columns->column = arena_take(arena, rows, sizeof *columns->column);
    columns->row = arena_take(arena, entries, sizeof *columns->row);
    columns->share = arena_take(arena, entries, sizeof *columns->share);
    columns->row_start = arena_take(arena, rows + 1, sizeof *columns->row_start);
    columns->earlier = arena_take(arena, entries, sizeof *columns->earlier);
    columns->pair_start = arena_take(arena, rows + 1, sizeof *columns->pair_start);
    columns->later = arena_take(arena, pairs, sizeof *columns->later);
    columns->work = arena_take(arena, rows, sizeof *columns->work);
    const bool is_whole = columns->column && columns->row && columns->share && columns->row_start &&
                          columns->earlier && columns->pair_start && columns->later &&
                          columns->work;
    return is_whole ? columns : NULL;
}

static void list_entries(struct columns *columns, struct plan *plan)
{
    const int rows = columns->row_count;
    int at = 0;
    clear_marks(plan, rows);
    for (int row = 0; row < rows; row++) {
        columns->column[row].next = at;
        columns->column[row].end = at;
        at += plan->count[row];
    }
    at = 0;
    for (int row = 0; row < rows; row++) {
        int *found = columns->earlier + at;
        const int count = reach(plan, row, found);
        for (int i = 0; i < count; i++) {
            columns->row[columns->column[found[i]].end++] = row;
        }
        columns->row_start[row] = at;
        at += count;
    }
    columns->row_start[rows] = at;
}

static void list_later(struct columns *columns, int pairs, const struct fold_pair pair[])
{
    int next = 0;
    for (int row = 0; row < columns->row_count; row++) {
        columns->pair_start[row] = next;
        for (; next < pairs && pair[next].a == row; next++) {
            columns->later[next] = pair[next].b;
        }
    }
    columns->pair_start[columns->row_count] = next;
}

bool columns_new(struct planning *planning, int row_count, int pair_count,
                 const struct fold_pair pair[pair_count], double most, struct columns **made)
{
    const size_t rows = (size_t)row_count;
    const size_t pairs = (size_t)pair_count;
    const struct planning_mark mark = planning_mark(planning);
    struct plan plan;
    size_t entries;
    *made = NULL;
    bool is_done = take_plan(&plan, planning, rows, pairs);
    if (is_done) {
        list_before(&plan, row_count, pair_count, pair);
        if (count_entries(&plan, row_count, most, &entries)) {
            *made = take_columns(planning->kept, rows, pairs, entries);
            is_done = *made != NULL;
        }
    }
    if (*made) {
        list_entries(*made, &plan);
        list_later(*made, pair_count, pair);
    }
    planning_give(planning, mark);
    return is_done;
}

/* What the earlier columns leave to that of `row`: conductances in `work`; returns that to held
 * heads. */
static double gather(struct columns *columns, int row, double held)
{
    const int *later = columns->row;
    const double *share = columns->share;
    double *work = columns->work;
    for (int i = columns->row_start[row]; i < columns->row_start[row + 1]; i++) {
        struct column *early = &columns->column[columns->earlier[i]];
        const int own = early->next++;
        const double here = share[own];
        const double g = here * early->pivot;
        held += here * early->held;
        for (int k = own + 1; k < early->end; k++) {
            work[later[k]] += g * share[k];
        }
    }
    return held;
}

void columns_make(struct columns *columns, const int slot[], const double between[],
                  const double held[])
{
    const int *later = columns->row;
    double *share = columns->share;
    double *work = columns->work;
    int start = 0;
    for (int row = 0; row < columns->row_count; row++) {
        struct column *column = &columns->column[row];
        for (int i = columns->pair_start[row]; i < columns->pair_start[row + 1]; i++) {
            work[columns->later[i]] = between[slot[i]];
        }
        column->held = gather(columns, row, held[row]);
        double sum = column->held;
        for (int k = start; k < column->end; k++) {
            sum += work[later[k]];
        }
        /* joined to nothing that is open (or by so little that 1/d has no number): what flows to it
         * has nowhere to go, its head is as good as any */
        const double inverse = sum >= DBL_MIN ? 1.0 / sum : 0.0;
        for (int k = start; k < column->end; k++) {
            share[k] = work[later[k]] * inverse;
            work[later[k]] = 0.0;
        }
        column->pivot = sum;
        column->inverse = inverse;
        column->next = start;
        start = column->end;
    }
}

void columns_solve(const struct columns *columns, double y[])
{
    const int *later = columns->row;
    const double *share = columns->share;
    int at = 0;
    for (int row = 0; row < columns->row_count; row++) {
        const double right = y[row];
        for (; at < columns->column[row].end; at++) {
            y[later[at]] += share[at] * right;
        }
    }
    for (int row = columns->row_count - 1; row >= 0; row--) {
        const int start = row > 0 ? columns->column[row - 1].end : 0;
        double head = y[row] * columns->column[row].inverse;
        for (int k = start; k < columns->column[row].end; k++) {
            head += share[k] * y[later[k]];
        }
        y[row] = head;
    }
}
