/* The plan of folding (solver/steady/fold.h), replayed on a table of who is whose neighbour. */
#include "solver/steady/fold.h"
#include "tests/solver/random_numbers.h"

#include <criterion/criterion.h>

enum { ROWS = 24, LINKS = 60, NONE = -1 };

/* The slot between two rows, or NONE. */
struct table {
    int rows;
    int slot[ROWS][ROWS];
};

static void join(struct table *table, int a, int b, int slot)
{
    table->slot[a][b] = table->slot[b][a] = slot;
}

static int count_neighbours(const struct table *table, int row)
{
    int count = 0;
    for (int other = 0; other < table->rows; other++) {
        count += table->slot[row][other] != NONE;
    }
    return count;
}

/* Links at random, some twice, some to held rows, a third of them to row 0; the first between two
 * rows gives the slot. */
static int lay_links(struct table *table, struct random *random, int from[], int to[])
{
    const int links = random_pick(random, LINKS);
    table->rows = 1 + random_pick(random, ROWS);
    for (int a = 0; a < ROWS; a++) {
        for (int b = 0; b < ROWS; b++) {
            table->slot[a][b] = NONE;
        }
    }
    for (int e = 0; e < links; e++) {
        do {
            from[e] = random_pick(random, 3) ? random_pick(random, table->rows + 2) : 0;
            to[e] = random_pick(random, table->rows + 2);
        } while (from[e] == to[e]);
        const bool is_between = from[e] < table->rows && to[e] < table->rows;
        if (is_between && table->slot[from[e]][to[e]] == NONE) {
            join(table, from[e], to[e], e);
        }
    }
    return links;
}

/* Takes a row out as planned: its neighbours are those told, and become neighbours. */
static void replay(struct table *table, const struct fold *fold, const struct fold_out *out)
{
    const bool has_a = out->a < table->rows;
    const bool has_b = out->b < table->rows;
    cr_assert_eq(count_neighbours(table, out->row), has_a + has_b);
    cr_assert(has_a || !has_b);
    cr_assert_eq(out->slots.to_a, has_a ? table->slot[out->row][out->a] : fold->link_count);
    cr_assert_eq(out->slots.to_b, has_b ? table->slot[out->row][out->b] : fold->link_count);
    if (has_b) {
        const int known = table->slot[out->a][out->b];
        cr_assert_eq(out->slots.between, known == NONE ? out->slots.to_a : known);
        join(table, out->a, out->b, out->slots.between);
    }
    for (int other = 0; other < table->rows; other++) {
        join(table, out->row, other, NONE);
    }
}

Test(steady_fold, each_row_taken_out_has_the_neighbours_it_is_said_to_have)
{
    struct random random;
    random_seed(&random, 1);
    for (int i = 0; i < 3000; i++) {
        struct table table;
        struct fold fold;
        struct planning planning;
        struct arena *arena = arena_new();
        int from[LINKS];
        int to[LINKS];
        bool is_out[ROWS] = {false};
        const int links = lay_links(&table, &random, from, to);
        planning_init(&planning, arena);
        const struct planning_mark mark = planning_mark(&planning);
        cr_assert(fold_plan(&fold, &planning, table.rows, links, from, to));
        for (int e = 0; e < links; e++) {
            const bool is_between = from[e] < table.rows && to[e] < table.rows;
            cr_assert_eq(fold.slot[e], is_between ? table.slot[from[e]][to[e]] : e);
        }
        for (int k = 0; k < fold.count; k++) {
            cr_assert_not(is_out[fold.out[k].row]);
            is_out[fold.out[k].row] = true;
            replay(&table, &fold, &fold.out[k]);
        }
        int left = 0;
        for (int row = 0; row < table.rows; row++) {
            cr_assert(is_out[row] || count_neighbours(&table, row) > 2);
            left += count_neighbours(&table, row);
        }
        cr_assert_eq(2 * fold.pair_count, left);
        for (int p = 0; p < fold.pair_count; p++) {
            cr_assert_eq(table.slot[fold.pair[p].a][fold.pair[p].b], fold.pair[p].slot);
        }
        planning_give(&planning, mark);
        arena_free(arena);
    }
}

/* A row with a branch and a loop at each of very many neighbours: searched for each of them it
 * would take minutes. */
Test(steady_fold, hub_of_very_many_neighbours_folds_away)
{
    enum { SPOKES = 300000 };
    struct arena *arena = arena_new();
    struct planning planning;
    struct fold fold;
    const int rows = 2 * SPOKES + 1;
    int *from = arena_take(arena, 3 * SPOKES, sizeof *from);
    int *to = arena_take(arena, 3 * SPOKES, sizeof *to);
    cr_assert(from && to);
    for (int i = 0; i < SPOKES; i++) {
        const int near = 1 + 2 * i;
        const bool is_loop = i % 2;
        from[3 * i] = 0;
        to[3 * i] = near;
        from[3 * i + 1] = near;
        to[3 * i + 1] = near + 1;
        from[3 * i + 2] = near + 1;
        to[3 * i + 2] = is_loop ? 0 : rows; /* or held */
    }
    planning_init(&planning, arena);
    const struct planning_mark mark = planning_mark(&planning);
    cr_assert(fold_plan(&fold, &planning, rows, 3 * SPOKES, from, to));
    cr_assert_eq(fold.count, rows);
    cr_assert_eq(fold.pair_count, 0);
    planning_give(&planning, mark);
    arena_free(arena);
}
