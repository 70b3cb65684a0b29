/* Courses against values read off by hand. */
#include "solver/filling/course.h"

#include <criterion/criterion.h>
#include <math.h>

static const double hours[] = {0, 6, 18};
static const double values[] = {1, 4, 2};

static double value_at(const struct filling_course *course, double time)
{
    const struct course_line line = course_line_at(course, time);
    return course_line_value(&line, time);
}

Test(filling_course, each_value_holds_until_the_next)
{
    const struct filling_course course = {.count = 3, .time = hours, .value = values, .period = 24};
    cr_expect_float_eq(value_at(&course, 5.9), 1, 1e-12);
    cr_expect_float_eq(value_at(&course, 6), 4, 1e-12);
    cr_expect_float_eq(value_at(&course, 23), 2, 1e-12);
    cr_expect_float_eq(value_at(&course, 48 + 7), 4, 1e-12);
}

Test(filling_course, straight_lines_run_from_point_to_point_and_round_the_period)
{
    const struct filling_course course = {
        .count = 3, .time = hours, .value = values, .period = 24, .is_straight = true};
    cr_expect_float_eq(value_at(&course, 3), 2.5, 1e-12);
    cr_expect_float_eq(value_at(&course, 12), 3, 1e-12);
    cr_expect_float_eq(value_at(&course, 21), 1.5, 1e-12);
    cr_expect_float_eq(value_at(&course, 24 + 21), 1.5, 1e-12);
    const struct course_line line = course_line_at(&course, 6);
    cr_expect_float_eq(line.slope, -2.0 / 12, 1e-12);
}

Test(filling_course, next_corner_lies_ahead)
{
    struct filling_course course = {.count = 3, .time = hours, .value = values, .period = 24};
    cr_expect_float_eq(course_next(&course, 0), 6, 1e-12);
    cr_expect_float_eq(course_next(&course, 18), 24, 1e-12);
    cr_expect_float_eq(course_next(&course, 42 - 1e-7), 48, 1e-12);
    course.period = 0;
    cr_expect(isinf(course_next(&course, 18)));
}

Test(filling_course, times_out_of_order_are_refused)
{
    static const double wrong[] = {0, 6, 5};
    const struct filling_course course = {.count = 3, .time = wrong, .value = values};
    struct failure failure = {0};
    cr_expect_not(course_check(&course, "draw", (struct place){0}, &failure));
    cr_expect_eq(failure.kind, FAILURE_INPUT);
}
