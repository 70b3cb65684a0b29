/* Factors by columns and in blocks: Kirchhoff's sums, edges, which kind is taken, and memory that
 * ends. */
#include "solver/steady/columns.h"
#include "solver/steady/factors.h"
#include "solver/steady/supernodes.h"
#include "tests/solver/ending_memory.h"
#include "tests/solver/random_numbers.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

enum { ROWS = 80, MANY = 500, PAIRS = MANY * (MANY - 1) / 2 };

static const double no_end = 1e300; /* operations an entry */

struct system {
    int rows;
    int pairs;
    struct fold_pair pair[PAIRS];
    int slot[PAIRS];       /* of each pair, in `between` */
    double between[PAIRS]; /* m2/s */
    double held[MANY];     /* m2/s */
};

/* Pairs in their order, each there with the odds of `in_hundred`; conductances by slots that run
 * the other way. */
static void make_system(struct system *system, struct random *random, int rows, int in_hundred)
{
    memset(system, 0, sizeof *system);
    system->rows = rows;
    for (int a = 0; a < rows; a++) {
        system->held[a] = random_pick(random, 4) == 0 ? random_spread(random, 1e-2, 1e2) : 0.0;
        for (int b = a + 1; b < rows; b++) {
            if (random_pick(random, 100) < in_hundred) {
                system->pair[system->pairs++] = (struct fold_pair){.a = a, .b = b};
            }
        }
    }
    system->held[rows - 1] += 1.0;
    for (int i = 0; i < system->pairs; i++) {
        system->slot[i] = system->pairs - 1 - i;
        system->between[system->slot[i]] = random_spread(random, 1e-2, 1e2);
    }
}

static struct columns *plan(struct planning *planning, const struct system *system, double most)
{
    struct columns *columns;
    planning_init(planning, arena_new());
    cr_assert(columns_new(planning, system->rows, system->pairs, system->pair, most, &columns));
    return columns;
}

/* Largest sum at a row that is left of what flows to it, as a share of what goes into it. */
static double worst_share(const struct system *system, const double right[], const double y[])
{
    double sum[MANY];
    double size[MANY];
    for (int row = 0; row < system->rows; row++) {
        sum[row] = system->held[row] * y[row] - right[row];
        size[row] = system->held[row] * fabs(y[row]) + fabs(right[row]);
    }
    for (int i = 0; i < system->pairs; i++) {
        const int a = system->pair[i].a;
        const int b = system->pair[i].b;
        const double g = system->between[system->slot[i]];
        sum[a] += g * (y[a] - y[b]);
        sum[b] += g * (y[b] - y[a]);
        size[a] += g * (fabs(y[a]) + fabs(y[b]));
        size[b] += g * (fabs(y[a]) + fabs(y[b]));
    }
    double worst = 0.0;
    for (int row = 0; row < system->rows; row++) {
        const double share = size[row] > 0.0 ? fabs(sum[row]) / size[row] : 0.0;
        cr_assert(isfinite(share), "row %d", row);
        worst = fmax(worst, share);
    }
    return worst;
}

/* Kirchhoff's sums at all rows, from trees to systems in which every row has all others for
 * neighbours. */
Test(steady_factors, sums_are_met_at_every_row)
{
    struct random random;
    static struct system system;
    random_seed(&random, 3);
    for (int trial = 0; trial < 300; trial++) {
        make_system(&system, &random, 1 + random_pick(&random, ROWS), random_pick(&random, 101));
        struct planning planning;
        struct columns *columns = plan(&planning, &system, no_end);
        cr_assert(columns);
        double right[ROWS];
        double y[ROWS];
        for (int turn = 0; turn < 2; turn++) { /* the second finds what the first left */
            for (int row = 0; row < system.rows; row++) {
                y[row] = right[row] = random_even(&random, -1, 1);
            }
            for (int i = 0; i < system.pairs; i++) {
                system.between[i] = random_spread(&random, 1e-2, 1e2);
            }
            /* every row has some way to a held head */
            for (int row = 0; row < system.rows; row++) {
                system.held[row] += 1e-3;
            }
            columns_make(columns, system.slot, system.between, system.held);
            columns_solve(columns, y);
            cr_assert_lt(worst_share(&system, right, y), 1e-13);
        }
        arena_free(planning.kept);
    }
}

/* Entries and operations by taking out row after row of a picture of the matrix. */
static double operations_an_entry(const struct system *system)
{
    static bool is_entry[ROWS][ROWS];
    memset(is_entry, 0, sizeof is_entry);
    for (int i = 0; i < system->pairs; i++) {
        is_entry[system->pair[i].a][system->pair[i].b] = true;
    }
    double entries = 0.0;
    double operations = 0.0;
    for (int row = 0; row < system->rows; row++) {
        double size = 1.0;
        for (int a = row + 1; a < system->rows; a++) {
            size += is_entry[row][a] ? 1.0 : 0.0;
            for (int b = a + 1; b < system->rows; b++) {
                is_entry[a][b] = is_entry[a][b] || (is_entry[row][a] && is_entry[row][b]);
            }
        }
        entries += size;
        operations += size * size;
    }
    return operations / entries;
}

Test(steady_factors, too_many_operations_are_refused_and_no_others)
{
    struct random random;
    static struct system system;
    random_seed(&random, 5);
    for (int trial = 0; trial < 300; trial++) {
        make_system(&system, &random, 1 + random_pick(&random, ROWS), random_pick(&random, 101));
        const double needed = operations_an_entry(&system);
        struct planning planning;
        cr_assert_not_null(plan(&planning, &system, needed * (1.0 + 1e-12)));
        arena_free(planning.kept);
        cr_assert_null(plan(&planning, &system, needed * (1.0 - 1e-12)));
        cr_assert_eq(arena_size(planning.kept), 0);
        arena_free(planning.kept);
    }
}

/* No row at all; rows without neighbours; rows that nothing open joins to anything get the head 0.
 */
Test(steady_factors, nothing_is_a_system_too)
{
    static const struct system empty = {.rows = 0};
    struct planning planning;
    struct columns *columns = plan(&planning, &empty, no_end);
    cr_assert(columns);
    columns_make(columns, empty.slot, empty.between, empty.held);
    columns_solve(columns, NULL);
    arena_free(planning.kept);

    static const struct system apart = {.rows = 3, .held = {2.0, 0.0, 0.5}};
    double y[] = {1.0, 7.0, -1.0};
    columns = plan(&planning, &apart, no_end);
    columns_make(columns, apart.slot, apart.between, apart.held);
    columns_solve(columns, y);
    cr_assert_float_eq(y[0], 0.5, 0.0);
    cr_assert_float_eq(y[1], 0.0, 0.0);
    cr_assert_float_eq(y[2], -2.0, 0.0);
    arena_free(planning.kept);

    /* rows 0 and 1 are shut off from 2, and from each other */
    static const struct system shut = {.rows = 3,
                                       .pairs = 3,
                                       .pair = {{0, 1, 0}, {0, 2, 1}, {1, 2, 2}},
                                       .slot = {0, 1, 2},
                                       .held = {0.0, 0.0, 4.0}};
    double z[] = {1.0, 1.0, 2.0};
    columns = plan(&planning, &shut, no_end);
    columns_make(columns, shut.slot, shut.between, shut.held);
    columns_solve(columns, z);
    cr_assert_float_eq(z[0], 0.0, 0.0);
    cr_assert_float_eq(z[1], 0.0, 0.0);
    cr_assert_float_eq(z[2], 0.5, 0.0);
    arena_free(planning.kept);
}

/* 1/d is no number where a row is joined by less than the least normal number. */
Test(steady_factors, next_to_nothing_counts_as_nothing)
{
    static const struct system system = {.rows = 3,
                                         .pairs = 2,
                                         .pair = {{0, 1, 0}, {1, 2, 1}},
                                         .slot = {0, 1},
                                         .between = {5e-324, 2.0},
                                         .held = {0.0, 0.0, 2.0}};
    struct planning planning;
    struct columns *columns = plan(&planning, &system, no_end);
    double y[] = {1.0, 2.0, 0.0};
    columns_make(columns, system.slot, system.between, system.held);
    columns_solve(columns, y);
    cr_assert_float_eq(y[0], 0.0, 0.0);
    cr_assert_float_eq(y[1], 2.0, 1e-15);
    cr_assert_float_eq(y[2], 1.0, 1e-15);
    arena_free(planning.kept);
}

/* What is no number goes with the system it was in: the next one is solved to the same digits as if
 * it had not been. */
Test(steady_factors, what_is_no_number_does_not_stay)
{
    struct random random;
    static struct system system;
    random_seed(&random, 11);
    make_system(&system, &random, ROWS, 15);
    struct planning planning;
    struct columns *columns = plan(&planning, &system, no_end);
    double first[ROWS];
    double second[ROWS];
    for (int row = 0; row < ROWS; row++) {
        first[row] = second[row] = random_even(&random, -1, 1);
    }
    columns_make(columns, system.slot, system.between, system.held);
    columns_solve(columns, first);
    static const double bad[] = {NAN, INFINITY, 0.0, 1e308, 5e-324};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        double between[PAIRS];
        double y[ROWS] = {1.0};
        for (int k = 0; k < system.pairs; k++) {
            between[k] = k % 3 == 0 ? bad[i] : system.between[k];
        }
        columns_make(columns, system.slot, between, system.held);
        columns_solve(columns, y);
    }
    columns_make(columns, system.slot, system.between, system.held);
    columns_solve(columns, second);
    for (int row = 0; row < ROWS; row++) {
        cr_assert_float_eq(second[row], first[row], 0.0, "row %d", row);
    }
    arena_free(planning.kept);
}

Test(steady_factors, a_plan_is_whole_or_refused)
{
    struct random random;
    static struct system system;
    random_seed(&random, 7);
    make_system(&system, &random, ROWS, 20);
    int refused = 0;
    struct columns *columns = NULL;
    while (!columns) {
        struct planning planning;
        planning_init(&planning, arena_new());
        cr_assert(planning.kept);
        calls_left = refused;
        const bool is_done =
            columns_new(&planning, system.rows, system.pairs, system.pair, no_end, &columns);
        calls_left = -1;
        cr_assert_eq(is_done, columns != NULL);
        refused += is_done ? 0 : 1;
        arena_free(planning.kept);
    }
    cr_assert_gt(refused, 5);
}

static long takes;             /* pieces of arenas that were asked for */
static long take_refused = -1; /* the one, by `takes` before it, that alone is refused; -1: none */

void *__real_arena_take(struct arena *arena, size_t count, size_t size);
void *__wrap_arena_take(struct arena *arena, size_t count, size_t size);

void *__wrap_arena_take(struct arena *arena, size_t count, size_t size)
{
    return takes++ == take_refused ? NULL : __real_arena_take(arena, count, size);
}

/* Not one piece can be done without, whatever there is room for after it. */
Test(steady_factors, each_single_piece_is_needed)
{
    struct random random;
    static struct system system;
    random_seed(&random, 8);
    make_system(&system, &random, ROWS, 20);
    for (int kind = 0; kind < 2; kind++) {
        bool is_reached = true;
        for (long i = 0; is_reached; i++) {
            struct planning planning;
            struct columns *columns = NULL;
            planning_init(&planning, arena_new());
            takes = calls = 0;
            *(kind == 0 ? &take_refused : &call_refused) = i;
            const bool is_done =
                columns_new(&planning, system.rows, system.pairs, system.pair, no_end, &columns);
            take_refused = call_refused = -1;
            cr_assert_eq(is_done, columns != NULL, "%d %ld", kind, i);
            cr_assert(kind == 1 || is_done == (takes <= i), "%ld",
                      i); /* of memory some is a wish */
            cr_assert_null(planning.own);
            arena_free(planning.kept);
            is_reached = (kind == 0 ? takes : calls) > i;
        }
        cr_assert_gt(kind == 0 ? takes : calls, 5);
    }
}

/* A ring of rows, each with its two neighbours: a column of two entries for all but the last two,
 * with one product each. */
Test(steady_factors, a_plan_takes_what_it_fills)
{
    static struct system system;
    const size_t rows = MANY;
    struct planning planning;
    system.rows = MANY;
    cr_assert_not_null(plan(&planning, &system, no_end));
    const size_t without = arena_size(planning.kept);
    arena_free(planning.kept);
    for (int a = 0; a < MANY - 1; a++) {
        system.pair[system.pairs++] = (struct fold_pair){.a = a, .b = a + 1};
        if (a == 0) {
            system.pair[system.pairs++] = (struct fold_pair){.a = a, .b = MANY - 1};
        }
    }
    cr_assert_not_null(plan(&planning, &system, no_end));
    const size_t entries = 2 * (rows - 2) + 1;
    const size_t products = rows - 2;
    const size_t longest = 2;
    cr_assert_eq(arena_size(planning.kept) - without, entries * (sizeof(int) + sizeof(double)) +
                                                          (rows + products) * sizeof(int) +
                                                          longest * sizeof(double));
    arena_free(planning.kept);
}

/* Brings what belongs to rows to their new numbers; the pairs have them. */
static void renumber(struct system *system, const int order[])
{
    double held[MANY];
    memcpy(held, system->held, sizeof held);
    for (int row = 0; row < system->rows; row++) {
        system->held[order[row]] = held[row];
    }
    for (int i = 0; i < system->pairs; i++) {
        system->slot[i] = system->pair[i].slot;
    }
}

static void set_pairs(struct system *system)
{
    for (int i = 0; i < system->pairs; i++) {
        system->pair[i].slot = system->slot[i];
    }
}

Test(steady_factors, sums_are_met_in_blocks_too)
{
    struct random random;
    static struct system system;
    random_seed(&random, 13);
    for (int trial = 0; trial < 100; trial++) {
        struct planning planning;
        struct failure failure = {0};
        int order[ROWS];
        double right[ROWS];
        double y[ROWS];
        make_system(&system, &random, 1 + random_pick(&random, ROWS), random_pick(&random, 101));
        set_pairs(&system);
        planning_init(&planning, arena_new());
        struct supernodes *supernodes =
            supernodes_new(&planning, system.rows, system.pairs, system.pair, order, &failure);
        cr_assert(supernodes);
        renumber(&system, order);
        for (int row = 0; row < system.rows; row++) {
            system.held[row] += 1e-3;
            y[row] = right[row] = random_even(&random, -1, 1);
        }
        cr_assert(supernodes_make(supernodes, system.slot, system.between, system.held, &failure));
        cr_assert(supernodes_solve(supernodes, y, &failure));
        cr_assert_lt(worst_share(&system, right, y), 1e-11); /* by differences: stiff ones lose */
        supernodes_free(supernodes);
        arena_free(planning.kept);
    }
}

/* Where every row has all others for neighbours, n of them, 2n/3 operations fall on an entry: 500
 * rows are beyond the bound for columns and 60 below it. Both kinds are right. */
Test(steady_factors, either_kind_is_taken)
{
    static const int counts[] = {60, MANY};
    struct random random;
    static struct system system;
    random_seed(&random, 17);
    for (int k = 0; k < 2; k++) {
        struct planning planning;
        struct failure failure = {0};
        int order[MANY];
        double right[MANY];
        double y[MANY];
        make_system(&system, &random, counts[k], 100);
        set_pairs(&system);
        planning_init(&planning, arena_new());
        struct factors *factors =
            factors_new(&planning, system.rows, system.pairs, system.pair, order, &failure);
        cr_assert(factors);
        /* columns lie in the planning's arena, blocks do not */
        cr_assert_eq(arena_size(planning.kept) > 0, k == 0);
        renumber(&system, order);
        for (int row = 0; row < system.rows; row++) {
            y[row] = right[row] = random_even(&random, -1, 1);
        }
        cr_assert(factors_make(factors, system.slot, system.between, system.held, &failure));
        cr_assert(factors_solve(factors, y, &failure));
        cr_assert_lt(worst_share(&system, right, y), 1e-12);
        factors_free(factors);
        arena_free(planning.kept);
    }
}
