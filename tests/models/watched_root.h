/* Watched root: a program that includes this has every call of root_find (models/root.h) looked at.
 * The slope that the function tells must be its own: a wrong one still leads to the zero, by
 * halving, so that no answer would show it. tests/tests.cmake has the linker put the watch in its
 * place. How often a search asks its function is counted, too: a bad place to begin with leads to
 * the same zero. */
#ifndef TESTS_MODELS_WATCHED_ROOT_H
#define TESTS_MODELS_WATCHED_ROOT_H

#include "models/root.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdbool.h>

double __real_root_find(root_function function, const void *user, double guess, double lower,
                        double upper);
double __wrap_root_find(root_function function, const void *user, double guess, double lower,
                        double upper);

struct root_sides {
    double left;
    double right;
};

static inline struct root_sides root_quotients(root_function function, const void *user, double x,
                                               double step)
{
    const double here = function(user, x).value;
    return (struct root_sides){(here - function(user, x - step).value) / step,
                               (function(user, x + step).value - here) / step};
}

static inline bool root_settles(double far, double near)
{
    return fabs(far - near) <= 0.01 * fabs(near);
}

/* The slope lies between the difference quotients to the left and to the right, to a thousandth;
 * where they are none yet (a root's upright start) nothing is asked. */
static inline void root_slope_fits(root_function function, const void *user, double x)
{
    const double step = 1e-5 * fabs(x) + 1e-12;
    const struct root_sides far = root_quotients(function, user, x, step);
    const struct root_sides near = root_quotients(function, user, x, 0.25 * step);
    const double slope = function(user, x).slope;
    const double slack = 1e-3 * fmax(fabs(far.left), fabs(far.right));
    const bool fits =
        slope >= fmin(far.left, far.right) - slack && slope <= fmax(far.left, far.right) + slack;
    if (!fits && root_settles(far.left, near.left) && root_settles(far.right, near.right)) {
        cr_assert_fail("at %g: slope %g, quotients %g and %g", x, slope, far.left, far.right);
    }
}

/* How often the searches of this test have asked their functions: the worst of them, and all. */
static struct {
    int searches;
    int most;
    int all;
} root_watch;

struct root_counted {
    root_function function;
    const void *user;
};

static int root_asked; /* in the search under way */

static inline struct root_value root_count(const void *user, double x)
{
    const struct root_counted *counted = user;
    root_asked++;
    return counted->function(counted->user, x);
}

double __wrap_root_find(root_function function, const void *user, double guess, double lower,
                        double upper)
{
    static int calls = 0; /* every fifth: the watch costs more than the search */
    const struct root_counted counted = {function, user};
    root_asked = 0;
    const double root = __real_root_find(root_count, &counted, guess, lower, upper);
    root_watch.searches++;
    root_watch.most = root_asked > root_watch.most ? root_asked : root_watch.most;
    root_watch.all += root_asked;
    if (calls++ % 5 == 0 && root > lower && root < upper && function(user, root).slope > 0.0) {
        root_slope_fits(function, user, root);
    }
    return root;
}

#endif
