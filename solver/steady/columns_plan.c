#include "solver/steady/columns_plan.h"

#include <limits.h>
#include <string.h>

/* What is known while the plan is made. */
struct plan {
    int *start;   /* [row_count + 1] in `before`; then, of each column, the next entry that a later
                     row will ask for */
    int *before;  /* [pair_count] the earlier row of each pair, by later rows */
    int *parent;  /* [row_count] the first later neighbour, in the tree of elimination */
    int *mark;    /* [row_count] last row that was reached from here */
    int *count;   /* [row_count] entries of each column */
    int *found;   /* [row_count] columns that a row is reached from; then, of those that wait for a
                     row, the one behind each */
    int *waiting; /* [row_count] the first column whose next entry has the row */
    int *heirs;   /* [row_count] where each narrow column's products begin */
};

static bool take_plan(struct plan *plan, struct planning *planning, size_t rows, size_t pairs)
{
    plan->start = planning_take(planning, rows + 2, sizeof *plan->start);
    plan->before = planning_take(planning, pairs, sizeof *plan->before);
    plan->parent = planning_take(planning, rows, sizeof *plan->parent);
    plan->mark = planning_take(planning, rows, sizeof *plan->mark);
    plan->count = planning_take(planning, rows, sizeof *plan->count);
    plan->found = planning_take(planning, rows, sizeof *plan->found);
    plan->waiting = planning_take(planning, rows, sizeof *plan->waiting);
    plan->heirs = planning_take(planning, rows, sizeof *plan->heirs);
    return plan->start && plan->before && plan->parent && plan->mark && plan->count &&
           plan->found && plan->waiting && plan->heirs;
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
            if (plan->parent[column] == COLUMNS_NONE) {
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
        plan->mark[row] = COLUMNS_NONE;
    }
}

/* What all columns are made of. */
struct amount {
    double entries;
    double operations; /* squares of the columns' sizes, with the pivots */
    double products;   /* of two entries of a narrow column */
    int longest;       /* entries of a column */
    int chains;
};

/* Whether a wide column goes on the chain of the one before it. Of the later neighbours of that one
 * the first has all the others. */
static bool goes_on(const struct plan *plan, int row)
{
    return row > 0 && plan->count[row - 1] > COLUMNS_NARROW && plan->parent[row - 1] == row &&
           plan->count[row - 1] == plan->count[row] + 1;
}

/* Entries of each column and of all; whether they would need at most `most` operations each
 * (and can be counted). A column of n entries needs n2 operations, so all need at least what they
 * would if they were alike: what is beyond `most` even then is not counted to its end, which would
 * take long where nearly every row has every other for a neighbour. */
static bool count_entries(struct plan *plan, int rows, double most, struct amount *amount)
{
    for (int row = 0; row < rows; row++) {
        plan->parent[row] = COLUMNS_NONE;
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
        const bool is_wide = plan->count[row] > COLUMNS_NARROW;
        amount->operations += (count + 1.0) * (count + 1.0);
        amount->products += is_wide ? 0.0 : count * (count - 1.0) / 2.0;
        amount->longest = plan->count[row] > amount->longest ? plan->count[row] : amount->longest;
        amount->chains += is_wide && !goes_on(plan, row) ? 1 : 0;
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
    const size_t chains = (size_t)amount->chains + 1;
    *columns = (struct columns){.row_count = row_count,
                                .pair_count = pair_count,
                                .entry_count = (int)entries,
                                .operations = amount->operations};
    arena_expect(
        arena,
        arena_need(rows, sizeof *columns->end) + 3 * arena_need(rows, sizeof *columns->held) +
            arena_need(entries, sizeof *columns->row) +
            arena_need(entries, sizeof *columns->share) +
            arena_need(pairs, sizeof *columns->entry) +
            arena_need(products, sizeof *columns->heir) +
            arena_need(chains, sizeof *columns->chain) +
            arena_need(rows, sizeof *columns->waiting) + arena_need(rows, sizeof *columns->work) +
            arena_need((size_t)amount->longest, sizeof *columns->sum),
        0);
    columns->end = arena_take(arena, rows, sizeof *columns->end);
    columns->held = arena_take(arena, rows, sizeof *columns->held);
    columns->inverse = arena_take(arena, rows, sizeof *columns->inverse);
    columns->pivot = arena_take(arena, rows, sizeof *columns->pivot);
    columns->row = arena_take(arena, entries, sizeof *columns->row);
    columns->share = arena_take(arena, entries, sizeof *columns->share);
    columns->entry = arena_take(arena, pairs, sizeof *columns->entry);
    columns->heir = arena_take(arena, products, sizeof *columns->heir);
    columns->chain = arena_take(arena, chains, sizeof *columns->chain);
    columns->waiting = arena_take(arena, rows, sizeof *columns->waiting);
    columns->work = arena_take(arena, rows, sizeof *columns->work);
    columns->sum = arena_take(arena, (size_t)amount->longest, sizeof *columns->sum);
    const bool is_whole = columns->end && columns->held && columns->inverse && columns->pivot &&
                          columns->row && columns->share && columns->entry && columns->heir &&
                          columns->chain && columns->waiting && columns->work && columns->sum;
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
        columns->end[row] = at;
        at += count;
        plan->heirs[row] = heirs;
        heirs += count > COLUMNS_NARROW ? 0 : count * (count - 1) / 2;
    }
    for (int row = 0; row < rows; row++) {
        const int count = reach(plan, row, plan->found);
        for (int i = 0; i < count; i++) {
            columns->row[columns->end[plan->found[i]]++] = row;
        }
    }
}

/* Lets a column wait for the row of its next entry, if it has one. */
static void let_column_wait(const struct columns *columns, struct plan *plan, int column)
{
    if (plan->start[column] < columns->end[column]) {
        const int row = columns->row[plan->start[column]];
        plan->found[column] = plan->waiting[row];
        plan->waiting[row] = column;
    }
}

static void let_none_wait(int rows, int waiting[])
{
    for (int row = 0; row < rows; row++) {
        waiting[row] = COLUMNS_NONE;
    }
}

/* Finds the heirs of the products of a narrow column with its next neighbour, which is taken out
 * now. `entry` tells the place of each later row in that one's column. */
static void list_heirs(struct columns *columns, const struct plan *plan, int column,
                       const int entry[])
{
    const int end = columns->end[column];
    const int first = end - plan->count[column];
    const int place = plan->start[column] - first;
    for (int k = plan->start[column] + 1; k < end; k++) {
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
    let_none_wait(columns->row_count, plan->waiting);
    for (int row = 0; row < columns->row_count; row++) {
        plan->start[row] = columns->end[row] - plan->count[row];
    }
    for (int row = 0; row < columns->row_count; row++) {
        for (int k = plan->start[row]; k < columns->end[row]; k++) {
            entry[columns->row[k]] = k;
        }
        for (; next < columns->pair_count && pair[next].a == row; next++) {
            columns->entry[next] = entry[pair[next].b];
        }
        for (int column = plan->waiting[row]; column != COLUMNS_NONE;) {
            const int behind = plan->found[column];
            list_heirs(columns, plan, column, entry);
            plan->start[column]++;
            let_column_wait(columns, plan, column);
            column = behind;
        }
        if (plan->count[row] <= COLUMNS_NARROW) {
            let_column_wait(columns, plan, row);
        }
    }
}

static void list_chains(struct columns *columns, const struct plan *plan)
{
    struct chain *chain = columns->chain;
    for (int row = 0; row < columns->row_count; row++) {
        if (plan->count[row] > COLUMNS_NARROW) {
            if (!goes_on(plan, row)) {
                (chain++)->first = row;
            }
            chain[-1].end = row + 1;
        }
    }
    chain->first = columns->row_count;
}

bool columns_plan(struct planning *planning, int row_count, int pair_count,
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
        list_chains(*made, &plan);
    }
    planning_give(planning, mark);
    return is_done;
}
