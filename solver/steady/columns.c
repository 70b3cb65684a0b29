#include "solver/steady/columns.h"

#include <float.h>
#include <limits.h>
#include <string.h>

enum {
    NONE = -1,
    NARROW = 16 /* entries of a column that hands on, at most: see struct columns */
};

/* One point taken out; two of them fill a cache line. */
struct column {
    int next;       /* its next entry that a later row will ask for; before, its first */
    int end;        /* behind its last entry */
    double pivot;   /* m2/s, d */
    double held;    /* m2/s, s when it is taken out */
    double inverse; /* 1/d */
};

/* A narrow column hands on what it leaves to later ones: the entry that each of its products goes
 * to is known beforehand, so that no list is searched and memory is read from end to end. From a
 * wide one, for which that would take too much memory, later columns gather what it leaves to them.
 */
struct columns {
    int row_count;
    int entry_count;
    int pair_count;
    struct column *column; /* [row_count] */
    int *row;              /* [entry_count] later neighbours, by columns, rising */
    double *share;         /* [entry_count] g/d of each; before its column is taken out, g */
    int *entry;            /* [pair_count] of each pair */
    int *heir;             /* [products] entry that each product of a narrow column goes to: of the
                              first with the second, then of both with the third, and so on */
    int *waiting;          /* [row_count] the first wide column whose next entry has the row */
    int *behind;           /* [row_count] the one behind each of them */
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
    int *heirs;  /* [row_count] where each narrow column's products begin */
};

static bool take_plan(struct plan *plan, struct planning *planning, size_t rows, size_t pairs)
{
    plan->start = planning_take(planning, rows + 2, sizeof *plan->start);
    plan->before = planning_take(planning, pairs, sizeof *plan->before);
    plan->parent = planning_take(planning, rows, sizeof *plan->parent);
    plan->mark = planning_take(planning, rows, sizeof *plan->mark);
    plan->count = planning_take(planning, rows, sizeof *plan->count);
    plan->found = planning_take(planning, rows, sizeof *plan->found);
    plan->heirs = planning_take(planning, rows, sizeof *plan->heirs);
    return plan->start && plan->before && plan->parent && plan->mark && plan->count &&
           plan->found && plan->heirs;
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

/* What all columns are made of. */
struct amount {
    double entries;
    double operations; /* squares of the columns' sizes, with the pivots */
    double products;   /* of two entries of a narrow column */
};

/* Entries of each column and of all; whether they would need at most `most` operations each
 * (and can be counted). A column of n entries needs n2 operations, so all need at least what they
 * would if they were alike: what is beyond `most` even then is not counted to its end, which would
 * take long where nearly every row has every other for a neighbour. */
static bool count_entries(struct plan *plan, int rows, double most, struct amount *amount)
{
    for (int row = 0; row < rows; row++) {
        plan->parent[row] = NONE;
        plan->count[row] = 0;
    }
    clear_marks(plan, rows);
    *amount = (struct amount){.entries = 0.0};
    for (int row = 0; row < rows; row++) {
        const int count = reach(plan, row, plan->found);
        amount->entries += count;
        if (amount->entries + rows > most * rows) {
            return false;
        }
        for (int i = 0; i < count; i++) {
            plan->count[plan->found[i]]++;
        }
    }
    for (int row = 0; row < rows; row++) {
        const double count = plan->count[row];
        amount->operations += (count + 1.0) * (count + 1.0);
        amount->products += count > NARROW ? 0.0 : count * (count - 1.0) / 2.0;
    }
    return amount->operations <= most * (amount->entries + rows) && amount->entries <= INT_MAX &&
           amount->products <= INT_MAX;
}

/* NULL when memory ended. */
static struct columns *take_columns(struct arena *arena, int row_count, int pair_count,
                                    const struct amount *amount)
{
    struct columns *columns = arena_take(arena, 1, sizeof *columns);
    if (!columns) {
        return NULL;
    }
    const size_t rows = (size_t)row_count;
    const size_t pairs = (size_t)pair_count;
    const size_t entries = (size_t)amount->entries;
    const size_t products = (size_t)amount->products;
    *columns = (struct columns){
        .row_count = row_count, .pair_count = pair_count, .entry_count = (int)entries};
    arena_expect(arena,
                 arena_need(rows, sizeof *columns->column) +
                     arena_need(entries, sizeof *columns->row) +
                     arena_need(entries, sizeof *columns->share) +
                     arena_need(pairs, sizeof *columns->entry) +
                     arena_need(products, sizeof *columns->heir) +
                     2 * arena_need(rows, sizeof *columns->waiting) +
                     arena_need(rows, sizeof *columns->work),
                 0);
    columns->column = arena_take(arena, rows, sizeof *columns->column);
    columns->row = arena_take(arena, entries, sizeof *columns->row);
    columns->share = arena_take(arena, entries, sizeof *columns->share);
    columns->entry = arena_take(arena, pairs, sizeof *columns->entry);
    columns->heir = arena_take(arena, products, sizeof *columns->heir);
    columns->waiting = arena_take(arena, rows, sizeof *columns->waiting);
    columns->behind = arena_take(arena, rows, sizeof *columns->behind);
    columns->work = arena_take(arena, rows, sizeof *columns->work);
    const bool is_whole = columns->column && columns->row && columns->share && columns->entry &&
                          columns->heir && columns->waiting && columns->behind && columns->work;
    return is_whole ? columns : NULL;
}

static void list_entries(struct columns *columns, struct plan *plan)
{
    const int rows = columns->row_count;
    int at = 0;
    int heirs = 0;
    clear_marks(plan, rows);
    for (int row = 0; row < rows; row++) {
        const int count = plan->count[row];
        columns->column[row].next = at;
        columns->column[row].end = at;
        at += count;
        plan->heirs[row] = heirs;
        heirs += count > NARROW ? 0 : count * (count - 1) / 2;
    }
    for (int row = 0; row < rows; row++) {
        const int count = reach(plan, row, plan->found);
        for (int i = 0; i < count; i++) {
            columns->row[columns->column[plan->found[i]].end++] = row;
        }
    }
}

/* Lets a column wait for the row of its next entry, if it has one. */
static inline void let_wait(struct columns *columns, int column)
{
    const struct column *next = &columns->column[column];
    if (next->next < next->end) {
        const int row = columns->row[next->next];
        columns->behind[column] = columns->waiting[row];
        columns->waiting[row] = column;
    }
}

static void let_none_wait(struct columns *columns)
{
    for (int row = 0; row < columns->row_count; row++) {
        columns->waiting[row] = NONE;
    }
}

/* Finds the heirs of the products of a narrow column with its next neighbour, which is taken out
 * now. `entry` tells the place of each later row in that one's column. */
static void list_heirs(struct columns *columns, const struct plan *plan, int column,
                       const int entry[])
{
    const struct column *early = &columns->column[column];
    const int first = early->end - plan->count[column];
    const int place = early->next - first;
    for (int k = early->next + 1; k < early->end; k++) {
        const int other = k - first;
        columns->heir[plan->heirs[column] + other * (other - 1) / 2 + place] =
            entry[columns->row[k]];
    }
}

/* Where the conductances of each column come from. */
static void list_sources(struct columns *columns, struct plan *plan, const struct fold_pair pair[])
{
    int *entry = plan->mark;
    int next = 0;
    let_none_wait(columns);
    for (int row = 0; row < columns->row_count; row++) {
        for (int k = columns->column[row].next; k < columns->column[row].end; k++) {
            entry[columns->row[k]] = k;
        }
        for (; next < columns->pair_count && pair[next].a == row; next++) {
            columns->entry[next] = entry[pair[next].b];
        }
        for (int column = columns->waiting[row]; column != NONE;) {
            const int behind = columns->behind[column];
            list_heirs(columns, plan, column, entry);
            columns->column[column].next++;
            let_wait(columns, column);
            column = behind;
        }
        if (plan->count[row] <= NARROW) {
            let_wait(columns, row);
        }
    }
}

bool columns_new(struct planning *planning, int row_count, int pair_count,
                 const struct fold_pair pair[pair_count], double most, struct columns **made)
{
    const struct planning_mark mark = planning_mark(planning);
    struct plan plan;
    struct amount amount;
    *made = NULL;
    bool is_done = take_plan(&plan, planning, (size_t)row_count, (size_t)pair_count);
    if (is_done) {
        list_before(&plan, row_count, pair_count, pair);
        if (count_entries(&plan, row_count, most, &amount)) {
            *made = take_columns(planning->kept, row_count, pair_count, &amount);
            is_done = *made != NULL;
        }
    }
    if (*made) {
        list_entries(*made, &plan);
        list_sources(*made, &plan, pair);
    }
    planning_give(planning, mark);
    return is_done;
}

/* What wide columns leave to that of `row`, whose entries begin at `start`; returns what they leave
 * to held heads. */
static double gather(struct columns *columns, int row, int start)
{
    const int *later = columns->row;
    double *share = columns->share;
    double *work = columns->work;
    double held = 0.0;
    for (int column = columns->waiting[row]; column != NONE;) {
        const int behind = columns->behind[column];
        struct column *wide = &columns->column[column];
        const int own = wide->next++;
        const double here = share[own];
        const double g = here * wide->pivot;
        held += here * wide->held;
        for (int k = own + 1; k < wide->end; k++) {
            work[later[k]] += g * share[k];
        }
        let_wait(columns, column);
        column = behind;
    }
    for (int k = start; k < columns->column[row].end; k++) {
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
        columns->column[row].held = held[row];
    }
}

void columns_make(struct columns *columns, const int slot[], const double between[],
                  const double held[])
{
    const int *later = columns->row;
    const int *heir = columns->heir;
    double *share = columns->share;
    int start = 0;
    set_up(columns, slot, between, held);
    let_none_wait(columns);
    for (int row = 0; row < columns->row_count; row++) {
        struct column *column = &columns->column[row];
        const int end = column->end;
        if (columns->waiting[row] != NONE) {
            column->held += gather(columns, row, start);
        }
        double sum = column->held;
        for (int k = start; k < end; k++) {
            sum += share[k];
        }
        /* joined to nothing that is open (or by so little that 1/d has no number): what flows to it
         * has nowhere to go, its head is as good as any */
        const double inverse = sum >= DBL_MIN ? 1.0 / sum : 0.0;
        for (int k = start; k < end; k++) {
            share[k] *= inverse;
        }
        if (end - start <= NARROW) {
            for (int k = start; k < end; k++) {
                columns->column[later[k]].held += share[k] * column->held;
            }
            heir = hand_on(end - start, share + start, sum, share, heir);
        }
        column->pivot = sum;
        column->inverse = inverse;
        column->next = start;
        if (end - start > NARROW) {
            let_wait(columns, row);
        }
        start = end;
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
