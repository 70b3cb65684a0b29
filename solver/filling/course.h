/* Course: reading a value that changes with the clock, piece by piece.
 * A run is cut at every corner, so within a stretch each course is one straight line. */
#ifndef SOLVER_FILLING_COURSE_H
#define SOLVER_FILLING_COURSE_H

#include "models/filling_plan.h"

/* s; corners nearer than this count as reached: no stretch is shorter. */
extern const double course_blur;

/* A straight line over the stretch that begins at `from`. */
struct course_line {
    double from;  /* s of the clock */
    double value; /* at `from` */
    double slope; /* per s */
};

/* The line that holds just after clock time `time` (>= 0). An empty course gives 0. */
struct course_line course_line_at(const struct filling_course *course, double time);

static inline double course_line_value(const struct course_line *line, double time)
{
    return line->value + line->slope * (time - line->from);
}

/* The next corner after `time`, s of the clock; infinite: none. */
double course_next(const struct filling_course *course, double time);

/* Order of times, finite numbers, times within the period; the first fault is told. */
MUST_CHECK bool course_check(const struct filling_course *course, const char *what,
                             struct place place, struct failure *failure);

#endif
