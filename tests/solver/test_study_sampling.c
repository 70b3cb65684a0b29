/* How variants are drawn: the same for the same seed, and as evenly as each way promises. */
#include "solver/study/design.h"
#include "solver/study/sobol.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

#define EVEN                                                                                       \
    {                                                                                              \
        .kind = SPREAD_EVEN, .low = 0.0, .high = 1.0                                               \
    }
#define FIVE EVEN, EVEN, EVEN, EVEN, EVEN
static const struct spread unit_spreads[DESIGN_INPUT_MAX] = {FIVE, FIVE, FIVE, FIVE};

/* Vigna's reference program gives this as the first output of splitmix64 for seed 1234567, widely
 * quoted (from memory); it is the first word of our state. */
Test(random, state_is_filled_by_splitmix)
{
    struct random random;
    random_init(&random, 1234567);
    cr_assert_eq(random.state[0], 6457827717110365317U);
    cr_assert_eq(random.state[1], 3203168211198807973U);
}

Test(random, shares_lie_evenly_inside_zero_and_one)
{
    struct random random;
    int parts[10] = {0};
    random_init(&random, 7);
    for (int i = 0; i < 100000; i++) {
        const double share = random_share(&random);
        cr_assert(share > 0.0 && share < 1.0);
        parts[(int)(10.0 * share)]++;
    }
    for (int i = 0; i < 10; i++) {
        /* Binomial, n 1e5, p 0.1: deviation 95; five deviations. */
        cr_assert_float_eq(parts[i], 10000.0, 475.0);
    }
}

/* A polynomial over GF(2) of degree s is primitive when x has order 2^s - 1 modulo it (Lidl &
 * Niederreiter, Finite Fields). Joe & Kuo 2008 use each primitive polynomial once. */
Test(sobol, polynomials_are_primitive_and_different)
{
    for (int i = 1; i < SOBOL_DIMENSION_MAX; i++) {
        const uint32_t polynomial = sobol_polynomial(i);
        int degree = 0;
        while (polynomial >> (degree + 1)) {
            degree++;
        }
        uint32_t power = 1;
        int order = 0;
        do {
            power <<= 1;
            power ^= power >> degree ? polynomial : 0;
            order++;
        } while (power != 1 && order < 1 << degree);
        cr_assert_eq(order, (1 << degree) - 1, "dimension %d", i);
        cr_assert(polynomial > sobol_polynomial(i - 1));
    }
}

/* Sobol 1967: each dimension by itself is a (0,1)-sequence: of 2^m points from a multiple of 2^m
 * on, one lies in each of 2^m equal parts; also after a digital shift. */
Test(sobol, every_dimension_hits_each_part_once)
{
    enum { PARTS = 256 };
    struct sobol sobol;
    struct random random;
    random_init(&random, 3);
    sobol_init(&sobol, SOBOL_DIMENSION_MAX, &random);
    for (int d = 0; d < SOBOL_DIMENSION_MAX; d++) {
        for (uint32_t first = 0; first < 4 * PARTS; first += PARTS) {
            bool is_hit[PARTS] = {false};
            for (uint32_t i = first; i < first + PARTS; i++) {
                const int part = (int)(PARTS * sobol_share(&sobol, i, d));
                cr_assert_not(is_hit[part]);
                is_hit[part] = true;
            }
        }
    }
}

/* The first two dimensions are a (0,2)-sequence (Sobol 1967; Niederreiter 1987): each rectangle
 * 2^-p by 2^-(m-p) holds one of the first 2^m points. */
Test(sobol, first_two_dimensions_hit_each_rectangle_once)
{
    struct sobol sobol;
    struct random random;
    random_init(&random, 11);
    sobol_init(&sobol, 2, &random);
    for (int m = 1; m <= 10; m++) {
        for (int p = 0; p <= m; p++) {
            bool is_hit[1 << 10] = {false};
            for (uint32_t i = 0; i < 1U << m; i++) {
                const int x = (int)(sobol_share(&sobol, i, 0) * (1 << p));
                const int y = (int)(sobol_share(&sobol, i, 1) * (1 << (m - p)));
                const int cell = (x << (m - p)) + y;
                cr_assert_not(is_hit[cell], "m %d p %d", m, p);
                is_hit[cell] = true;
            }
        }
    }
}

/* Joe & Kuo 2008 (table new-joe-kuo-6.21201): coordinates of point 5 (binary 101) follow by hand
 * from m = 1, 3 .. of rows 2 and 3: v1 ^ v3. Row 2: m1 1, m2 3, m3 = 2*3 ^ 3 = 5; row 3: m 1, 3,
 * m3 = 2*3 ^ 4*1 ^ 1 = 3 (polynomial x^2 + x + 1). (computed) */
Test(sobol, point_five_is_that_of_the_recurrence)
{
    struct sobol sobol;
    sobol_init(&sobol, 3, NULL);
    cr_assert_float_eq(sobol_share(&sobol, 5, 0), 0.5 + 0.125, 1e-9);
    cr_assert_float_eq(sobol_share(&sobol, 5, 1), 0.125, 1e-9);           /* 1/2 ^ 5/8 */
    cr_assert_float_eq(sobol_share(&sobol, 5, 2), 0.5 + 3.0 / 8.0, 1e-9); /* 1/2 ^ 3/8 */
}

Test(design, grid_has_every_pair_once_the_last_input_fastest)
{
    struct failure failure = {0};
    struct arena *arena = arena_new();
    const struct spread spreads[] = {{.kind = SPREAD_LISTED, .count = 3},
                                     {.kind = SPREAD_EVEN, .low = 4.0, .high = 24.0}};
    const struct design design = {
        .kind = DESIGN_GRID, .input_count = 2, .spreads = spreads, .levels = 5};
    cr_assert_eq(design_count(&design), 15);
    const double *row = design_make(&design, arena, &failure);
    for (int i = 0; i < 15; i++) {
        cr_assert_float_eq(row[2 * i], i / 5, 0.0);
        cr_assert_float_eq(row[2 * i + 1], 4.0 + 5.0 * (i % 5), 1e-12);
    }
    arena_free(arena);
}

Test(design, one_at_a_time_begins_with_the_case_and_changes_one_input_a_row)
{
    struct failure failure = {0};
    struct arena *arena = arena_new();
    const struct design design = {
        .kind = DESIGN_ONE_AT_A_TIME, .input_count = 4, .spreads = unit_spreads, .levels = 3};
    cr_assert_eq(design_count(&design), 13);
    const double *row = design_make(&design, arena, &failure);
    for (int i = 0; i < 13; i++) {
        int changed = 0;
        for (int k = 0; k < 4; k++) {
            changed += isfinite(row[4 * i + k]);
        }
        cr_assert_eq(changed, i > 0);
    }
    arena_free(arena);
}

/* McKay, Beckman & Conover 1979: each of n parts of every input is sampled once. */
Test(design, latin_hypercube_hits_each_part_of_every_input_once)
{
    enum { SAMPLES = 500, INPUTS = 5 };
    struct failure failure = {0};
    struct arena *arena = arena_new();
    const struct design design = {.kind = DESIGN_LATIN_HYPERCUBE,
                                  .input_count = INPUTS,
                                  .spreads = unit_spreads,
                                  .samples = SAMPLES,
                                  .seed = 42};
    const double *row = design_make(&design, arena, &failure);
    for (int k = 0; k < INPUTS; k++) {
        bool is_hit[SAMPLES] = {false};
        for (int i = 0; i < SAMPLES; i++) {
            const int part = (int)(row[INPUTS * i + k] * SAMPLES);
            cr_assert_not(is_hit[part]);
            is_hit[part] = true;
        }
    }
    arena_free(arena);
}

Test(design, same_seed_same_variants_another_seed_others)
{
    struct failure failure = {0};
    struct arena *arena = arena_new();
    for (int kind = DESIGN_LATIN_HYPERCUBE; kind <= DESIGN_IMPORTANCE; kind++) {
        struct design design = {.kind = (enum design_kind)kind,
                                .input_count = 3,
                                .spreads = unit_spreads,
                                .samples = 20,
                                .seed = 5};
        const size_t size = (size_t)design_count(&design) * 3 * sizeof(double);
        const double *first = design_make(&design, arena, &failure);
        const double *again = design_make(&design, arena, &failure);
        design.seed = 6;
        const double *other = design_make(&design, arena, &failure);
        cr_assert_eq(memcmp(first, again, size), 0);
        cr_assert_neq(memcmp(first, other, size), 0);
    }
    arena_free(arena);
}

Test(design, too_many_variants_are_refused_by_count)
{
    const struct design design = {
        .kind = DESIGN_GRID, .input_count = 20, .spreads = unit_spreads, .levels = 10};
    cr_assert_eq(design_count(&design), -1);
}

/* Table of the standard normal distribution (any handbook; Abramowitz & Stegun 1964, table 26.5).
 */
Test(spread, normal_quantiles_are_those_of_the_tables)
{
    cr_assert_float_eq(spread_normal_quantile(0.975), 1.959963984540054, 1e-13);
    cr_assert_float_eq(spread_normal_quantile(0.5), 0.0, 1e-13);
    cr_assert_float_eq(spread_normal_quantile(0.001), -3.090232306167813, 1e-12);
    cr_assert_float_eq(spread_normal_quantile(0.9), 1.281551565544600, 1e-13);
}

/* Mean of a normal cut off at -1 and 2 deviations: (phi(-1) - phi(2))/(Phi(2) - Phi(-1)), Johnson,
 * Kotz & Balakrishnan, Continuous Univariate Distributions 1, 1994, ch. 13. */
Test(spread, normal_with_limits_keeps_to_them_and_has_the_published_mean)
{
    const struct spread spread = {
        .kind = SPREAD_NORMAL, .low = 9.0, .high = 12.0, .mean = 10.0, .deviation = 1.0};
    double sum = 0.0;
    for (int i = 0; i < 20000; i++) {
        const double value = spread_value(&spread, (i + 0.5) / 20000.0);
        cr_assert(value >= 9.0 && value <= 12.0);
        sum += value;
    }
    const double pi = acos(-1.0);
    const double least = exp(-0.5) / sqrt(2.0 * pi);
    const double most = exp(-2.0) / sqrt(2.0 * pi);
    const double inside = 0.5 * (erf(2.0 / sqrt(2.0)) + erf(1.0 / sqrt(2.0)));
    cr_assert_float_eq(sum / 20000.0, 10.0 + (least - most) / inside, 1e-6);
}

Test(spread, listed_values_are_equally_likely)
{
    const struct spread spread = {.kind = SPREAD_LISTED, .count = 4};
    int found[4] = {0};
    for (int i = 0; i < 400; i++) {
        found[(int)spread_value(&spread, (i + 0.5) / 400.0)]++;
    }
    for (int i = 0; i < 4; i++) {
        cr_assert_eq(found[i], 100);
    }
}
