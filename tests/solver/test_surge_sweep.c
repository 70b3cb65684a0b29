/* One pass over a stretch beside the plain loop: the digits of the law one by one, whatever is
 * known of the stretch before; and nothing beyond its ends. */
#include "models/pipe.h"
#include "solver/surge/sweep.h"
#include "tests/solver/random_numbers.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

enum { MOST = 200, MARGIN = 8, ROOM = MOST + 2 * MARGIN, TRIALS = SHORT_RUNS ? 1500 : 6000 };

static const double impedance = 5e3;
static const double area = 8e-3;

/* A law of two, three or four terms, one by table, none. */
enum { LAWS = 5 };

static struct loss make_loss(int law, struct arena *arena)
{
    static const double lengths[] = {3e-4, 3e-2, 1.0, 300.0};
    static const struct water water = {.gravity = 9.81, .viscosity = 1e-6};
    struct failure failure;
    struct loss loss = {.kind = LOSS_NONE};
    if (law < 4) {
        const struct pipe pipe = {.friction = {.length = lengths[law],
                                               .bore = 0.1,
                                               .roughness = 1e-5,
                                               .factor = law == 3 ? 0.0 : 0.03}};
        const struct loss_law from = {&pipe_element, &pipe, &water, 1.0, impedance, area, 4e-3};
        cr_assert(loss_init(&loss, &from, arena, &failure));
        cr_assert(law == 3 ? loss.kind == LOSS_TABLE : loss.terms == 2 + law);
    }
    return loss;
}

/* The numbers of a stretch, with some beside it that must stay. */
struct nodes {
    double right[ROOM];
    double left[ROOM];
    double head[ROOM];
    double highest[ROOM];
    double lowest[ROOM];
};

/* Heads around 50 m, flows around some velocity, all one way or not. */
static void random_nodes(struct random *random, struct nodes *nodes)
{
    const double around = random_spread(random, 1e-4, 200.0) * 2.0 * impedance * area;
    const double spread = (double[]){1.0, 1.002, 1.1, 30.0}[random_pick(random, 4)];
    const int signs = random_pick(random, 3);
    for (int i = 0; i < ROOM; i++) {
        const bool is_back = signs == 2 ? random_pick(random, 2) == 0 : signs == 1;
        const double difference =
            around * random_spread(random, 1.0 / spread, spread) * (is_back ? -1.0 : 1.0);
        const double head = random_even(random, 30.0, 70.0);
        nodes->right[i] = head + 0.5 * difference;
        nodes->left[i] = nodes->right[i] - difference;
        nodes->head[i] = random_even(random, 30.0, 70.0);
        nodes->highest[i] = random_even(random, 45.0, 60.0);
        nodes->lowest[i] = random_even(random, 40.0, 45.0);
    }
}

/* Every node by itself; of lines of strands each half may be quiet. */
static void plain(struct nodes *nodes, int count, bool has_heads, const bool is_quiet[2],
                  const struct loss *loss)
{
    for (int i = MARGIN; i < MARGIN + count; i++) {
        const double mean = 0.5 * (nodes->right[i] + nodes->left[i]);
        const double head = has_heads ? nodes->head[i] : mean;
        const double lost = loss_at(loss, nodes->right[i] - nodes->left[i]).head;
        if (!is_quiet[(i - MARGIN) / (WIDEST / 2) % 2]) {
            nodes->highest[i] = fmax(nodes->highest[i], head);
            nodes->lowest[i] = fmin(nodes->lowest[i], head);
        }
        nodes->right[i] -= lost;
        nodes->left[i] += lost;
    }
}

/* Least and most p - m of a stretch, a little wide. */
static struct bounds find_between(const struct nodes *nodes, int count)
{
    struct bounds between = {HUGE_VAL, -HUGE_VAL};
    for (int i = MARGIN; i < MARGIN + count; i++) {
        const double difference = nodes->right[i] - nodes->left[i];
        between.least = fmin(between.least, difference - 1e-9 * fabs(difference));
        between.most = fmax(between.most, difference + 1e-9 * fabs(difference));
    }
    return between;
}

static struct sweep sweep_of(struct nodes *nodes, int count, bool has_heads)
{
    return (struct sweep){.count = count,
                          .right = nodes->right + MARGIN,
                          .left = nodes->left + MARGIN,
                          .head = has_heads ? nodes->head + MARGIN : NULL,
                          .highest = nodes->highest + MARGIN,
                          .lowest = nodes->lowest + MARGIN,
                          .least = -(double)INFINITY,
                          .most = (double)INFINITY};
}

static void check_nodes(const struct nodes *here, const struct nodes *wanted, int trial)
{
    for (int i = 0; i < ROOM; i++) {
        cr_assert_eq(here->right[i], wanted->right[i], "%d: p %d", trial, i);
        cr_assert_eq(here->left[i], wanted->left[i], "%d: m %d", trial, i);
        cr_assert_eq(here->highest[i], wanted->highest[i], "%d: highest %d", trial, i);
        cr_assert_eq(here->lowest[i], wanted->lowest[i], "%d: lowest %d", trial, i);
    }
}

/* Where it is quiet no head may be beyond the extremes: they stay, even if they would not. */
Test(surge_sweep, stretch_has_the_digits_of_a_plain_loop)
{
    struct arena *arena = arena_new();
    struct random random;
    struct loss losses[LAWS];
    random_seed(&random, 21);
    struct loss_near near[LAWS] = {{.count = 0}};
    for (int law = 0; law < LAWS; law++) {
        losses[law] = make_loss(law, arena);
    }
    for (int trial = 0; trial < TRIALS; trial++) {
        static struct nodes here;
        static struct nodes wanted;
        const struct loss *loss = &losses[trial % LAWS];
        const int count = 1 + random_pick(&random, MOST);
        const bool has_heads = random_pick(&random, 5) == 0;
        random_nodes(&random, &here);
        struct sweep sweep = sweep_of(&here, count, has_heads);
        const struct bounds between = find_between(&here, count);
        if (random_pick(&random, 2) == 0) {
            sweep.least = between.least;
            sweep.most = between.most;
        }
        wanted = here;
        /* What the last trial of this law found holds or is found anew. */
        sweep.near = &near[trial % LAWS];
        /* A stretch that is said to be quiet is so in one form of the law. */
        const bool is_one = loss->kind == LOSS_NONE ||
                            (loss->kind == LOSS_QUADRATIC && sweep_is_series(&sweep, loss));
        const bool is_quiet = !has_heads && is_one && random_pick(&random, 3) == 0;
        sweep.is_quiet[0] = sweep.is_quiet[1] = is_quiet;
        plain(&wanted, count, has_heads, sweep.is_quiet, loss);
        sweep_take(&sweep, loss);
        check_nodes(&here, &wanted, trial);
    }
    arena_free(arena);
}

/* Nodes side by side whose differences lie in an interval each, or in a few, as told, or not told.
 */
static void hold_strands(const struct loss *loss, struct random *random, int trial)
{
    static struct nodes here;
    static struct nodes wanted;
    struct intervals intervals;
    struct bounds between[WIDEST];
    const int count = WIDEST * (1 + random_pick(random, MOST / WIDEST - 1));
    const double widest = 0.4 * random_pick(random, 4); /* of octaves */
    random_nodes(random, &here);
    for (int j = 0; j < WIDEST; j++) {
        const double sign = random_pick(random, 2) == 0 ? -1.0 : 1.0;
        const double middle = random_spread(random, 1e-3, 3.0) * 2.0 * impedance * area;
        const double width = exp2(random_even(random, 0.0, 0.125 + 0.5 * widest));
        between[j] = (struct bounds){HUGE_VAL, -HUGE_VAL};
        for (int i = MARGIN + j; i < MARGIN + count; i += WIDEST) {
            const double difference = sign * middle * random_even(random, 1.0, width);
            here.right[i] = here.left[i] + difference;
            between[j].least = fmin(between[j].least, here.right[i] - here.left[i]);
            between[j].most = fmax(between[j].most, here.right[i] - here.left[i]);
        }
    }
    intervals_find(&intervals, loss, between);
    wanted = here;
    struct sweep sweep = sweep_of(&here, count, false);
    sweep.each = &intervals;
    sweep.is_quiet[0] = trial % 2 == 1;
    sweep.is_quiet[1] = trial / 2 % 2 == 1;
    plain(&wanted, count, false, sweep.is_quiet, loss);
    sweep_take(&sweep, loss);
    check_nodes(&here, &wanted, trial);
}

Test(surge_sweep, strands_may_have_their_own_intervals)
{
    struct arena *arena = arena_new();
    struct random random;
    const struct loss loss = make_loss(3, arena);
    random_seed(&random, 22);
    for (int trial = 0; trial < 400; trial++) {
        hold_strands(&loss, &random, trial);
    }
    arena_free(arena);
}

/* The same by a series of each length, and without friction. */
Test(surge_sweep, halves_of_strands_may_be_quiet)
{
    struct arena *arena = arena_new();
    struct random random;
    random_seed(&random, 23);
    for (int trial = 0; trial < 400; trial++) {
        static struct nodes here;
        static struct nodes wanted;
        const struct loss loss = make_loss((const int[]){0, 1, 2, 4}[trial / 4 % 4], arena);
        const int count = WIDEST * (1 + random_pick(&random, MOST / WIDEST - 1));
        random_nodes(&random, &here);
        for (int i = 0; i < ROOM && loss.kind == LOSS_QUADRATIC; i++) {
            here.right[i] = here.left[i] + loss.series_end * random_even(&random, -1.0, 1.0);
        }
        wanted = here;
        struct sweep sweep = sweep_of(&here, count, false);
        const struct bounds between = find_between(&here, count);
        sweep.least = fmax(between.least, -loss.series_end);
        sweep.most = fmin(between.most, loss.series_end);
        sweep.each = &intervals_none;
        sweep.is_quiet[0] = trial % 2 == 1;
        sweep.is_quiet[1] = trial / 2 % 2 == 1;
        plain(&wanted, count, false, sweep.is_quiet, &loss);
        sweep_take(&sweep, &loss);
        check_nodes(&here, &wanted, trial);
    }
    arena_free(arena);
}

/* The series is the law where no difference of either sign is beyond its end, and not a step
 * further.
 */
Test(surge_sweep, series_is_taken_to_its_end_both_ways)
{
    struct arena *arena = arena_new();
    const struct loss loss = make_loss(2, arena);
    const double end = loss.series_end;
    const double over = end * (1.0 + 1e-15);
    const struct {
        double least, most;
        bool is_series;
    } rows[] = {{-end, end, true}, {-over, end, false}, {-end, over, false},  {0.0, end, true},
                {-end, 0.0, true}, {over, over, false}, {-over, -over, false}};
    for (int i = 0; i < 7; i++) {
        const struct sweep sweep = {.least = rows[i].least, .most = rows[i].most};
        cr_expect_eq(sweep_is_series(&sweep, &loss), rows[i].is_series, "%d", i);
    }
    arena_free(arena);
}

/* Wherever among the values the least and the most are. */
Test(surge_sweep, bounds_are_the_least_and_the_most)
{
    double value[MOST];
    for (int count = 1; count <= MOST; count++) {
        for (int at = 0; at < count; at++) {
            for (int i = 0; i < count; i++) {
                value[i] = 3.0 + i % 5;
            }
            value[at] = 1.0;
            value[count - 1 - at] = count > 1 && count - 1 - at != at ? 9.0 : value[at];
            const struct bounds found = sweep_bounds(count, value);
            cr_assert_eq(found.least, 1.0, "%d of %d", at, count);
            cr_assert(found.most == 9.0 || count - 1 - at == at, "%d of %d", at, count);
        }
    }
    const struct bounds none = sweep_bounds(0, value);
    cr_expect(none.least > 1e300 && none.most < -1e300);
}

/* The same of value[i] + fall i, by plain loops; what is no number is left out. */
Test(surge_sweep, bounds_along_a_gradient_are_those_of_plain_loops)
{
    struct random random;
    double value[70];
    random_seed(&random, 5);
    for (int count = 0; count <= 70; count++) {
        const double fall = random_even(&random, -3.0, 3.0);
        struct bounds plain = {(double)INFINITY, -(double)INFINITY};
        for (int i = 0; i < count; i++) {
            value[i] = i % 11 == 5 ? (double)NAN : random_even(&random, -50.0, 50.0);
            plain.least = fmin(plain.least, value[i] + fall * i);
            plain.most = fmax(plain.most, value[i] + fall * i);
        }
        const struct bounds found = sweep_bounds_along(count, value, fall);
        cr_assert(found.least == plain.least && found.most == plain.most, "%d", count);
    }
}
