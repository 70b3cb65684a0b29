/* What is kept of variants, and which of them no other beats. */
#include "solver/study/rows.h"

#include <criterion/criterion.h>
#include <math.h>

/* Two measures of which more flow and less slam are better. */
static struct study two_measures(struct measure measures[2])
{
    const char *rest = NULL;
    measures[0] = (struct measure){.kind = measure_kind_find("flow of a", &rest), .name = "flow"};
    measures[1] =
        (struct measure){.kind = measure_kind_find("slam head of a", &rest), .name = "slam"};
    return (struct study){
        .measure_count = 2, .measures = measures, .compare_count = 2, .compare = {0, 1}};
}

static void put(struct rows *rows, int index, enum row_status status, double flow, double slam,
                struct arena *arena)
{
    struct row row;
    struct failure failure = {0};
    row_init(&row);
    if (status != ROW_DONE) {
        row_end(&row, status, "because");
    }
    row.value[0] = flow;
    row.value[1] = slam;
    cr_assert(rows_put(rows, index, &row, arena, &failure));
}

/* Pareto's front by hand: (3, 9) and (2, 4) and (1, 1) stand; (1.5, 5) is beaten by (2, 4); the
 * failed, the unknown and the one outside the limit do not count. */
Test(rows, front_is_who_is_beaten_by_none)
{
    static const double flow[] = {1.0, 1.5, 2.0, 3.0, 9.0, 9.0, 8.0, 2.0};
    static const double slam[] = {1.0, 5.0, 4.0, 9.0, 0.0, NAN, 20.0, 4.0};
    static const bool expected[] = {true, false, true, true, false, false, false, true};
    struct arena *arena = arena_new();
    struct failure failure = {0};
    struct measure measures[2];
    struct study study = two_measures(measures);
    const struct study_limit limit = {.name = "slam", .measure = 1, .is_upper = true, .value = 10};
    struct rows rows;
    bool front[8];
    study.limit_count = 1;
    study.limits = &limit;
    cr_assert(rows_init(&rows, 8, 2, arena, &failure));
    for (int i = 0; i < 8; i++) {
        put(&rows, i, i == 4 ? ROW_NO_SURGE : ROW_DONE, flow[i], slam[i], arena);
    }
    cr_assert(rows_find_front(&rows, &study, front, &failure));
    for (int i = 0; i < 8; i++) {
        cr_assert_eq(front[i], expected[i], "row %d", i);
    }
    arena_free(arena);
}

Test(rows, a_row_is_kept_once)
{
    struct arena *arena = arena_new();
    struct failure failure = {0};
    struct rows rows;
    cr_assert(rows_init(&rows, 2, 2, arena, &failure));
    put(&rows, 1, ROW_REFUSED, 1.0, 2.0, arena);
    put(&rows, 1, ROW_DONE, 5.0, 6.0, arena);
    cr_assert_eq(rows.done_count, 1);
    cr_assert_eq(rows.status[1], ROW_REFUSED);
    cr_assert_str_eq(rows.reason[1], "because");
    cr_assert_float_eq(rows.value[2], 1.0, 0.0);
    cr_assert(isnan(rows.value[0]) && !rows.is_done[0]);
    arena_free(arena);
}
