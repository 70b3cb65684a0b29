/* The linear systems of steady flow: a network dense enough for factors in dense blocks, and ones
 * so sparse that folding solves them, in part or whole. */
#include "solver/steady/linear.h"
#include "solver/steady/ray.h"
#include "tests/solver/kit.h"
#include "tests/solver/random_numbers.h"

#include <math.h>

enum { SIDE = 150 };

static struct kit_law law;
static struct point points[SIDE * SIDE];
static struct link links[2 * SIDE * SIDE];

static void join(struct network *network, int from, int to)
{
    links[network->link_count++] = (struct link){.name = "link",
                                                 .from = from,
                                                 .to = to,
                                                 .run = NETWORK_NONE,
                                                 .area = 0.01,
                                                 .element = &kit_element,
                                                 .data = &law};
}

/* A square of equal resistances between two held sides: heads fall evenly from one side to the
 * other and nothing flows across (Kirchhoff 1847; the discrete Laplace equation has the linear
 * function as its only answer). */
Test(steady_dense, heads_fall_evenly_across_a_square_grid)
{
    struct network network = {.points = points, .links = links};
    law = kit_resistance(1e4);
    for (int i = 0; i < SIDE * SIDE; i++) {
        const int column = i % SIDE;
        const bool is_held = column == 0 || column == SIDE - 1;
        points[i] = (struct point){.name = "point", .is_held = is_held, .tank = NETWORK_NONE};
        points[i].held_head = column == 0 ? SIDE - 1 : 0;
        if (column > 0) {
            join(&network, i - 1, i);
        }
        if (i >= SIDE) {
            join(&network, i - SIDE, i);
        }
    }
    network.point_count = SIDE * SIDE;
    struct failure failure = {0};
    struct steady answer;
    struct arena *arena = arena_new();
    struct steady_solver *solver = steady_solver_new(&network, &failure);
    cr_assert(solver && steady_init(&answer, &network, arena, &failure));
    cr_assert(steady_solve(solver, &network, &kit_water, &steady_defaults, &answer, &failure));
    cr_assert_eq(answer.ending, STEADY_CONVERGED);
    for (int i = 0; i < SIDE * SIDE; i++) {
        cr_assert_float_eq(answer.head[i], SIDE - 1 - i % SIDE, 1e-9);
    }
    steady_solver_free(solver);
    arena_free(arena);
}

enum { ROWS = 400, LINKS = 520, LINKS_MOST = 700, HELD = 5 };

/* A tree over rows and held points, rings through some of them, and links beside others. */
struct sparse {
    int from[LINKS_MOST];
    int to[LINKS_MOST];
    double conductance[LINKS_MOST];
    double right[ROWS];
    double x[ROWS + 1];
};

static void make_sparse(struct sparse *sparse, uint64_t seed, int count, double low, double high)
{
    struct random random;
    random_seed(&random, seed);
    for (int e = 0; e < count; e++) {
        const int row = (e + 1) % (ROWS + HELD);
        const int back = 1 + random_pick(&random, row > 0 ? (row < 8 ? row : 8) : 1);
        sparse->from[e] = row > 0 ? row : ROWS;
        sparse->to[e] = row > 0 ? row - back : 1;
        sparse->conductance[e] = random_spread(&random, low, high);
    }
    for (int row = 0; row < ROWS; row++) {
        sparse->right[row] = random_even(&random, -1, 1);
    }
}

/* A plan made in lent room with anything in it. */
static struct linear *plan_sparse(struct planning *planning, const struct sparse *sparse, int count,
                                  int order[], int link_order[])
{
    enum { LENT = 20000 }; /* bytes: enough for some of it */
    struct failure failure = {0};
    planning_init(planning, arena_new());
    void *lent = arena_take(planning->kept, LENT, 1);
    cr_assert(lent);
    memset(lent, 0xa5, LENT);
    planning_lend(planning, lent, LENT, 1);
    struct linear *linear =
        linear_new(planning, ROWS, count, sparse->from, sparse->to, order, link_order, &failure);
    cr_assert(linear);
    return linear;
}

static void find_order(const struct sparse *sparse, int count, int order[])
{
    int link_order[LINKS_MOST];
    struct planning planning;
    linear_free(plan_sparse(&planning, sparse, count, order, link_order));
    arena_free(planning.kept);
}

/* Factorises and solves; afterwards rows and links of `sparse` have their new numbers. */
static void solve_sparse(struct sparse *sparse, int count)
{
    static struct sparse old;
    struct failure failure = {0};
    int order[ROWS];
    int link_order[LINKS_MOST];
    struct planning planning;
    struct linear *linear = plan_sparse(&planning, sparse, count, order, link_order);
    old = *sparse;
    for (int e = 0; e < count; e++) {
        const int from = old.from[link_order[e]];
        const int to = old.to[link_order[e]];
        sparse->from[e] = from < ROWS ? order[from] : from;
        sparse->to[e] = to < ROWS ? order[to] : to;
        sparse->conductance[e] = old.conductance[link_order[e]];
    }
    for (int row = 0; row < ROWS; row++) {
        sparse->right[order[row]] = old.right[row];
    }
    memcpy(linear_conductances(linear), sparse->conductance,
           (size_t)count * sizeof *sparse->conductance);
    cr_assert(linear_factor(linear, 0, NULL, &failure));
    memcpy(sparse->x, sparse->right, sizeof sparse->right);
    sparse->x[ROWS] = 0.0;
    cr_assert(linear_solve(linear, sparse->x, &failure));
    linear_free(linear);
    arena_free(planning.kept);
}

/* 1/d is no number where a folded row is joined by less than the least normal number: it counts as
 * joined to nothing. */
Test(steady_linear, next_to_nothing_counts_as_nothing)
{
    static const int from[] = {0, 1};
    static const int to[] = {1, 2}; /* row 2 is held */
    static const double conductance[] = {5e-324, 2.0};
    struct planning planning;
    struct failure failure = {0};
    int order[2];
    int link_order[2];
    double y[3] = {0.0};
    planning_init(&planning, arena_new());
    struct linear *linear = linear_new(&planning, 2, 2, from, to, order, link_order, &failure);
    cr_assert(linear);
    for (int k = 0; k < 2; k++) {
        linear_conductances(linear)[k] = conductance[link_order[k]];
        y[order[k]] = 1.0;
    }
    cr_assert(linear_factor(linear, 0, NULL, &failure));
    cr_assert(linear_solve(linear, y, &failure));
    cr_assert_float_eq(y[order[0]], 0.0, 0.0);
    cr_assert_float_eq(y[order[1]], 0.5, 0.0);
    linear_free(linear);
    arena_free(planning.kept);
}

/* Kirchhoff's sums at all rows, as shares of what goes into them; round-off grows with a few
 * hundred terms at most. */
Test(steady_linear, sums_are_met_at_every_row)
{
    static struct sparse sparse;
    for (uint64_t seed = 1; seed <= 20; seed++) {
        double sum[ROWS + HELD] = {0.0};
        double size[ROWS + HELD] = {0.0};
        make_sparse(&sparse, seed, LINKS, 1e-3, 1e3);
        solve_sparse(&sparse, LINKS);
        for (int e = 0; e < LINKS; e++) {
            const int from = sparse.from[e];
            const int to = sparse.to[e];
            const double a = from < ROWS ? sparse.x[from] : 0.0;
            const double b = to < ROWS ? sparse.x[to] : 0.0;
            sum[from] += sparse.conductance[e] * (a - b);
            sum[to] -= sparse.conductance[e] * (a - b);
            size[from] += sparse.conductance[e] * (fabs(a) + fabs(b));
            size[to] += sparse.conductance[e] * (fabs(a) + fabs(b));
        }
        for (int row = 0; row < ROWS; row++) {
            cr_assert_float_eq(sum[row], sparse.right[row], 1e-13 * (size[row] + 1.0), "%d", row);
        }
    }
}

/* One branched network on one held point: the head at a row is the sum of flow x resistance on the
 * way there (Ohm), found here by adding from the leaves. Resistances differ by 24 orders of
 * magnitude and all digits must stay. */
Test(steady_linear, a_branched_network_keeps_its_digits_however_stiff)
{
    static struct sparse sparse;
    static double flow[ROWS + 1];
    static double head[ROWS + 1];
    make_sparse(&sparse, 7, ROWS, 1e-12, 1e12);
    sparse.from[ROWS - 1] = ROWS; /* the last link ties the first row to a held point */
    sparse.to[ROWS - 1] = 0;
    for (int row = 0; row < ROWS; row++) {
        sparse.right[row] = fabs(sparse.right[row]); /* no differences */
        flow[row] = sparse.right[row];
    }
    for (int e = ROWS - 2; e >= 0; e--) {
        flow[sparse.to[e]] += flow[sparse.from[e]];
    }
    head[0] = flow[0] / sparse.conductance[ROWS - 1];
    for (int e = 0; e < ROWS - 1; e++) {
        head[sparse.from[e]] = head[sparse.to[e]] + flow[sparse.from[e]] / sparse.conductance[e];
    }
    int order[ROWS];
    find_order(&sparse, ROWS, order);
    solve_sparse(&sparse, ROWS);
    for (int row = 0; row < ROWS; row++) {
        cr_assert_float_eq(sparse.x[order[row]], head[row], 1e-13 * head[row], "%d", row);
    }
}

static void tie(struct sparse *sparse, int *count, int from, int to, double conductance)
{
    sparse->from[*count] = from;
    sparse->to[*count] = to;
    sparse->conductance[(*count)++] = conductance;
}

/* Ties `at` and three rows from `first` on to each other. */
static void tie_four(struct sparse *sparse, int *count, int at, int first, double conductance)
{
    for (int i = 0; i < 3; i++) {
        tie(sparse, count, at, first + i, conductance);
        tie(sparse, count, first + i, first + (i + 1) % 3, conductance);
    }
}

/* Bridges of four equal arms in a row: each is one arm's resistance, and nothing flows across it
 * (Wheatstone 1843), so heads are found by adding (Ohm). No point has less than three neighbours,
 * so that nothing is folded; resistances differ by 24 orders of magnitude, and all digits must
 * stay. */
Test(steady_linear, a_row_of_bridges_keeps_its_digits_however_stiff)
{
    enum { BRIDGES = (ROWS - 7) / 3, START = 3, FLOW = 2 };
    static struct sparse sparse;
    static double head[ROWS];
    struct random random;
    random_seed(&random, 11);
    int count = 0;
    int end = START;
    double conductance = random_spread(&random, 1e-12, 1e12);
    tie(&sparse, &count, ROWS, START, conductance);
    for (int i = 0; i <= START; i++) {
        head[i] = FLOW / conductance;
    }
    tie_four(&sparse, &count, START, 0, random_spread(&random, 1e-12, 1e12));
    for (int bridge = 0; bridge < BRIDGES; bridge++) {
        const int next = end + 3;
        conductance = random_spread(&random, 1e-12, 1e12);
        for (int arm = end + 1; arm <= end + 2; arm++) {
            tie(&sparse, &count, end, arm, conductance);
            tie(&sparse, &count, arm, next, conductance);
            head[arm] = head[end] + 0.5 * FLOW / conductance;
        }
        tie(&sparse, &count, end + 1, end + 2, random_spread(&random, 1e-12, 1e12));
        head[next] = head[end] + FLOW / conductance;
        end = next;
    }
    tie_four(&sparse, &count, end, end + 1, random_spread(&random, 1e-12, 1e12));
    cr_assert_eq(end + 4, ROWS);
    for (int i = 1; i <= 3; i++) {
        head[end + i] = head[end];
    }
    sparse.right[end] = FLOW;
    int order[ROWS];
    find_order(&sparse, count, order);
    solve_sparse(&sparse, count);
    for (int row = 0; row < ROWS; row++) {
        cr_assert_float_eq(sparse.x[order[row]], head[row], 1e-13 * head[row], "%d", row);
    }
}

/* A slope that ends on the last digits below 0 has its root where it ends, not at infinity. */
Test(steady_linear, a_ray_that_ends_in_round_off_ends)
{
    const double flow = -1.0;
    const double rate = 1.0;
    const double drop = 1.0;
    const struct span span = {-1.0, 0.0};
    const struct ray ray = {.start = -1.0 - 1e-15,
                            .count = 1,
                            .flow = &flow,
                            .rate = &rate,
                            .drop = &drop,
                            .span = &span};
    cr_assert_float_eq(ray_root(&ray), 1.0, 1e-9);
}
