/* Friction of many reaches at once, and the intervals of its table that a span of differences
 * needs. */
#include "solver/surge/loss_row.h"
#include "tests/solver/mixed_law.h"
#include "tests/solver/random_numbers.h"

#include <criterion/criterion.h>
#include <math.h>

/* Rows of any length, all in one interval, in some, below the table and beyond it, of one sign and
 * of both: the digits of one by one, and nothing written behind the last. */
Test(surge_loss_row, rows_have_the_digits_of_one_by_one_and_keep_to_their_length)
{
    enum { MOST = 100 };
    struct arena *arena = arena_new();
    struct random random;
    random_seed(&random, 5);
    const struct mixed none = {0.0, 0.0, NULL};
    const struct loss losses[] = {mixed_loss(&mixes[3], 0.0, arena), mixed_loss(&none, 0.0, arena)};
    const double unit = 2.0 * impedance * area;
    for (int trial = 0; trial < 3000; trial++) {
        const struct loss *loss = &losses[trial % 8 == 7];
        const int count = 1 + random_pick(&random, MOST - 1);
        const double around = random_spread(&random, 1e-6, 300.0) * unit;
        const double spread = (double[]){1.0, 1.003, 1.2, 1e3}[random_pick(&random, 4)];
        const int signs = random_pick(&random, 3);
        double difference[MOST];
        double lost[MOST];
        for (int i = 0; i < MOST; i++) {
            const bool is_back = signs == 2 ? random_pick(&random, 2) == 0 : signs == 1;
            difference[i] =
                around * random_spread(&random, 1.0 / spread, spread) * (is_back ? -1.0 : 1.0);
            lost[i] = 1e9;
        }
        loss_row(loss, count, difference, lost);
        for (int i = 0; i < MOST; i++) {
            const double wanted = i < count ? loss_at(loss, difference[i]).head : 1e9;
            cr_assert_eq(lost[i], wanted, "%d: %d of %d, %g", trial, i, count, difference[i]);
        }
    }
    arena_free(arena);
}

/* Which interval each difference lies in is told by its leading bits; all below the table lie in
 * one. Between any two ends: the one or two intervals that hold all of them, or none told. */
static int count_intervals(const struct loss *loss, double least, double most)
{
    struct loss_interval low;
    struct loss_interval high;
    const double small = fmin(fabs(least), fabs(most));
    const double large = fmax(fabs(least), fabs(most));
    if (least < 0.0 && most > 0.0) { /* only on the line through rest */
        cr_assert(loss_interval_at(loss, 0.0, &low));
        return fmax(most, -least) < low.end;
    }
    if (!loss_interval_at(loss, small, &low) || !loss_interval_at(loss, large, &high)) {
        return 0;
    }
    return low.start == high.start ? 1 : low.end == high.start ? 2 : 0;
}

Test(surge_loss_row, intervals_told_are_those_of_all_between)
{
    struct arena *arena = arena_new();
    struct random random;
    random_seed(&random, 6);
    const struct loss loss = mixed_loss(&mixes[3], 0.0, arena);
    const double unit = 2.0 * impedance * area;
    int seen[3] = {0, 0, 0};
    for (int trial = 0; trial < 20000; trial++) {
        const double around = random_spread(&random, 2e-5, 300.0) * unit;
        const double spread = (double[]){1.0, 1.03, 1.12, 1.3}[random_pick(&random, 4)];
        double least = around;
        double most = around * spread;
        if (random_pick(&random, 2) == 0) {
            least = -most;
            most = random_pick(&random, 10) == 0 ? around : -around;
        }
        if (random_pick(&random, 50) == 0) {
            *(random_pick(&random, 2) == 0 ? &least : &most) = 0.0;
        }
        if (least > most) {
            continue;
        }
        struct loss_interval interval[2];
        const int found = loss_intervals(&loss, least, most, interval);
        cr_assert_eq(found, count_intervals(&loss, least, most), "%d: %g %g: %d", trial, least,
                     most, found);
        seen[found]++;
        for (int i = 0; i <= 10 && found > 0; i++) {
            const double d = i == 10 ? most : least + (most - least) * 0.1 * i;
            const int which = found == 2 && fabs(d) >= fabs(interval[1].start) ? 1 : 0;
            const double x = d - interval[which].start;
            const double *cubic = interval[which].cubic;
            const double sum = cubic[0] + x * (cubic[1] + x * (cubic[2] + x * cubic[3]));
            cr_assert_eq(sum, loss_at(&loss, d).head, "%d: %g of %g %g", trial, d, least, most);
        }
    }
    cr_assert(seen[0] > 1000 && seen[1] > 1000 && seen[2] > 1000);
    arena_free(arena);
}

/* What is kept from look to look holds for all that lies between its ends, up to these themselves:
 * bounds that widen, move on, and end where an interval does. */
Test(surge_loss_row, intervals_kept_have_the_digits_of_those_looked_for)
{
    struct arena *arena = arena_new();
    struct random random;
    random_seed(&random, 7);
    const struct loss loss = mixed_loss(&mixes[3], 0.0, arena);
    const double unit = 2.0 * impedance * area;
    struct loss_near near = {.count = 0};
    int kept = 0;
    for (int trial = 0; trial < 20000; trial++) {
        const double sign = random_pick(&random, 2) == 0 ? unit : -unit;
        const double around = sign * random_spread(&random, 2e-5, 300.0);
        double ends[2] = {around, around * random_even(&random, 1.0, 1.15)};
        for (int i = 0; i < 2; i++) {
            if (near.count > 0 && random_pick(&random, 4) > 0) {
                const double share = (double[]){0.0, 0.5, 1.0}[random_pick(&random, 3)];
                const double there = near.least + share * (near.most - near.least);
                const double beyond = random_pick(&random, 2) == 0 ? -HUGE_VAL : HUGE_VAL;
                ends[i] = random_pick(&random, 2) == 0 ? there : nextafter(there, beyond);
            }
        }
        const double least = fmin(ends[0], ends[1]);
        const double most = fmax(ends[0], ends[1]);
        struct loss_interval fresh[2];
        const bool is_within = near.count > 0 && least >= near.least && most <= near.most;
        const int wanted = loss_intervals(&loss, least, most, fresh);
        const int found = loss_near_intervals(&loss, least, most, &near);
        cr_assert_eq(found > 0, wanted > 0, "%d: %g %g: %d", trial, least, most, found);
        cr_assert_geq(found, wanted);
        kept += is_within;
        /* The line through rest is kept for both sides. */
        cr_assert(found != 1 || fabs(near.interval[0].start) > 0.0 || near.least == -near.most);
        for (int i = 0; i < 3 && found > 0; i++) {
            const double d = (double[]){least, 0.5 * (least + most), most}[i];
            const int which = found == 2 && fabs(d) >= fabs(near.interval[1].start) ? 1 : 0;
            cr_assert_eq(loss_in_interval(&near.interval[which], d), loss_at(&loss, d).head,
                         "%d: %g of %g %g", trial, d, least, most);
        }
    }
    cr_assert_gt(kept, 2000);
    arena_free(arena);
}
