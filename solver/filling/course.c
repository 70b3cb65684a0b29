#include "solver/filling/course.h"

#include <math.h>

const double course_blur = 1e-6;

/* Last point reached at `time` of the course's own clock; -1: before the first. */
static int last_reached(const struct filling_course *course, double time)
{
    int lower = -1;
    int upper = course->count;
    while (upper - lower > 1) {
        const int middle = lower + (upper - lower) / 2;
        if (course->time[middle] <= time + course_blur) {
            lower = middle;
        } else {
            upper = middle;
        }
    }
    return lower;
}

/* Begin of the period that `time` lies in. */
static double period_start(const struct filling_course *course, double time)
{
    return course->period > 0.0 ? course->period * floor((time + course_blur) / course->period)
                                : 0.0;
}

struct course_line course_line_at(const struct filling_course *course, double time)
{
    struct course_line line = {.from = time};
    if (course->count == 0) {
        return line;
    }
    const double start = period_start(course, time);
    const int last = course->count - 1;
    const int at = last_reached(course, time - start);
    const bool repeats = course->period > 0.0;
    const int here = at < 0 ? (repeats ? last : 0) : at;
    const int next = at == last && repeats ? 0 : at + 1;
    line.value = course->value[here];
    if (course->is_straight && next <= last && (at >= 0 || repeats)) {
        const double begin = course->time[here] - (at < 0 ? course->period : 0.0);
        const double end = course->time[next] + (at == last ? course->period : 0.0);
        line.slope = (course->value[next] - line.value) / (end - begin);
        line.value += line.slope * (time - start - begin);
    }
    return line;
}

double course_next(const struct filling_course *course, double time)
{
    if (course->count == 0 || (course->count == 1 && course->period > 0.0)) {
        return INFINITY;
    }
    const double start = period_start(course, time);
    const int next = last_reached(course, time - start) + 1;
    if (next < course->count) {
        return start + course->time[next];
    }
    return course->period > 0.0 ? start + course->period + course->time[0] : (double)INFINITY;
}

bool course_check(const struct filling_course *course, const char *what, struct place place,
                  struct failure *failure)
{
    for (int i = 0; i < course->count; i++) {
        const double before = i > 0 ? course->time[i - 1] : -1.0;
        if (!isfinite(course->time[i]) || !isfinite(course->value[i]) ||
            course->time[i] < before + 2.0 * course_blur || course->time[i] < 0.0) {
            return fail(failure, FAILURE_INPUT, place,
                        "%s: time %.6g s stands in place %d; times must be at least 0 and rise",
                        what, course->time[i], i + 1);
        }
    }
    if (course->count > 0 && course->period > 0.0 &&
        course->time[course->count - 1] > course->period - 2.0 * course_blur) {
        return fail(failure, FAILURE_INPUT, place,
                    "%s: time %.6g s is not within the period of %.6g s", what,
                    course->time[course->count - 1], course->period);
    }
    return true;
}
