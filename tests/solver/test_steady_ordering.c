/* The order of elimination: a place for each row, and what fills in beside other orders. */
#include "solver/steady/ordering.h"
#include "tests/solver/random_numbers.h"

#include <criterion/criterion.h>
#include <string.h>

enum { ROWS = 400, PAIRS = 4 * ROWS };

struct shape {
    int rows;
    int pairs;
    struct fold_pair pair[PAIRS];
};

static void add(struct shape *shape, int a, int b)
{
    shape->pair[shape->pairs++] = (struct fold_pair){.a = a, .b = b};
}

static void find(const struct shape *shape, int order[])
{
    struct planning planning;
    planning_init(&planning, arena_new());
    cr_assert(ordering_find(&planning, shape->rows, shape->pairs, shape->pair, order));
    arena_free(planning.kept);
}

/* Entries of the factors when rows are eliminated in `order`, by joining neighbours. */
static int count_entries(const struct shape *shape, const int order[])
{
    static unsigned char is_joined[ROWS][ROWS]; /* by places */
    int count = 0;
    memset(is_joined, 0, sizeof is_joined);
    for (int i = 0; i < shape->pairs; i++) {
        const int a = order[shape->pair[i].a];
        const int b = order[shape->pair[i].b];
        is_joined[a][b] = is_joined[b][a] = 1;
    }
    for (int k = 0; k < shape->rows; k++) {
        for (int a = k + 1; a < shape->rows; a++) {
            count += is_joined[k][a];
            for (int b = k + 1; b < shape->rows && is_joined[k][a]; b++) {
                is_joined[a][b] |= is_joined[k][b] && a != b;
            }
        }
    }
    return count;
}

static bool are_places(const struct shape *shape, const int order[])
{
    bool is_seen[ROWS] = {false};
    bool is_good = true;
    for (int row = 0; row < shape->rows && is_good; row++) {
        is_good = order[row] >= 0 && order[row] < shape->rows && !is_seen[order[row]];
        is_seen[is_good ? order[row] : 0] = true;
    }
    return is_good;
}

/* Points of a square grid, each pair of neighbours with the odds of `in_hundred`. */
static void make_grid(struct shape *shape, struct random *random, int side, int in_hundred)
{
    *shape = (struct shape){.rows = side * side};
    for (int row = 0; row < shape->rows; row++) {
        if (row % side + 1 < side && random_pick(random, 100) < in_hundred) {
            add(shape, row, row + 1);
        }
        if (row + side < shape->rows && random_pick(random, 100) < in_hundred) {
            add(shape, row + side, row);
        }
    }
}

Test(steady_ordering, every_row_has_a_place)
{
    static struct shape shape;
    struct random random;
    int order[ROWS];
    random_seed(&random, 3);
    for (int i = 0; i < 300; i++) {
        make_grid(&shape, &random, 1 + random_pick(&random, 20), random_pick(&random, 101));
        find(&shape, order);
        cr_assert(are_places(&shape, order));
    }
    shape = (struct shape){.rows = 0};
    find(&shape, order);
}

Test(steady_ordering, rows_that_all_know_one_another_fill_all)
{
    enum { ALL = 40 };
    static struct shape shape;
    int order[ROWS];
    shape = (struct shape){.rows = ALL};
    for (int i = 0; i < ALL * ALL; i++) {
        if (i % ALL < i / ALL) {
            add(&shape, i / ALL, i % ALL);
        }
    }
    find(&shape, order);
    cr_assert_eq(count_entries(&shape, order), ALL * (ALL - 1) / 2);
}

Test(steady_ordering, a_tree_does_not_fill_in)
{
    static struct shape shape;
    struct random random;
    int order[ROWS];
    random_seed(&random, 4);
    for (int i = 0; i < 30; i++) {
        shape = (struct shape){.rows = ROWS};
        for (int row = 1; row < ROWS; row++) {
            add(&shape, row, random_pick(&random, row));
        }
        find(&shape, order);
        cr_assert_eq(count_entries(&shape, order), ROWS - 1);
    }
}

/* A row beside all of a chain, of which but the ends have three neighbours. */
Test(steady_ordering, a_fan_does_not_fill_in)
{
    static struct shape shape;
    int order[ROWS];
    shape = (struct shape){.rows = ROWS};
    add(&shape, 0, 1);
    for (int row = 2; row < ROWS; row++) {
        add(&shape, 0, row);
        add(&shape, row - 1, row);
    }
    find(&shape, order);
    cr_assert_eq(count_entries(&shape, order), 2 * ROWS - 3);
}

static int count_neighbours(const unsigned char is_joined[], const bool is_out[], int rows)
{
    int count = 0;
    for (int other = 0; other < rows; other++) {
        count += is_joined[other] && !is_out[other];
    }
    return count;
}

/* By exact least degree at each turn, the first such row of several. */
static void order_plainly(const struct shape *shape, int order[])
{
    static unsigned char is_joined[ROWS][ROWS];
    bool is_out[ROWS] = {false};
    memset(is_joined, 0, sizeof is_joined);
    for (int i = 0; i < shape->pairs; i++) {
        is_joined[shape->pair[i].a][shape->pair[i].b] = 1;
        is_joined[shape->pair[i].b][shape->pair[i].a] = 1;
    }
    for (int k = 0; k < shape->rows; k++) {
        int best = 0;
        int least = ROWS;
        for (int row = 0; row < shape->rows; row++) {
            const int degree =
                is_out[row] ? ROWS : count_neighbours(is_joined[row], is_out, shape->rows);
            if (degree < least) {
                least = degree;
                best = row;
            }
        }
        order[best] = k;
        is_out[best] = true;
        for (int a = 0; a < shape->rows; a++) {
            for (int b = 0; b < shape->rows && is_joined[best][a]; b++) {
                is_joined[a][b] |= is_joined[best][b] && a != b;
            }
        }
    }
}

/* Both are by least degree and differ where rows are level: neither fills in much more. */
Test(steady_ordering, little_more_fills_in_than_by_exact_degrees)
{
    static struct shape shape;
    struct random random;
    int order[ROWS];
    random_seed(&random, 5);
    for (int in_hundred = 50; in_hundred <= 100; in_hundred += 10) {
        make_grid(&shape, &random, 20, in_hundred);
        find(&shape, order);
        const int entries = count_entries(&shape, order);
        order_plainly(&shape, order);
        const int plainly = count_entries(&shape, order);
        cr_assert_lt(entries, 1.15 * plainly, "%d: %d beside %d", in_hundred, entries, plainly);
    }
}

/* A hub with more neighbours than are looked through for each of them (ordering.c), and a ring
 * around it: the hub goes last but for the last of the ring, so that no more than itself and two of
 * the ring are ever beside a row. */
Test(steady_ordering, a_hub_of_many_goes_last)
{
    enum { HUB_ROWS = 3000 };
    static struct fold_pair pair[2 * HUB_ROWS];
    static int order[HUB_ROWS];
    static bool is_seen[HUB_ROWS];
    struct planning planning;
    int pairs = 0;
    for (int row = 1; row < HUB_ROWS; row++) {
        pair[pairs++] = (struct fold_pair){.a = 0, .b = row};
        pair[pairs++] = (struct fold_pair){.a = row, .b = row + 1 < HUB_ROWS ? row + 1 : 1};
    }
    planning_init(&planning, arena_new());
    cr_assert(ordering_find(&planning, HUB_ROWS, pairs, pair, order));
    arena_free(planning.kept);
    for (int row = 0; row < HUB_ROWS; row++) {
        cr_assert(order[row] >= 0 && order[row] < HUB_ROWS && !is_seen[order[row]]);
        is_seen[order[row]] = true;
    }
    cr_assert_geq(order[0], HUB_ROWS - 4);
}
