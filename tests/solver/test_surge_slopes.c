/* Slopes of p and m from node to node (solver/surge/slopes.h), found plainly, strand by strand, and
 * what is concluded from them beside waves that are followed step by step. */
#include "solver/surge/slopes.h"
#include "tests/solver/random_numbers.h"

#include <criterion/criterion.h>
#include <math.h>

enum { NODES = 40, PIECES = 4 };

Test(surge_slopes, each_strand_has_the_least_and_the_most_of_its_own_nodes)
{
    struct random random;
    random_seed(&random, 1);
    for (int i = 0; i < 500; i++) {
        double room[2][NODES + 2][WIDEST];
        double(*right)[WIDEST] = room[0] + 1;
        double(*left)[WIDEST] = room[1] + 1;
        struct slopes slopes;
        const int count = 1 + random_pick(&random, NODES - 1);
        /* what lies before and behind is steeper than all else */
        for (int v = -1; v <= NODES; v++) {
            for (int j = 0; j < WIDEST; j++) {
                const double most = v < 0 || v > count ? 1e6 : 50;
                room[0][v + 1][j] = random_even(&random, -most, most);
                room[1][v + 1][j] = random_even(&random, -most, most);
            }
        }
        slopes_find(count, right[0], left[0], &slopes);
        for (int j = 0; j < WIDEST; j++) {
            double least[2] = {INFINITY, INFINITY};
            double most[2] = {-INFINITY, -INFINITY};
            for (int v = 0; v < count; v++) {
                least[0] = fmin(least[0], right[v + 1][j] - right[v][j]);
                most[0] = fmax(most[0], right[v + 1][j] - right[v][j]);
                least[1] = fmin(least[1], left[v + 1][j] - left[v][j]);
                most[1] = fmax(most[1], left[v + 1][j] - left[v][j]);
            }
            cr_assert_eq(slopes.least_right[j], least[0]);
            cr_assert_eq(slopes.most_right[j], most[0]);
            cr_assert_eq(slopes.least_left[j], least[1]);
            cr_assert_eq(slopes.most_left[j], most[1]);
        }
    }
}

/* All slopes of m in the first piece lie so far above all of p in any piece, in one strand: it
 * rises where that is as much as friction and rounding can do, 1.3 s n w + 4 r less what counts as
 * nothing, and not where it is a little less; and so for falling. Each piece in turn holds the
 * steepest p, the flattest and, for the width, m. */
static void check_ways(struct random *random, bool is_falling, int strand, double over)
{
    const struct slopes_law law = {.steps = 10 + random_pick(random, 50),
                                   .steepest = random_even(random, 0, 4e-3),
                                   .rounding = random_spread(random, 1e-9, 1e-3)};
    const double sign = is_falling ? -1 : 1;
    const double at = random_even(random, -20, 20); /* where m and p are does not matter */
    struct slopes piece[PIECES];
    const int steep = random_pick(random, PIECES);
    const int flat = random_pick(random, PIECES);
    const int wide = 1 + random_pick(random, PIECES - 1);
    for (int i = 0; i < PIECES; i++) {
        for (int j = 0; j < WIDEST; j++) {
            /* other strands do neither */
            const double m = j == strand ? 0 : i == 0 ? -1 : 0.5;
            const double p = j == strand ? -20 : -1;
            piece[i].least_right[j] = p - (j == strand ? 1 : 0);
            piece[i].most_right[j] = p + (j == strand ? 1 : 2);
            piece[i].least_left[j] = m;
            piece[i].most_left[j] = m + 1;
        }
    }
    /* p from -30 to -gap, m from 0 (in the first piece) to 5: the width is 35. */
    const double changed = 1.3 * law.steepest * law.steps * 35 + 4 * law.rounding;
    const double gap = changed - 2e-6 / law.steps + over;
    piece[wide].most_left[strand] = 5;
    for (int i = 0; i < PIECES; i++) {
        piece[i].most_right[strand] = i == steep ? -gap : -gap - 1;
        piece[i].least_right[strand] = i == flat ? -30 : -29;
        piece[i].most_right[strand] += at;
        piece[i].least_right[strand] += at;
        piece[i].most_left[strand] += at;
        piece[i].least_left[strand] += at;
        for (int j = 0; j < WIDEST && is_falling; j++) { /* upside down */
            const struct slopes up = piece[i];
            piece[i].least_right[j] = sign * up.most_right[j];
            piece[i].most_right[j] = sign * up.least_right[j];
            piece[i].least_left[j] = sign * up.most_left[j];
            piece[i].most_left[j] = sign * up.least_left[j];
        }
    }
    const struct slopes_ways ways = slopes_find_ways(PIECES, piece, &law);
    const unsigned way = is_falling ? ways.falling : ways.rising;
    const unsigned other = is_falling ? ways.rising : ways.falling;
    cr_assert_eq(way, over > 0 ? 1U << strand : 0, "%g over: %x", over, way);
    cr_assert_eq(other, 0);
}

Test(surge_slopes, strands_rise_or_fall_from_the_bound_on)
{
    struct random random;
    random_seed(&random, 2);
    for (int i = 0; i < 4000; i++) {
        check_ways(&random, i % 2, i / 2 % WIDEST, i / 16 % 2 ? 1e-9 : -1e-9);
    }
}

/* Of water at rest all slopes are nothing: it does both, but for friction too steep to judge. */
Test(surge_slopes, water_at_rest_rises_and_falls)
{
    const unsigned all = (1U << WIDEST) - 1U;
    const struct slopes piece[PIECES] = {0};
    const struct slopes_law calm = {.steps = 50, .steepest = 4.9e-3, .rounding = 0};
    const struct slopes_law steep = {.steps = 50, .steepest = 5.1e-3, .rounding = 0};
    struct slopes_ways ways = slopes_find_ways(PIECES, piece, &calm);
    cr_assert_eq(ways.rising, all);
    cr_assert_eq(ways.falling, all);
    ways = slopes_find_ways(PIECES, piece, &steep);
    cr_assert_eq(ways.rising | ways.falling, 0);
    cr_assert_eq(slopes_half(0) | slopes_half(1), all);
    cr_assert_eq(slopes_half(0) & slopes_half(1), 0);
}
