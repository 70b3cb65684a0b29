/* One variant solved: the same whatever the bench did before, the measures those of the solvers. */
#include "solver/study/sweep.h"
#include "tests/solver/small_site.h"

#include <criterion/criterion.h>

static struct measure named(const char *name)
{
    const char *rest = NULL;
    struct measure measure = {.kind = measure_kind_find(name, &rest), .name = name};
    cr_assert_not_null(measure.kind, "%s", name);
    measure.subject = strlen(rest) > 4 ? rest + 4 : NULL; /* " of " */
    return measure;
}

static struct row solve(struct variant_bench *bench, const char *type, double header)
{
    struct small_site small;
    struct arena *arena = arena_new();
    struct failure failure = {0};
    struct row row;
    const struct measure measures[] = {
        named("flow of delivery"), named("flow of lift"),  named("head taken of delivery"),
        named("energy"),           named("power of lift"), named("suction margin of lift"),
        named("head of header")};
    small_site_init(&small, type, header);
    cr_assert(variant_solve(bench, &small.site, STUDY_STEADY, 7, measures, arena, &row, &failure));
    arena_free(arena);
    return row;
}

Test(variant, does_not_depend_on_what_the_bench_did_before)
{
    struct failure failure = {0};
    struct variant_bench *fresh = variant_bench_new(&failure);
    struct variant_bench *used = variant_bench_new(&failure);
    (void)solve(used, "ball", 5.0);
    (void)solve(used, "spring cone", 20.9);
    const struct row first = solve(fresh, "swing flap", 12.0);
    const struct row second = solve(used, "swing flap", 12.0);
    cr_assert_eq(memcmp(&first, &second, sizeof first), 0);
    variant_bench_free(fresh);
    variant_bench_free(used);
}

/* Energy of a cubic metre is power over flow; what flows through one run flows through all of it.
 */
Test(variant, measures_agree_with_one_another)
{
    struct failure failure = {0};
    struct variant_bench *bench = variant_bench_new(&failure);
    const struct row row = solve(bench, "swing flap", 12.0);
    cr_assert_eq(row.status, ROW_DONE);
    cr_assert_float_eq(row.value[0], row.value[1], 1e-12);
    cr_assert_float_eq(row.value[3], row.value[4] / row.value[1], 1e-6 * row.value[3]);
    cr_assert_gt(row.value[2], 0.0);
    cr_assert_gt(row.value[5], 0.0);
    cr_assert_float_eq(row.value[6], 12.0, 0.0);
    variant_bench_free(bench);
}

Test(variant, measure_of_something_else_is_not_known)
{
    struct small_site small;
    small_site_init(&small, "ball", 12.0);
    const struct measure of_pipe = named("slam head of rise");
    const struct measure of_none = named("flow of nobody");
    cr_assert_eq(measure_find_subject(&of_pipe, &small.site), NETWORK_NONE);
    cr_assert_eq(measure_find_subject(&of_none, &small.site), NETWORK_NONE);
}

Test(variant, longest_words_name_the_measure)
{
    const char *rest = NULL;
    cr_assert_str_eq(measure_kind_find("head taken by delivery", &rest)->words, "head taken");
    cr_assert_str_eq(rest, " by delivery");
    cr_assert_str_eq(measure_kind_find("power of all", &rest)->words, "power of all");
    cr_assert_str_eq(measure_kind_find("power of alliance", &rest)->words, "power");
    cr_assert_null(measure_kind_find("heading of x", &rest));
    cr_assert_null(measure_kind_find("energy of x", &rest));
}
