/* What is said of a study's rows as a whole. */
#include "solver/study/bootstrap.h"
#include "solver/study/design.h"
#include "solver/study/statistics.h"

#include <criterion/criterion.h>
#include <math.h>

static const double ISHIGAMI_A = 7.0;
static const double ISHIGAMI_B = 0.1;

static double ishigami(const double x[3])
{
    return sin(x[0]) + ISHIGAMI_A * sin(x[1]) * sin(x[1]) +
           ISHIGAMI_B * x[2] * x[2] * x[2] * x[2] * sin(x[0]);
}

/* Results of the Ishigami function over a design of 2^`power` base samples, in `arena`. */
static double *ishigami_rows(int samples, struct arena *arena)
{
    struct failure failure = {0};
    const double pi = acos(-1.0);
    const struct spread even = {.kind = SPREAD_EVEN, .low = -pi, .high = pi};
    const struct spread spreads[] = {even, even, even};
    const struct design design = {.kind = DESIGN_IMPORTANCE,
                                  .input_count = 3,
                                  .spreads = spreads,
                                  .samples = samples,
                                  .seed = 1};
    const int count = design_count(&design);
    const double *x = design_make(&design, arena, &failure);
    double *values = arena_take(arena, (size_t)count, sizeof *values);
    for (int i = 0; i < count; i++) {
        values[i] = ishigami(x + 3 * i);
    }
    return values;
}

/* Ishigami & Homma, ISUMA 1990; closed forms in Saltelli et al., Global Sensitivity Analysis: The
 * Primer, 2008: V1 = (1 + b pi^4/5)^2/2, V2 = a^2/8, V13 = b^2 pi^8 (1/18 - 1/50), V3 = V12 = V23 =
 * 0; a 7, b 0.1: S 0.3139, 0.4424, 0; S_T 0.5576, 0.4424, 0.2437. */
Test(indices, of_the_ishigami_function_are_its_closed_forms)
{
    struct arena *arena = arena_new();
    struct indices found[3];
    int used = 0;
    const double pi = acos(-1.0);
    const double v1 = pow(1.0 + ISHIGAMI_B * pow(pi, 4) / 5.0, 2) / 2.0;
    const double v2 = ISHIGAMI_A * ISHIGAMI_A / 8.0;
    const double v13 = ISHIGAMI_B * ISHIGAMI_B * pow(pi, 8) * (1.0 / 18.0 - 1.0 / 50.0);
    const double all = v1 + v2 + v13;
    indices_find(3, 8192, ishigami_rows(8192, arena), found, &used);
    cr_assert_eq(used, 8192);
    /* A quasi-random rule of 8192 points: errors of a few in a thousand are usual. */
    cr_assert_float_eq(found[0].first, v1 / all, 5e-3);
    cr_assert_float_eq(found[1].first, v2 / all, 5e-3);
    cr_assert_float_eq(found[2].first, 0.0, 5e-3);
    cr_assert_float_eq(found[0].total, (v1 + v13) / all, 5e-3);
    cr_assert_float_eq(found[1].total, v2 / all, 5e-3);
    cr_assert_float_eq(found[2].total, v13 / all, 5e-3);
    arena_free(arena);
}

/* The closed forms above, within intervals that halve as the samples grow fourfold (the error of a
 * mean falls with the root of their number; bootstrap itself scatters by a tenth). */
Test(bootstrap, intervals_hold_the_closed_forms_and_shrink_with_the_root_of_the_samples)
{
    enum { FEW = 1024, MANY = 4096 };
    static const double first[] = {0.3139, 0.4424, 0.0};
    static const double total[] = {0.5576, 0.4424, 0.2437};
    struct arena *arena = arena_new();
    struct failure failure = {0};
    struct indices low[3];
    struct indices high[3];
    struct indices few_low[3];
    struct indices few_high[3];
    cr_assert(bootstrap_indices(3, FEW, ishigami_rows(FEW, arena), 5, few_low, few_high, &failure));
    cr_assert(bootstrap_indices(3, MANY, ishigami_rows(MANY, arena), 5, low, high, &failure));
    for (int i = 0; i < 3; i++) {
        cr_assert(low[i].first < first[i] && first[i] < high[i].first);
        cr_assert(low[i].total < total[i] && total[i] < high[i].total);
        const double shrunk =
            (high[i].total - low[i].total) / (few_high[i].total - few_low[i].total);
        cr_assert_float_eq(shrunk, 0.5, 0.15);
    }
    arena_free(arena);
}

/* The result is the first of two inputs: the second changes nothing in any draw. */
Test(bootstrap, of_an_input_without_effect_is_nothing_for_certain)
{
    enum { SAMPLES = 500 };
    struct failure failure = {0};
    struct indices low[2];
    struct indices high[2];
    struct indices again[2];
    double values[4 * SAMPLES];
    for (int k = 0; k < SAMPLES; k++) {
        const double a = (k * 7919 % SAMPLES) / (double)SAMPLES;
        const double b = (k * 6101 % SAMPLES) / (double)SAMPLES;
        const double rows[] = {a, b, b, a};
        for (int i = 0; i < 4; i++) {
            values[4 * k + i] = rows[i];
        }
    }
    cr_assert(bootstrap_indices(2, SAMPLES, values, 9, low, high, &failure));
    cr_assert_float_eq(low[1].total, 0.0, 1e-15);
    cr_assert_float_eq(high[1].total, 0.0, 1e-15);
    cr_assert(low[0].total < high[0].total);
    cr_assert(bootstrap_indices(2, SAMPLES, values, 9, again, high, &failure));
    cr_assert_float_eq(again[0].total, low[0].total, 0.0);
}

Test(indices, leave_out_base_samples_with_a_failed_row)
{
    struct arena *arena = arena_new();
    struct indices found[3];
    int used = 0;
    double *values = ishigami_rows(4096, arena);
    for (int i = 0; i < 4096 * 5; i += 41) {
        values[i] = (double)NAN;
    }
    indices_find(3, 4096, values, found, &used);
    cr_assert_eq(used, 4096 - 500);
    cr_assert_float_eq(found[0].first, 0.3139, 0.05);
    cr_assert_float_eq(found[0].total, 0.5576, 0.05);
    arena_free(arena);
}

Test(indices, of_a_result_that_does_not_vary_are_not_known)
{
    struct indices found[2];
    const double values[] = {3.0, 3.0, 3.0, 3.0, 3.0, 3.0, 3.0, 3.0};
    indices_find(2, 2, values, found, NULL);
    cr_assert(isnan(found[0].first) && isnan(found[1].total));
}

/* Newcombe, Two-sided confidence intervals for the single proportion, Statistics in Medicine 17,
 * 1998, table I, method 3 (score without continuity correction): 81/263, 15/148, 0/20, 1/29. */
Test(probability, wilson_interval_is_that_of_newcombes_table)
{
    const struct {
        int hits, count;
        double low, high;
    } rows[] = {{81, 263, 0.2553, 0.3662},
                {15, 148, 0.0624, 0.1605},
                {0, 20, 0.0, 0.1611},
                {1, 29, 0.0061, 0.1718}};
    for (int i = 0; i < 4; i++) {
        const struct probability found = probability_of(rows[i].hits, rows[i].count);
        cr_assert_float_eq(found.low, rows[i].low, 5e-5);
        cr_assert_float_eq(found.high, rows[i].high, 5e-5);
        cr_assert(found.low <= found.estimate && found.estimate <= found.high);
    }
}

/* Sample of Hyndman & Fan's type 7 by hand: of 0, 1 .. 100 the quantile p is 100 p; deviation of
 * 0 .. n is sqrt(n(n+2)/12 (n+1)/n). (computed) */
Test(summary, of_an_even_row_is_that_by_hand)
{
    double values[103];
    struct summary summary;
    struct failure failure = {0};
    for (int i = 0; i <= 100; i++) {
        values[i] = (double)((i * 37) % 101);
    }
    values[101] = values[102] = (double)NAN;
    cr_assert(summary_make(103, values, &summary, &failure));
    cr_assert_eq(summary.count, 101);
    cr_assert_float_eq(summary.mean, 50.0, 1e-12);
    cr_assert_float_eq(summary.median, 50.0, 1e-12);
    cr_assert_float_eq(summary.low, 5.0, 1e-12);
    cr_assert_float_eq(summary.high, 95.0, 1e-12);
    cr_assert_float_eq(summary.deviation, sqrt(100.0 * 102.0 / 12.0 * 101.0 / 100.0), 1e-12);
}

Test(summary, without_numbers_says_so)
{
    struct summary summary;
    struct failure failure = {0};
    const double values[] = {(double)NAN};
    cr_assert(summary_make(1, values, &summary, &failure));
    cr_assert(summary.count == 0 && isnan(summary.mean));
}
